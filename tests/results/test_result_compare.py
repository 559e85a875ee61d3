"""A comparison names what differs in the inputs and what moved in the answers, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from math import nan

import pytest
from factory import SCENARIO, answer, result, scenario

from simcore.errors import ResultError
from simcore.results.compare import compare
from simcore.results.inputs import Change, same_quantity
from simcore.results.write import write


def paths(a, b):
    return [c.path for c in compare(a, b).inputs]


def with_text(text, **provenance):
    r = result()
    return replace(r, scenario_text=text, provenance={**r.provenance, "resolved": {}, "changes": {}, **provenance})


PLAIN = with_text(SCENARIO)


def test_a_result_equals_its_file(tmp_path):
    write(result(), tmp_path / "r.h5")
    c = compare(result(), tmp_path / "r.h5")
    assert not c
    assert c.whole == "The inputs are the same.\nNo answer moved."
    assert str(c) == repr(c) == "The inputs are the same. No answer moved."


def test_comments_units_and_titles_are_no_difference():
    other = scenario(stiffness='"2000 kN/m"  # measured', title='"Another"') + '\n[display]\ntorque = "kN*m"\n'
    assert paths(PLAIN, with_text(other)) == []


def test_a_default_written_out_is_no_difference():
    path = 'line["gearbox"].efficiency'
    written = with_text(scenario(ratio='20\nefficiency = "95 %"'), resolved={path: 0.95})
    assert paths(with_text(SCENARIO, resolved={path: 0.95}), written) == []
    (change,) = compare(with_text(SCENARIO, resolved={path: 0.9}), written).inputs
    assert change == Change(path, "0.9 (default, SI)", "95 %")


def test_differing_inputs_by_readable_path():
    (change,) = compare(PLAIN, with_text(scenario(ratio="25"))).inputs
    assert change == Change('line["gearbox"].ratio', "20", "25")
    more = with_text(SCENARIO + '\n[candidates."ball detent"]\nsetting = "340 N*m"\nlash = "1 deg"\n')
    assert compare(PLAIN, more).inputs == (Change('candidates["ball detent"]', "-", "present"),)
    assert compare(more, PLAIN).inputs == (Change('candidates["ball detent"]', "present", "-"),)


def test_changes_from_outside_count_as_written():
    outside = with_text(SCENARIO, changes={"line.gearbox.ratio": "25"})
    assert compare(PLAIN, outside).inputs == (Change('line["gearbox"].ratio', "20", "25"),)
    assert paths(outside, with_text(scenario(ratio="25"))) == []


def test_order_of_the_line_is_an_input():
    head, motor, gear, rest = SCENARIO.replace("[candidates", "[[line]][candidates").split("[[line]]")
    swapped = "[[line]]".join([head, gear, motor]) + rest
    assert compare(PLAIN, with_text(swapped)).inputs == (Change("line in order", "motor, gearbox", "gearbox, motor"),)


def test_other_defaults_and_versions_show_though_the_text_is_the_same():
    a = with_text(SCENARIO, resolved={'line["gearbox"].lash': nan, "x": 1.0})
    b = with_text(SCENARIO, resolved={'line["gearbox"].lash': nan, "x": 2.0}, numpy="9.0")
    assert compare(a, b).inputs == (Change("x", "1 (SI)", "2 (SI)"), Change("numpy", "2.1", "9.0"))


def test_only_moved_answers_are_told():
    r = result()
    x = answer("friction disc", 1)
    y = replace(x, peak=x.peak * 1.1, disconnect=0.02, heat=x.heat * (1.0 + 1e-5), passed=False, reasons=("hot",))
    low = y.margins[1]._replace(margin=45.75)
    y = replace(y, margins=(y.margins[0], low))
    c = compare(r, replace(r, answers=(y, *r.answers[1:])))
    assert c.inputs == ()
    assert {m.what for m in c.answers} == {"peak as set", "disconnect", "passed", "reasons", "margin, Anlauf voll"}
    moved = {m.what: m for m in c.answers}
    assert moved["peak as set"].relative == pytest.approx(0.1)
    assert moved["margin, Anlauf voll"].relative == -0.5
    assert c.whole.splitlines() == [
        "The inputs are the same.",
        "Answers that moved",
        "  friction disc",
        "    disconnect           none -> 20 ms",
        "    peak as set          396 N*m -> 435 N*m    +10 %",
        "    passed               yes -> no",
        "    reasons              none -> hot",
        "    margin, Anlauf voll  91.5 N*m -> 45.8 N*m  -50 %",
    ]
    assert "heat" in {m.what for m in compare(r, replace(r, answers=(y, *r.answers[1:])), least=1e-6).answers}


def test_small_moves_are_shown_with_the_digits_they_need():
    r = result()
    y = replace(r.answers[0], peak=r.answers[0].peak * 1.0002)
    text = compare(r, replace(r, answers=(y, *r.answers[1:]), unit="kN*m")).whole
    assert "peak as set  395.9 N*m -> 396 N*m  +0.02 %" in text


def test_long_texts_are_wrapped_and_lose_nothing():
    r = result()
    long = "Fit the friction disc behind the gearbox: " + "it lets go in the crash and carries " * 4
    y = replace(r.answers[0], reasons=("too hot",) * 12)
    text = compare(r, replace(r, sentence=long, answers=(y, *r.answers[1:]))).whole
    assert max(map(len, text.splitlines())) <= 80
    assert " ".join(long.split()) in " ".join(text.split())
    assert text.count("too hot") == 12


def test_candidates_without_counterpart_are_named():
    r = result()
    c = compare(replace(r, answers=r.answers[1:]), replace(r, answers=r.answers[:-1], sentence="None fits."))
    assert c.candidates == (('magnet\'s "best"',), ("friction disc",))
    assert "Only in the second: friction disc" in c.whole
    assert "Only there   in the second: friction disc" in str(c)
    assert "verdict  Fit the friction disc. -> None fits." in c.whole


@pytest.mark.parametrize(("before", "after", "relative"), [(2.0, 3.0, 0.5), (-2.0, 3.0, nan), (3.0, -2.0, nan),
                                                           (-6.2, -48.0, nan), (0.0, 3.0, nan)])  # fmt: skip
def test_no_percentage_where_it_means_nothing(before, after, relative):
    """Across zero, from zero, and of what is below zero."""
    r = result()
    x, y = (replace(r, answers=(replace(r.answers[0], energy=e), *r.answers[1:])) for e in (before, after))
    (moved,) = compare(x, y).answers
    assert moved.relative == pytest.approx(relative, nan_ok=True)


def test_quantities():
    assert same_quantity("0.6 kN*m", "600 N*m")
    assert not same_quantity("600 N*m", "601 N*m")
    assert not same_quantity("600 N*m", "600 J")
    assert not same_quantity("disc", "disk")
    assert same_quantity("95 %", 0.95)


def test_unreadable_text_and_files(tmp_path):
    other = with_text("not = [toml")
    assert compare(PLAIN, other).inputs == (Change("scenario", "its text", "another text, no readable scenario"),)
    assert compare(other, other).inputs == ()
    with pytest.raises(ResultError, match="no such file"):
        compare(result(), tmp_path / "none.h5")
