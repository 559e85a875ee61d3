"""The first screen as text."""

from __future__ import annotations

from dataclasses import replace

import pytest
from small import answer, result

from simcore.screen.first import CAUTION, screen
from simcore.screen.html import brief, notebook
from simcore.screen.inside import defaults, solver
from simcore.screen.table import Column, table
from simcore.screen.verdicts import disconnect, tightest
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
             'start' for all. Over the band of the setting, of all limits up to: disc 75 %, pins
             75 %.
No           pins: trips in 'start'.

Warning 1    One.
Warning 2    Two.
Warning 3    Three.
             1 more warning: simcore check lists all.
By hand      'jam' (crash, bare line): run 812, by hand about 850, at most 990 N*m.
Not given    1 of 2 values were not given and took their default. Over its usual range the peak
             moves most, in % of what it bears, by line.saddle.mass = 3 kg (2.14 %).
Numerics     Energy ledger open by 2.0e-09 at most; a run ten times tighter moves the peak by
             3.0e-07; damping halved moves it by +1.23 %, doubled by -2 %.
Inertias     Seen at 'shaft': saddle 2.5, motor 0.123; 2.62 kg*m^2 in all.
Files        here
Caution      A torque-limiting part is no safeguard for people. ISO 12100, ISO 13849-1, IEC 60204-1
             and ISO 14118 (named from memory) are the standards to consult; local codes and
             licensed practice have the last word."""


def test_exact_text() -> None:
    assert plain(screen(result(), 100, ["here"])) == EXACT


@pytest.mark.parametrize("columns", [40, 60, 80, 100, 250])
def test_fits_and_loses_nothing(columns: int) -> None:
    """Every word of the widest screen is there at any width."""
    text = plain(screen(result(), columns, ["here"]))
    assert max(map(width, text.splitlines())) <= min(columns, 100)
    assert set(EXACT.split()) <= set(text.split())


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
    assert disconnect(replace(a, disconnects="nothing was overloaded")) == "no overload"
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
