"""The first screen as text."""

from __future__ import annotations

from dataclasses import replace
from math import nan

import pytest
from small import answer, result

from simcore.results.model import HandBound, ResultSet
from simcore.screen import many, trust
from simcore.screen.first import CAUTION, screen
from simcore.screen.html import brief, notebook
from simcore.screen.inside import defaults, solver
from simcore.screen.reading import tightest
from simcore.screen.table import Column, table
from simcore.screen.verdicts import disconnect
from simcore.screen.words import Word, plain, width, wrap

EXACT = """\
Saw saddle
Fit the disc: it lets go in the crash.

                    triggers  lets go  disconnects  peak   of what  service
protection  passes     at ms    at ms        at ms   N*m  it bears   margin  to run again
disc        yes         10.1     12.3    no, slips   346    69.1 %    +35 %  clear the jam
pins        no          10.1     12.3           13   346    69.1 %  -12.5 %  new pins, 900 s
bare line   -              -        -            -   812     162 %        -  -

Reading      Times after and peaks in 'jam' at 'shaft', which bears 500 N*m. Tightest in service:
             'start' for all. Over the band of the setting, of all limits up to: 75 % for all.
No           pins: trips in 'start'.

Warning 1    One.
Warning 2    Two.
Warning 3    Three.
More         1 warning more: simcore show RESULT --all
By hand      'jam' (crash, bare line): run 812, by hand 850, at most 990 N*m.
Not given    1 of 2 values took their default. Over its usual range the peak moves most, in % of
             what it bears, by line.saddle.mass = 3 kg (2.14 %).
Numerics     Energy ledger open by 2.0e-09 at most; a run ten times tighter moves the peak by
             3.0e-07; damping halved moves it by +1.23 %, doubled by -2 %.
Inertias     Seen at 'shaft': saddle 2.5, motor 0.123; 2.62 kg*m^2 in all.
Files        here
Caution      A torque-limiting part is no safeguard for people. ISO 12100, ISO 13849-1, IEC 60204-1
             and ISO 14118 (named from memory) are the standards to consult; local codes and
             licensed practice have the last word."""


def test_an_inertia_that_varies_is_told_with_its_range() -> None:
    """A crank behind the disc adds 0.2 at most; the largest at its most comes first."""
    base = result()
    varies = {"inertia varies by 'crank'": 0.2, "inertia before 'disc'": 2.5, "inertia behind 'disc'": 0.15,
              "inertia varies by, inertia behind 'disc'": 0.2}  # fmt: skip
    told = trust.inertias(result(inertias={"motor": 2.5, "hub": 0.1, "crank": 0.05},
                                 findings={**base.findings, **varies}))  # fmt: skip
    assert told == (
        "Seen at 'shaft': motor 2.5, crank 0.05 to 0.25 over a turn, hub 0.1; 2.65 to 2.85 kg*m^2 in all over a turn. "
        "Seen at 'slot': 2.5 kg*m^2 before the disc, 0.15 to 0.35 over a turn behind it."
    )


def test_a_range_of_one_number_is_one_number() -> None:
    """Overshoots of several candidates that differ past the third digit only."""
    bounds = tuple(HandBound("jam", f"overshoot over breakaway, {n}", nan, 472.0, v) for n, v in
                   (("disc", 11.22), ("pins", 11.24)))  # fmt: skip
    assert trust.hand_check(result(bounds=bounds)) == (
        "'jam' (overshoot over breakaway): run 11.2, by hand at most 472 N*m.")  # fmt: skip


@pytest.mark.parametrize(("halved", "doubled", "word"), [(0.01, 0.02, "up"), (-0.01, -0.02, "down"), (0.01, -0.02, ""),
                                                         (2e-6, 0.02, "")])  # fmt: skip
def test_damping_that_moves_the_peak_the_same_way_is_explained(halved: float, doubled: float, word: str) -> None:
    found = {"damping halved moves the peak by": halved, "damping doubled moves the peak by": doubled}
    text = trust.numerics(result(findings=found))
    assert ("it eats swing, but also hands torque on" in text) == bool(word)
    assert f"(both {word}:" in text or not word


def test_exact_text() -> None:
    assert plain(screen(result(), 100, ["here"])) == EXACT


@pytest.mark.parametrize("columns", [40, 60, 80, 100, 250])
def test_fits_and_loses_nothing(columns: int) -> None:
    """Every word of the widest screen is there at any width."""
    text = plain(screen(result(), columns, ["here"]))
    assert max(map(width, text.splitlines())) <= min(columns, 100)
    wanted, told = ({w.strip(".;") for w in t.split()} for t in (EXACT, text))
    assert wanted <= told


def test_fits_with_long_names() -> None:
    long = replace(answer("a very long name of a protection " * 2, 1, False), reasons=("x" * 300,))
    text = plain(screen(result(answers=(long,)), 80))
    assert max(map(width, text.splitlines())) <= 80
    assert text.count("x") >= 300


def test_torques_in_the_unit_asked_for() -> None:
    """500 N*m = 4425 lbf*in (1 lbf*in = 0.112985 N*m, NIST SP 811)."""
    text = plain(screen(result(unit="lbf*in")))
    assert "bears 4430 lbf*in" in text
    assert "N*m" not in text.replace("kg*m^2", "")


def test_verdict_in_words_not_in_colour_alone() -> None:
    lines = screen(result())
    coloured = [w.text.strip() for line in lines for w in line if w.style in ("good", "bad")]
    assert {"yes", "no", "-12.5 %"} <= set(coloured)


def test_value_above_its_bound_is_said() -> None:
    bounds = tuple(b._replace(bound=800.0) for b in result().bounds)
    assert "ABOVE ITS BOUND" in plain(screen(result(bounds=bounds)))


def test_no_candidates_and_no_evidence() -> None:
    text = plain(screen(result(answers=(), findings={}, bounds=(), defaults=(), warnings=(), inertias={})))
    assert "bare line" in text
    assert "nan" not in text


def test_control_characters_do_not_reach_the_terminal() -> None:
    text = plain(screen(result(title="bad \x1b[31m title", sentence="a\x07b")))
    assert "\x1b" not in text
    assert "\x07" not in text


def test_how_it_disconnects_in_words() -> None:
    a = answer("x", 1, True)
    assert disconnect(a) == "no, slips"
    assert disconnect(replace(a, disconnects="does not let go")) == "never"
    assert disconnect(replace(a, disconnect=0.01, reengage=0.02)) == "10, back at 20"


def test_failing_service_situation_comes_first() -> None:
    a = answer("x", 1, True)
    fails = a.margins[1]._replace(situation="batch", met=False, percent=float("nan"))
    found = tightest(replace(a, margins=(*a.margins, fails)))
    assert found is not None
    assert found.situation == "batch"
    assert "fails" in plain(screen(result(answers=(replace(a, margins=(fails,)),))))


def test_wrap_keeps_numbers_with_their_units() -> None:
    assert wrap("moves by 14 % and 600 N*m here", 12) == ["moves by", "14 % and", "600 N*m here"]
    assert "".join(wrap("x" * 25, 10)) == "x" * 25


def test_wide_characters_count_twice() -> None:
    assert width("ab") == 2
    assert width("\u6f22") == 2
    assert width("u\u0308") == 1


def test_table_breaks_into_blocks() -> None:
    columns = [Column(("", h), [Word(h * 3), Word("1")]) for h in ("aaa", "bbb", "ccc")]
    text = plain(table(columns, 22))
    assert text.count("aaaaaaaaa") == 2
    assert max(map(len, text.splitlines())) <= 22


def test_one_line_and_notebook() -> None:
    assert brief(result()) == "<ResultSet 'Saw saddle': 1 of 2 candidates pass 2 situations; best: disc>"
    page = notebook(result(title="<b>"))
    assert "&lt;b&gt;" in page
    assert "no safeguard for people" in page


def test_solver_lines_only_when_asked() -> None:
    assert "steps" not in plain(screen(result()))
    text = plain(solver(result(), 100))
    assert "7.96 Hz" in text
    assert "clear -> touching" in text


def test_every_default_is_listed() -> None:
    text = plain(defaults(result(), 80))
    for word in ("line.saddle.mass = 3 kg", "memory", "1 kg to 9 kg", "2.14 %"):
        assert word in text


def test_caution_is_on_every_screen() -> None:
    text = " ".join(plain(screen(result(answers=()), 40)).split())
    assert CAUTION in text.replace("Caution ", "")


LIST = (
    "friction disc", "ball detent", "shear pins", "magnet disc", "pawl", "roller detent", "leaf spring catch",
    "oil-filled coupling", "slip clutch", "tooth clutch", "wedge catch", "belt that slips", "torque relay",
    "current watch", "brake and clutch", "notched pin", "tearing ring", "hysteresis disc",
)  # fmt: skip
AGAIN = (("clear the jam", 0.0), ("new pins", 900.0), ("reset by hand", 60.0), ("nothing, re-engaged", 0.0))


def crowd(names: tuple[str, ...] = LIST) -> ResultSet:
    """Every third passes; the others fail for four reasons, two of them with a number of their own."""
    out = []
    for i, name in enumerate(names):
        why = [(), ("trips in 'full start'",), ("does not let go in 'jam'", "trips in 'batch'")][i % 3]
        why += (f"'gearbox' sees {101 + i} % of its allowable in 'jam'",) if i % 6 == 1 else ()
        why += ("passes its heat limit in 'rub' after 2.3 s",) if i == 7 else ()
        again, seconds = AGAIN[i % 4]
        made = answer(name, 0, not why)
        back = 0.0205 if i in (1, 4) else made.reengage
        out.append(replace(made, reasons=why, again=again, again_seconds=seconds, use=0.5 + 0.04 * i, reengage=back))
    out.sort(key=lambda a: not a.passed)
    return result(answers=tuple(replace(a, rank=n + 1) for n, a in enumerate(out)))


def test_eighteen_candidates_on_one_screen() -> None:
    """A line each, 100 columns, about 60 lines in all."""
    lines = plain(screen(crowd(), 100, ["charts", "result"])).splitlines()
    assert max(map(width, lines)) <= 100
    assert len(lines) <= 60
    head = next(n for n, line in enumerate(lines) if line.startswith("protection"))
    rows = lines[head + 1 : head + 20]
    ranked = [a.name for a in sorted(crowd().answers, key=lambda a: a.rank)]
    for row, name in zip(rows, [*ranked, "bare line"], strict=True):
        assert row.startswith(name + "  ")
    assert lines[head + 20] == ""


def test_equal_reasons_are_said_once_with_their_names() -> None:
    text = " ".join(plain(screen(crowd())).split())
    assert text.count("trips in 'full start'") == 1
    trip = "ball detent, pawl, oil-filled coupling, wedge catch, current watch, tearing ring."
    assert f"trips in 'full start': {trip}" in text
    assert "does not let go in 'jam'; trips in 'batch': shear pins, roller detent, slip clutch," in text
    own = "current watch 114 %, oil-filled coupling 108 %, ball detent 102 %."
    assert f"'gearbox' sees more than its allowable in 'jam': {own}" in text
    assert "passes its heat limit in 'rub': oil-filled coupling after 2.3 s." in text
    assert "of all limits up to: 50 % (friction disc) to 118 % (hysteresis disc)." in text


def test_what_the_table_has_no_room_for_is_said_below_it() -> None:
    text = " ".join(plain(screen(crowd())).split())
    assert "new pins, 900 s (" in text
    assert "clear the jam for the other 5." in text
    narrow = " ".join(plain(screen(crowd(), 60)).split())
    assert "hysteresis disc" in narrow
    assert max(map(width, plain(screen(crowd(), 60)).splitlines())) <= 60


def test_long_names_of_many_stay_apart_and_in_one_line() -> None:
    names = tuple(f"Sicherheitskupplung Größe {i} mit außergewöhnlich langem Zusatz" for i in range(18))
    lines = plain(screen(crowd(names), 100)).splitlines()
    assert max(map(width, lines)) <= 100
    assert len(lines) <= 62
    rows = [line.split("  ")[0] for line in lines if line.startswith("Sicherhe")]
    assert len(rows) == len(set(rows)) == 18


def test_names_in_short() -> None:
    everyone = list("abcdefghij")
    assert many.some(everyone, everyone) == "all 10"
    assert many.some(everyone[2:], everyone) == "all but a, b"
    assert many.some(["a", "b"], everyone) == "a, b"
    assert many.grouped({"a": "x", "b": "y", "c": "y"}) == "x (a), y for the other 2"
    assert many.grouped({"a": "x", "b": "x"}) == "x for all 2"
    same = ["the very same beginning 1", "the very same beginning 2", "short"]
    assert len(set(many.short(same, 16))) == 3
    assert max(map(len, many.short(same, 16))) <= 16


def test_more_reasons_than_fit_are_counted() -> None:
    crowded = tuple(replace(answer(f"p{i}", i, False), reasons=(f"trips in '{i}'",)) for i in range(12))
    text = plain(screen(result(answers=crowded)))
    assert "3 further reasons stand in the result set." in text


def test_eight_candidates_keep_a_line_of_reasons_each_where_they_differ() -> None:
    eight = [replace(a, rank=n + 1) for n, a in enumerate(answer(f"p{i}", 1, False) for i in range(8))]
    own = tuple(replace(a, reasons=(f"trips in 'start' number {n}",)) for n, a in enumerate(eight))
    assert plain(screen(result(answers=own))).count("trips in 'start' number") == 8
    assert plain(screen(result(answers=tuple(eight)))).count("all 8: trips in 'start'.") == 1
