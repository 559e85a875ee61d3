"""The first screens of the machines that come along: one screen each, every row and sentence from the run it names."""

from __future__ import annotations

import pytest
from test_machines import FOLDER, NAMES, result

from simcore import api
from simcore.results.model import BARE, ResultSet
from simcore.screen import crashes, trust, verdicts
from simcore.screen.first import LINES, screen
from simcore.screen.numbers import effort, effort_unit, milliseconds, share
from simcore.screen.reading import caption
from simcore.screen.words import Line, plain


def table(r: ResultSet) -> dict[str, dict[str, str]]:
    """Cells by candidate and heading."""
    columns = {" ".join(c.head).strip(): [w.text for w in c.cells] for c in verdicts._columns(r)}
    names = [*(a.name for a in crashes.best_first(r)), BARE]
    assert columns["protection"] == [*names[:-1], verdicts.BARE_LINE]
    return {n: {head: cells[i] for head, cells in columns.items()} for i, n in enumerate(names)}


@pytest.mark.parametrize("name", NAMES)
def test_the_first_screen_is_one_screen(name: str) -> None:
    """With all evidence, as `simcore run` prints it."""
    r = api.run(FOLDER / f"{name}.toml")
    lines = plain(screen(r, 100, ["runs/it-001: result.h5, table.csv"], "runs/it-001")).splitlines()
    assert len(lines) <= LINES
    assert max(map(len, lines)) <= 100
    hidden = len(r.warnings) + len(r.remarks) - _told(lines) + trust.hand_bounds_left(r)
    assert ("simcore show runs/it-001 --all" in "\n".join(lines)) == (hidden > 0)


def _told(lines: list[str]) -> int:
    """Warnings and remarks on a screen: paragraphs between the blank line under the table's words and the evidence."""
    last = max(n for n, line in enumerate(lines) if not line)
    first = next(n for n, line in enumerate(lines) if line.startswith("More"))
    return sum(not line.startswith(" ") for line in lines[last + 1 : first])


@pytest.mark.parametrize("name", [*NAMES, "potato_grader_comparison"])
def test_every_number_of_a_row_is_from_the_crash_that_the_row_names(name: str) -> None:
    r = result(name)
    letter, told, unit = crashes.letters(r), crashes.told_of(r), effort_unit(r)
    assert set(told) == {*(a.name for a in r.answers), BARE}
    assert all(f"'{s}'" in caption(r) for s in told.values())
    for who, cells in table(r).items():
        m = r.runs[who, told[who]].measures
        assert cells.get("in", "") == letter.get(told[who], "")
        assert cells[f"peak {unit}"] == effort(m["peak"], unit)
        assert cells["of what it bears"] == share(m["peak"] / r.allowable)
        if who != BARE and m["trigger"] > 0.0:
            assert cells["triggers at ms"] == milliseconds(m["trigger"])
            assert cells["lets go at ms"] == milliseconds(m["lets_go"])
        crash = [x.measures["peak"] for (c, _), x in r.runs.items() if c == who and x.expect == "let go"]
        assert effort(max(crash), unit) == effort(m["peak"], unit)


def test_the_bare_indexer_sees_more_in_another_crash_and_says_so() -> None:
    r = result("seed_tray_indexer")
    assert crashes.told_of(r)[BARE] == "tray caught on the way"
    assert "A 'tray stands proud', B 'tray caught on the way'" in caption(r)
    assert [cells["in"] for cells in table(r).values()] == ["A", "A", "A", "B"]


@pytest.mark.parametrize("name", [*NAMES, "potato_grader_comparison"])
def test_the_whole_screen_tells_everything(name: str) -> None:
    r = result(name)
    text = flat(screen(r, 100, whole=True))
    for part in (*r.warnings, *(x.text for x in r.remarks)):
        assert " ".join(part.split()) in text
    for a in r.answers:
        assert all(f"'{m.situation}'" in text or m.met for m in a.margins)
    assert all(f"'{b.situation}'" in trust.hand_check(r, whole=True) for b in r.bounds)


def flat(lines: list[Line]) -> str:
    return " ".join(plain(lines).split())


@pytest.mark.parametrize(("name", "said"), [
    ("tank_agitator", "'agitator shaft' sees 127 % of its allowable in 'lump', likewise in 'lump breaks up', "),
    ("straw_shredder", "tipping sprag: trips in 'wet bale', 'bale after bale', "),
    ("parcel_carousel", "motor-side eddy coupling: 'ring chain' sees 156 % of its allowable in A, 154 % in B; "),
    ("laundry_bag_lift", "with the bare line, likewise with all candidates: slipping, winding up."),
    ("film_rewinder", "until someone switches the drive off (likewise all others)."),
    ("film_rewinder", "finned particle clutch and magnetic particle clutch alike 21.5 %, "),
    ("bakery_tray_conveyor", "a soft jam stalls the motor and nothing lets go (likewise friction disc, ball detent)."),
    ("seed_tray_indexer", "No all 3: trips in 'stop at full torque'; 'tray stands proud' sees 306 % "),
    ("potato_grader_comparison", "the balls on disc springs alike, but slower to run again; 11 others pass too."),
])  # fmt: skip
def test_what_is_alike_is_said_once(name: str, said: str) -> None:
    text = flat(screen(result(name), 100))
    assert said in text
    assert text.count(" of its allowable in ") <= len(result(name).answers)
