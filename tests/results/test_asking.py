"""What a result answers to names and changes given in Python, right and wrong."""

from __future__ import annotations

import re
from pathlib import Path

import factory
import numpy as np
import pytest

import simcore
from simcore.errors import InputError, ResultError, UnknownName
from simcore.results.files import RESULT
from simcore.results.model import BARE
from simcore.results.write import write
from simcore.scenario.read import read_text
from simcore.shipped import find

DETENT = 'candidates["ball detent"].setting'


@pytest.fixture(scope="module")
def result() -> simcore.results.model.ResultSet:
    return factory.result(rows=20)


@pytest.mark.parametrize(("candidate", "situation", "said"), [
    ("friction disk", "laundry jams", "friction disk: is no candidate of this result (nearest: friction disc; there"),
    ("friction disc", "laundry jam", "laundry jam: is no situation of this result (nearest: laundry jams; there are "),
    ("x", "laundry jams", "(there are friction disc, Kugelrast, groß, pins 2/3, magnet's \"best\", bare line)"),
    (None, "laundry jams", "None: is no candidate of this result (there are friction disc, "),
])  # fmt: skip
def test_a_run_that_is_not_there(result, candidate, situation, said):
    with pytest.raises(UnknownName, match=re.escape(said)) as caught:
        result.run(candidate, situation)
    assert isinstance(caught.value, KeyError)
    assert isinstance(caught.value, InputError)


def test_the_bare_line_by_both_of_its_names(result):
    assert result.run("bare line", "laundry jams") is result.run(BARE, "laundry jams")


def test_a_connection_that_is_not_there(result):
    run = result.run("friction disc", "laundry jams")
    assert run.index("friction disc") == run.protection
    with pytest.raises(ValueError, match="slot: is no connection of this run") as caught:
        run.index("slot")
    assert "there are motor, gearbox, head shaft" in str(caught.value)
    assert "the protection bears its own name: friction disc" in str(caught.value)
    with pytest.raises(UnknownName, match="nearest: head shaft"):
        run.index("hed shaft")
    with pytest.raises(UnknownName) as bare:
        result.run(BARE, "laundry jams").index("slot")
    assert "its own name" not in str(bare.value)


def test_best_first(result):
    assert [a.rank for a in result.ranked] == sorted(a.rank for a in result.answers)
    assert set(result.ranked) == set(result.answers)


def test_the_folder_of_a_run_is_opened(result, tmp_path: Path):
    with pytest.raises(ResultError, match=r"is a folder without result\.h5"):
        simcore.open_result(tmp_path)
    write(result, tmp_path / RESULT)
    assert simcore.open_result(tmp_path).title == simcore.open_result(tmp_path / RESULT).title == result.title


def test_numbers_as_changes():
    text = find("bakery_tray_conveyor").read_text(encoding="utf-8")
    ratio = 'line["gearbox"].ratio'
    for number in (25, 25.0, np.float64(25.0), np.int64(25)):
        s = read_text(text, changes={ratio: number})
        assert s.station("gearbox").item.si("ratio") == 25.0
        assert s.changes in ({ratio: "25"}, {ratio: "25.0"})
    with pytest.raises(InputError, match="got list"):
        read_text(text, changes={ratio: [25]})


@pytest.mark.parametrize(("path", "value", "said"), [
    (DETENT, 1800, f"{DETENT}: has no unit, a torque is needed"),
    (DETENT, "5 m", f"{DETENT}: "), (DETENT, [1], f"{DETENT}: a change is"),
    ("line.gearbx.ratio", "2", "line.gearbx.ratio: is not a path of this scenario"),
])  # fmt: skip
@pytest.mark.parametrize("verb", [simcore.read, simcore.run])
def test_faults_of_changes_bear_their_path_in_python(verb, path, value, said):
    with pytest.raises(InputError) as caught:
        verb(find("bakery_tray_conveyor"), {path: value})
    assert str(caught.value).startswith(said)
    assert "--set" not in str(caught.value)
