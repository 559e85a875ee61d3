"""Faults of the line as a whole are told with file and line, with the units that are wanted instead."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from line_texts import motor, scenario, situation, station

import simcore
from simcore.errors import Fault, InputError
from simcore.line.cautions import cautions
from simcore.scenario.read import read

LINE = (
    motor(torque="60 N*m"),
    station("shaft", "shaft", stiffness="2 kN*m/rad", allowable="200 N*m"),
    station("drum", "drum", radius="200 mm", inertia="0.1 kg*m^2"),
    station("belt", "belt or chain", stiffness="400 kN/m"),
    station("linen", "moving mass", mass="20 kg"),
    station("rails", "friction load", running="100 N"),
)
JAM = situation("jam", "hard stop", stiffness="1 MN/m")


@pytest.fixture
def without_drum(tmp_path: Path) -> Path:
    """A laundry's belt whose drum was taken out of the file."""
    path = tmp_path / "laundry.toml"
    path.write_text('title = "Laundry"\nprotect = "shaft"\n' + "\n".join([*LINE[:2], *LINE[3:], JAM]), encoding="utf-8")
    return path


def faults(path: Path, changes: dict[str, str] | None = None) -> tuple[Fault, ...]:
    """As the command line tells them."""
    with pytest.raises(InputError) as caught:
        cautions(read(path, changes))
    return caught.value.faults


def test_a_drum_that_is_missing_is_told_where_it_is_missed(without_drum: Path) -> None:
    rows = without_drum.read_text(encoding="utf-8").splitlines()
    found = faults(without_drum)
    assert [f.path for f in found] == ['line["belt"]', 'line["linen"]', 'line["rails"]', 'line["rails"].running']
    assert all(f.file == str(without_drum) for f in found)
    assert [rows[f.line - 1] for f in found[:3]] == ["[[line]]"] * 3
    assert [rows[f.line] for f in found[:3]] == ['name = "belt"', 'name = "linen"', 'name = "rails"']
    assert rows[found[-1].line - 1] == 'running = "100 N"'
    assert "a drum turns rotation into travel" in str(found[0])
    assert found[-1].hint == "units: N*m, kN*m, MN*m, mN*m, N*cm"


def test_what_was_set_beside_the_file_is_told_as_such(without_drum: Path) -> None:
    running = faults(without_drum, {'line["rails"].running': "90 N"})[-1]
    assert (running.file, running.line, running.got) == ("--set", None, "90 N")
    with pytest.raises(InputError) as caught:
        simcore.check(simcore.read(without_drum, {'line["rails"].running': "90 N"}))
    assert replace(running, file="") == caught.value.faults[-1]


def test_a_load_too_heavy_is_told_with_its_file(tmp_path: Path) -> None:
    path = tmp_path / "heavy.toml"
    path.write_text(scenario(*LINE, JAM).text.replace('"100 N"', '"900 N"'), encoding="utf-8")
    (fault,) = faults(path)
    assert "the motor cannot carry" in fault.rule
    assert (fault.file, fault.line) == (str(path), 4)


def test_a_scenario_without_a_text_has_no_lines() -> None:
    s = scenario(*LINE, JAM)
    with pytest.raises(InputError) as caught:
        simcore.check(replace(s, text="", source="", stations=s.stations[:2] + s.stations[3:]))
    assert {(f.file, f.line) for f in caught.value.faults} == {("", None)}


@pytest.mark.parametrize(("at", "distance", "travel"), [("linen", "300 mm", 0.3), ("linen", "0.3 m", 0.3),
                                                        ("shaft", "1.5 rad", 0.2 * 1.5)])  # fmt: skip
def test_where_a_crash_is_by_length_or_by_angle(kernel: object, at: str, distance: str, travel: float) -> None:
    """What moves runs as far before the contact as is said, in either unit: travel is speed times time."""
    stiff = "1 MN/m" if at == "linen" else "20 kN*m/rad"
    jam = situation("jam", "hard stop", at=at, distance=distance, stiffness=stiff, horizon="50 ms")
    run = simcore.run(scenario(*LINE, jam), evidence=False).run("none", "jam")
    assert run.time[0] < 0.0
    assert -run.time[0] * run.speed[0, run.nodes.index("belt")] == pytest.approx(travel, rel=1e-6)
    assert next(e.time for e in run.events if e.who == "jam" and e.new == "touching") == pytest.approx(0.0, abs=1e-9)
