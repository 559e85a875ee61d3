"""The first screen stays one screen: what it leaves out, what it says once, and which crash each row tells of."""

from __future__ import annotations

from dataclasses import replace
from math import nan
from pathlib import Path

import pytest
from shell import inside
from small import answer, result, run

from simcore import write
from simcore.cli.jsonout import document
from simcore.results.model import BARE, HandBound, Remark, ResultSet
from simcore.screen import crashes, trust
from simcore.screen.alike import grouped, listed, merged, numbered, spoken
from simcore.screen.first import LINES, screen
from simcore.screen.reading import caption
from simcore.screen.words import plain


def told(r: ResultSet, **how: object) -> str:
    return " ".join(plain(screen(r, 100, **how)).split())  # type: ignore[arg-type]


def two_crashes(pins: float = 400.0, bare: float = 900.0) -> ResultSet:
    """The disc peaks most in 'jam', the pins in 'wedge'; the bare line sees ``bare`` in 'wedge', 812.3 in 'jam'."""
    runs = {**result().runs}
    for name, peak in (("disc", 300.0), ("pins", pins), (BARE, bare)):
        runs[name, "wedge"] = replace(run(name, "wedge", peak), expect="let go")
    answers = (answer("disc", 1, True), replace(answer("pins", 2, False), crash="wedge", peak=pins))
    return result(runs=runs, answers=answers)


def row(r: ResultSet, name: str) -> list[str]:
    line = next(x for x in plain(screen(r, 100)).splitlines() if x.startswith(f"{name}  "))
    return line.removeprefix(name).split()


def test_every_row_says_which_crash_it_tells_of() -> None:
    r = two_crashes()
    assert crashes.told_of(r) == {"disc": "jam", "pins": "wedge", BARE: "wedge"}
    assert [row(r, n)[1] for n in ("disc", "pins", "bare line")] == ["A", "B", "B"]
    assert ["900" in row(r, "bare line"), "400" in row(r, "pins"), "346" in row(r, "disc")] == [True] * 3
    assert "Times after and peaks in A 'jam', B 'wedge' (the worst of each row) at 'shaft'" in told(r)


def test_only_the_bare_line_has_its_worst_crash_elsewhere() -> None:
    r = replace(two_crashes(), answers=result().answers)
    assert [row(r, n)[1] for n in ("disc", "pins", "bare line")] == ["A", "A", "B"]


def test_one_crash_for_all_rows_needs_no_letters() -> None:
    """Also where the bare line sees the same in both, to the digits shown: 812.3 and 812.4."""
    r = replace(two_crashes(bare=812.4), answers=result().answers)
    assert crashes.letters(r) == {}
    assert row(r, "bare line")[:2] == ["-", "-"]
    assert caption(r).startswith("Times after and peaks in 'jam' at 'shaft'")
    assert crashes.letters(replace(two_crashes(bare=813.4), answers=result().answers)) == {"jam": "A", "wedge": "B"}


def test_reasons_use_the_letters_of_the_table() -> None:
    r = two_crashes()
    pins = replace(r.answers[1], reasons=("'shaft' sees 103 % of its allowable in 'jam'", "trips in 'start'",
                                          "'shaft' sees 108 % of its allowable in 'wedge'"))  # fmt: skip
    text = told(replace(r, answers=(r.answers[0], pins)))
    assert "No pins: trips in 'start'; 'shaft' sees 108 % of its allowable in B, 103 % in A." in text


WHERE = ("a", "b, c", "rod")


@pytest.mark.parametrize(("reasons", "once"), [
    (["trips in 'a'", "trips in 'b, c'"], ["trips in 'a', 'b, c'"]),
    (["trips in 'a'", "does not let go in 'a'"], ["trips in 'a'", "does not let go in 'a'"]),
    (["'rod' sees 102 % of its allowable in 'a'", "'pin' sees 120 % of its allowable in 'a'",
      "'rod' sees 110 % of its allowable in 'b, c'"],
     ["'pin' sees 120 % of its allowable in 'a'", "'rod' 110 % in 'b, c', 102 % in 'a'"]),
    (["'rod' sees 127 % of its allowable in 'a'", "'rod' sees 127 % of its allowable in 'rod'"],
     ["'rod' sees 127 % of its allowable in 'a', likewise in 'rod'"]),
    (["'x' breaks in 'a' after 1 s: nothing holds the load", "'x' breaks in 'b, c' after 2 s: nothing holds the load"],
     ["'x' breaks in 'a' after 1 s: nothing holds the load", "'x' breaks in 'b, c' after 2 s: nothing holds the load"]),
    (["no answer in 'a', 'b, c': it took too many steps"], ["no answer in 'a', 'b, c': it took too many steps"]),
    (["trips in 'elsewhere'"], ["trips in 'elsewhere'"]),
])  # fmt: skip
def test_reasons_that_differ_in_the_situation_alone_are_one(reasons: list[str], once: list[str]) -> None:
    assert merged(reasons, WHERE) == once


def test_names_and_numbers_said_once() -> None:
    assert listed(["a"]) == "a"
    assert listed(["a", "b"]) == "a and b"
    assert numbered({"a": "5 %"}) == "a 5 %"
    assert numbered({"a": "5 %", "b": "4 %", "c": "5 %"}) == "a and c alike 5 %, b 4 %"
    assert grouped({"a": "x", "b": "x", "c": "y"}) == "y (c), x for the others"
    assert spoken({"a": "x", "b": "x", "c": "y"}) == "a, b: x; c: y"
    assert spoken({"a": "x", "b": "x"}) == "x (all)"


def passing(*margins: tuple[str, float, float]) -> ResultSet:
    """Candidates that pass, by name, service margin [%] and time to run again [s]; room to the limits is ample."""
    out = []
    for n, (name, percent, seconds) in enumerate(margins):
        a = answer(name, n + 1, True)
        served = a.margins[1]._replace(percent=percent)
        out.append(replace(a, margins=(a.margins[0], served), use=0.4, again_seconds=seconds))
    return result(answers=tuple(out))


@pytest.mark.parametrize(("second", "words"), [
    ((35.04, 5.0), "limits: disc and pins alike 35 %."),
    ((35.04, 9.0), "limits: disc and pins alike 35 %; disc and pins by the time to run again."),
    ((34.9, 9.0), "limits: disc 35 %, pins 34.9 %."),
])  # fmt: skip
def test_what_is_alike_to_the_digits_told_is_ranked_alike(second: tuple[float, float], words: str) -> None:
    assert caption(passing(("disc", 35.0, 5.0), ("pins", *second))).endswith(words)


def bounds(*rows: tuple[str, str, float, float]) -> ResultSet:
    return result(bounds=tuple(HandBound(s, what, 90.0, bound, value) for s, what, bound, value in rows))


def test_by_hand_tells_the_nearest_to_its_bound_of_each_kind_and_counts_the_rest() -> None:
    r = bounds(("a", "crash, bare line", 100.0, 50.0), ("b", "crash, bare line", 100.0, 80.0),
               ("c", "crash, bare line", 100.0, 80.0), ("d", "start by a torque step", 40.0, 9.0))  # fmt: skip
    short = trust.hand_check(r)
    assert short == ("'b' (crash, bare line): run 80, by hand 90, at most 100 N*m, likewise in 'c'. 'd' (start by a "
                     "torque step): run 9, by hand 90, at most 40 N*m.")  # fmt: skip
    assert trust.hand_bounds_left(r) == 1
    assert "1 warning, 1 hand bound more: simcore show RESULT --all" in told(r)
    assert "'a' (crash, bare line): run 50" in trust.hand_check(r, whole=True)
    assert "1 hand bound more:" not in told(r, whole=True)


def test_where_no_bound_is_known_none_is_told_nor_passed() -> None:
    r = bounds(("a", "start by a torque step", nan, 9.0), ("b", "start by a torque step", nan, 8.0))
    assert trust.hand_check(r) == "'a' (start by a torque step): run 9, by hand 90 N*m."
    idle = replace(r, bounds=tuple(b._replace(estimate=0.0) for b in r.bounds))
    assert "ABOVE" not in trust.hand_check(idle)


def test_where_nothing_is_left_out_only_the_defaults_are_elsewhere() -> None:
    r = result(warnings=("One.",))
    assert "More the defaults: simcore show RESULT --defaults" in told(r)
    assert "More" not in told(replace(r, defaults=())).split()


def test_whatever_is_above_its_bound_is_told() -> None:
    r = bounds(("a", "crash, bare line", 100.0, 101.0), ("b", "crash, bare line", 100.0, 120.0))
    assert trust.hand_check(r).count("ABOVE ITS BOUND") == 2


LONG = "A sentence that takes two lines on a wide terminal, as most of them do, with its numbers and its names. "
MARK = "(*)"


def crammed(grave: int = 0) -> ResultSet:
    """Nine warnings and seven remarks of two lines each, more than one screen holds."""
    r = result(warnings=tuple(f"{LONG}W{n} {MARK}" for n in range(9)),
               remarks=tuple(Remark("Stop", f"{LONG}R{n} {MARK}") for n in range(7)))  # fmt: skip
    return replace(r, findings={**r.findings, "grave warnings": float(grave)})


def test_a_screen_that_has_much_to_tell_stays_one_screen() -> None:
    r = crammed()
    lines = plain(screen(r, 100, ["here"], "runs/x y")).splitlines()
    text = " ".join(" ".join(lines).split())
    shown = text.count(MARK)
    assert len(lines) <= LINES
    assert 2 <= shown <= 6
    left = [int(text.split("More ")[1].split(f" {word}")[0].split()[-1]) for word in ("warnings", "remarks")]
    assert sum(left) == 16 - shown
    assert 'simcore show "runs/x y" --all' in text
    assert {"W0", "R0"} <= set(text.split())


def test_grave_warnings_are_told_however_full_the_screen_is() -> None:
    full = replace(crammed(3), sentence=LONG * 20)
    assert {"W0", "W1", "W2", "R0"} <= set(told(full).split())
    plainly = set(told(replace(full, findings={})).split())
    assert {"W0", "W1", "R0"} <= plainly
    assert {"W2", "R1"}.isdisjoint(plainly)


def test_a_narrow_terminal_is_told_no_less() -> None:
    r = crammed()
    assert told(r).count(MARK) == " ".join(plain(screen(r, 40)).split()).count(MARK)


def test_the_whole_screen_leaves_nothing_out() -> None:
    text = told(crammed(), whole=True)
    assert text.count(MARK) == 16
    assert "--all" not in text


def test_whole_tells_names_and_limits_of_many_in_full() -> None:
    names = [f"overload clutch of the far sawmill's slab conveyor number {n}" for n in range(10)]
    many = result(answers=tuple(replace(answer(x, n + 1, False), use=0.5 + 0.01 * n, reasons=(f"reason {n}",))
                                for n, x in enumerate(names)))  # fmt: skip
    assert names[3] not in told(many)
    whole = told(many, whole=True)
    assert all(f"{x} {50 + n} %" in whole for n, x in enumerate(names))
    assert all(f"reason {n}: {x}." in whole for n, x in enumerate(names))


def test_the_command_that_the_screen_names_tells_the_rest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    folder = tmp_path / "the run"
    folder.mkdir()
    r = result(warnings=tuple(f"{LONG}W{n}" for n in range(9)), findings={})
    write(r, folder / "result.h5")
    assert inside(monkeypatch, "show", str(folder)) == 0
    short = " ".join(capsys.readouterr().out.split())
    assert f'more: simcore show "{folder}" --all' in short
    assert "W8" not in short.split()
    assert inside(monkeypatch, "show", str(folder), "--all") == 0
    assert {f"W{n}" for n in range(9)} <= set(capsys.readouterr().out.split())


def test_remarks_with_the_same_label_share_it_and_none_is_lost() -> None:
    r = result(remarks=(Remark("Stop", "First."), Remark("Stop", "Second."), Remark("Backstop", "Third.")))
    lines = plain(screen(r, 100)).splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("Stop"))
    assert [line.split() for line in lines[at : at + 3]] == [["Stop", "First."], ["Second."], ["Backstop", "Third."]]
    assert document(r)["remarks"] == {"Stop": "First. Second.", "Backstop": "Third."}
