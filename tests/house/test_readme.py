"""The README says what the program does today."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import readme


@pytest.fixture(scope="module")
def page() -> str:
    return readme.PAGE.read_text()


def without_digits_of_noise(text: str) -> str:
    """Rounding residuals differ from machine to machine; everything else must not."""
    return re.sub(r"[+-]?\d(\.\d+)?e-\d+", "~", " ".join(text.split()))


def test_the_output_is_the_programs(page: str, kernel: object) -> None:
    assert without_digits_of_noise(readme.code("output: bakery", page)) == without_digits_of_noise(readme.output())


def test_the_picture_is_the_programs(tmp_path: Path, kernel: object) -> None:
    from matplotlib.image import imread

    made = imread(readme.picture(tmp_path))[..., :3]
    kept = imread(readme.PICTURE)[..., :3]
    assert made.shape == kept.shape
    assert float(np.abs(made - kept).mean()) < 0.01


def test_the_smallest_scenario_runs(page: str, kernel: object) -> None:
    import simcore
    from simcore.scenario.read import read_text

    result = simcore.run(read_text(readme.code("scenario: smallest", page)))
    assert result.sentence.startswith("Fit the ball detent")
    assert len(readme.code("scenario: smallest", page).strip().splitlines()) <= 11


def test_the_path_from_ten_lines_to_the_demo_runs(page: str, kernel: object) -> None:
    """Each step the README names: a limit with its source, a gear, a drum with a mass, more situations."""
    import simcore
    from simcore.scenario.read import read_text

    text = readme.code("scenario: smallest", page)
    steps = [
        ('allowable = "350 N*m"}', 'allowable = "350 N*m", allowable_source = "key calculation"}'),
        ('"70 rpm", inertia = "0.2 kg*m^2", ramp="1 s"},',
         '"1400 rpm", inertia = "0.003 kg*m^2"},\n  {name = "gearbox", part = "gear", ratio = 20, '
         'stiffness = "9 kN*m/rad", allowable = "400 N*m"},'),
        ('  {name = "bearings"',
         '  {name = "drum", part = "drum", radius = "90 mm"},\n  {name = "goods", part = "moving mass", mass = '
         '"40 kg"},\n  {name = "bearings"'),
        ('running = "9 N*m"', 'running = "100 N"'),
        ('stiffness = "5 kN*m/rad"}\n', 'stiffness = "2 MN/m"}\n'),
        ('situations.start', 'candidates."friction disc" = {setting = "40 N*m"}\nsituations.heavy = {event = "load '
         'step", extra = "50 N"}\nsituations.rub = {event = "partial jam", drag = "90 N", lasts = "0.3 s"}\n'
         'situations.start'),
    ]  # fmt: skip
    text = text.replace('torque = "45 N*m"', 'torque = "1.4 N*m"')
    for old, new in steps:
        assert old in text
        text = text.replace(old, new, 1)
    result = simcore.run(read_text(text), evidence=False)
    assert len(result.answers) == 2
    assert len(result.situations) == 4


def test_the_python_example_runs(page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kernel: object) -> None:
    example = readme.code("api: ten lines", page)
    assert len(example.strip().splitlines()) <= 11
    monkeypatch.chdir(tmp_path)
    (tmp_path / "scenarios").symlink_to(readme.DEMO.parent)
    exec(compile(example, "README.md", "exec"), {})
    assert (tmp_path / "bakery.h5").exists()
    assert len(list((tmp_path / "charts").glob("*.png"))) == 6


def test_the_benchmark_table_is_the_measured_one(page: str) -> None:
    assert readme.block("benchmarks", page).strip() == readme.table().strip()
