"""The screen of a comparison: the answer first, then changed inputs, then results by candidate, on one screen."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from shell import inside
from small import answer, result

from simcore.cli.jsonout import comparison
from simcore.results.compare import compare
from simcore.results.model import Answer, ResultSet
from simcore.results.write import write
from simcore.screen.compared import compared
from simcore.screen.words import plain
from simcore.shipped import find

TOML = find("bakery_tray_conveyor").read_text(encoding="utf-8")


def told(a: ResultSet, b: ResultSet) -> str:
    return plain(compared(compare(a, b)))


def with_text(text: str, *answers: Answer) -> ResultSet:
    return result(scenario_text=text, provenance={}, **({"answers": answers} if answers else {}))


def margin(a: Answer, percent: float) -> Answer:
    return replace(a, margins=(a.margins[0], a.margins[1]._replace(percent=percent)))


DISC, PINS = answer("disc", 1, True), answer("pins", 2, False)
LESS = TOML.replace('setting = "340 N*m"\nheat_limit', 'setting = "320 N*m"\nheat_limit')


def test_the_answer_comes_first_with_its_cause() -> None:
    """One input changed, one candidate moved: both in the first sentence, the change of the peak's share too."""
    before = with_text(TOML, PINS, DISC)
    after = with_text(LESS, PINS, replace(margin(DISC, 26.7), peak=320.0))
    assert (
        told(before, after)
        == """\
Still fit the disc: it loses 8.3 points of service margin (+35 % -> +26.7 %) and its peak falls
(69.1 % -> 64 % of what 'shaft' bears), because setting of 'friction disc' went from 340 N*m to
320 N*m.

Inputs       candidates["friction disc"].setting: 340 N*m -> 320 N*m

                             service   peak, of what  lets go
protection  passes            margin        it bears    at ms
disc        yes     +35 % -> +26.7 %  69.1 % -> 64 %     12.3

Hardly moved pins.
More         simcore compare A B --all lists every result that moved (1), --json has every digit."""
    )


def test_another_recommendation_is_told_with_the_reason() -> None:
    before = result(answers=(PINS, DISC))
    lost = replace(DISC, passed=False, reasons=("trips in 'start'",), rank=2)
    text = told(before, result(answers=(replace(PINS, passed=True, reasons=(), rank=1), lost)))
    assert " ".join(text.split()).startswith(
        "Now fit the pins, no longer the disc (trips in 'start'): it passes now (before: trips in 'start'), though no"
    )
    assert "The disc no longer passes." in text
    assert "disc        yes -> no" in text
    assert "disc: against it now: trips in 'start'" in text
    none = told(before, result(answers=(PINS, lost)))
    assert none.startswith("Nothing passes any more, not even the disc (trips in 'start')")


def test_all_within_one_screen() -> None:
    """Twenty candidates that all moved, thirty inputs: at most 45 lines of 100 columns, the most telling first."""
    names = [f"candidate number {n} with quite a long name" for n in range(20)]
    first = [replace(answer(n, k + 1, True), heat=100.0) for k, n in enumerate(names)]
    second = [replace(margin(a, 35.0 - k), heat=300.0, rise=90.0, slip_angle=9.0) for k, a in enumerate(first)]
    text = TOML + "".join(f'\n[corners."c{n}"]\n\'line["trays"].mass\' = "1 kg"' for n in range(30))
    lines = told(with_text(TOML, *first), with_text(text, *second)).splitlines()
    assert len(lines) <= 45
    assert max(map(len, lines)) <= 100
    rows = [line for line in lines if line.startswith("candidate") and "yes" in line]
    assert "+16 %" in rows[0]
    assert len(rows) == 12
    assert "and 7 more candidates" in "\n".join(lines)
    assert "more inputs" in "\n".join(lines)


@pytest.mark.parametrize(("old", "new"), [
    ('mass = "180 kg"', 'mass = "0.18 t"'),
    ('heat_limit = "150 K"', 'heat_limit = "150 K"\nstribeck_speed = "9.5493 rpm"\ntolerance = 0.1'),
    ('heat_limit = "150 K"', 'heat_limit = "150 K"\npart = "friction disc"\nslot = "slot"'),
    ('event = "start"\n', 'event = "start"\nexpect = "hold"\nhorizon = "5000 ms"\nlead = "0.01 s"\nat = "rails"\n'),
    ('breakdown = 2.8', 'breakdown = "280 %"'),
])  # fmt: skip
def test_the_same_in_other_words_is_no_change(old: str, new: str) -> None:
    assert old in TOML
    c = compare(with_text(TOML), with_text(TOML.replace(old, new, 1)))
    assert c.inputs == ()


@pytest.mark.parametrize(("new", "before", "after"), [
    ('stribeck_speed = "10 rpm"', "1 rad/s (default)", "10 rpm"),
    ("tolerance = 0.11", "10 % (default)", "0.11"),
])  # fmt: skip
def test_a_default_is_told_with_its_unit(new: str, before: str, after: str) -> None:
    c = compare(with_text(TOML), with_text(TOML.replace('heat_limit = "150 K"', f'heat_limit = "150 K"\n{new}')))
    assert [(i.before, i.after) for i in c.inputs] == [(before, after)]


def test_peak_and_use_say_what_they_stand_for() -> None:
    """The peak is that of the setting as written, the use the worst over the band."""
    moved = compare(result(answers=(DISC,)), result(answers=(replace(DISC, peak=300.0, use=0.9),))).answers
    assert [m.what for m in moved] == ["peak as set", "use over the band, of all limits"]


def test_options(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    a, b = with_text(TOML, PINS, DISC), with_text(LESS, PINS, margin(DISC, 26.7))
    files = [str(tmp_path / n) for n in ("a.h5", "b.h5")]
    for r, f in zip((a, b), files, strict=True):
        write(r, Path(f))
    assert inside(monkeypatch, "compare", *files) == 0
    assert capsys.readouterr().out == told(a, b) + "\n"
    assert inside(monkeypatch, "compare", *files, "--all") == 0
    assert capsys.readouterr().out == compare(a, b).whole + "\n"
    assert inside(monkeypatch, "compare", *files, "--json") == 0
    out = json.loads(capsys.readouterr().out)
    assert out == json.loads(json.dumps(comparison(compare(a, b))))
    assert out["format"] == "simcore comparison"
    assert out["inputs"] == [{"path": 'candidates["friction disc"].setting', "before": "340 N*m", "after": "320 N*m"}]
