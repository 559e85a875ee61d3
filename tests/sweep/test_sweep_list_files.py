"""A sweep whose lists come from CSV files: it notices an edited file and is replayed without any."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from simcore.errors import InputError
from simcore.sweep.join import setup
from simcore.sweep.pick import Picked
from simcore.sweep.replay import replay
from simcore.sweep.result import SweepResult
from simcore.sweep.runner import sweep

SCENARIOS = Path(__file__).parents[1] / "scenario"
TRACE = "baler_trace.csv"
SECTION = """
[sweep]
draws = 2
situations = ["branch in the straw"]

[[sweep.factor]]
name = "jam stiffness"
path = 'situations["branch in the straw"].stiffness'
times = true
scatter = { log_uniform = [0.5, 2] }

[[sweep.factor]]
name = "extra inertia"
path = 'line["plunger flywheel"].inertia'
times = true
scatter = { measured = "ratios.csv" }
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "baler.toml").write_text((SCENARIOS / "straw_baler.toml").read_text() + SECTION)
    shutil.copy(SCENARIOS / TRACE, tmp_path)
    (tmp_path / "ratios.csv").write_text("ratio\n0.9\n1.1\n")
    shutil.copytree(SCENARIOS / "baler", tmp_path / "baler")
    return tmp_path


def test_an_edited_file_is_refused_and_a_lost_one_not_needed(folder: Path, kernel: object) -> None:
    file, night = folder / "baler.toml", folder / "night"
    sweep(night, setup(file, night))
    text = (folder / TRACE).read_text()
    (folder / TRACE).write_text(text.replace("15,9,25.36", "15,9,26.36"))
    with pytest.raises(InputError, match=f'{TRACE}, line 6: "15,9,25.36", now "15,9,26.36"'):
        sweep(night, setup(file, night))
    (folder / TRACE).unlink()
    (folder / "ratios.csv").unlink()
    shutil.rmtree(folder / "baler")
    found = replay(SweepResult.load(night), Picked(0, 0, 1))
    assert found.apart == ()
    assert found.result is not None
    assert found.result.provenance["files"][TRACE] == text


def test_the_identity_of_a_case_holds_the_files(folder: Path) -> None:
    """An added comment is another text already; without files the identity is what it was before there were any."""
    file, night = folder / "baler.toml", folder / "night"
    before = setup(file, night)
    (folder / TRACE).write_text((folder / TRACE).read_text() + "# checked\n")
    after = setup(file, night)
    assert before.fingerprint != after.fingerprint
    assert before.plan.fingerprint(before.text, before.versions) == after.plan.fingerprint(
        after.text, after.versions, {}, {}
    )
