"""A small drive line of an invented sawmill for the measures, and the demo."""

from __future__ import annotations

from pathlib import Path

from simcore.line.assemble import lowest_mode
from simcore.measures.cases import Case, make_case
from simcore.measures.extract import scalars
from simcore.scenario.model import Scenario
from simcore.scenario.read import read_text
from simcore.solver.arrays import Status
from simcore.solver.kernel import run_many

DEMO = Path(__file__).resolve().parents[2] / "scenarios" / "bakery_tray_conveyor.toml"

LINE = """\
title = "Infeed of a sawmill"
question = "What protects the shaft?"
protect = "shaft"

[[line]]
name = "motor"
part = "constant-torque motor"
torque = "{torque} N*m"
speed = "{speed} rad/s"
inertia = "{rotor} kg*m^2"
ramp = "0 s"

[[line]]
name = "slot"
part = "slot"
hub_in = "0.01 kg*m^2"
hub_out = "0.01 kg*m^2"

[[line]]
name = "shaft"
part = "shaft"
stiffness = "5 kN*m/rad"
allowable = "{allowable} N*m"
allowable_source = "own calculation"

[[line]]
name = "roll"
part = "flywheel"
inertia = "0.5 kg*m^2"

[[line]]
name = "log"
part = "friction load"
running = "12 N*m"

"""
CRASH = '[situations."crash"]\nevent = "hard stop"\nstiffness = "{stiffness}"\nhorizon = "0.1 s"\n'
STEP = '[situations."thick log"]\nevent = "load step"\nextra = "8 N*m"\nhorizon = "0.4 s"\n'


def sawmill(
    *tables: str, speed: float = 100.0, torque: float = 30.0, rotor: float = 0.02, allowable: float = 400.0,
    stiffness: str = "200 kN*m/rad",
) -> Scenario:  # fmt: skip
    """The line with candidates and situations; a crash comes with it."""
    text = LINE.format(speed=speed, torque=torque, rotor=rotor, allowable=allowable) + CRASH.format(stiffness=stiffness)
    return read_text(text + "\n".join(tables))


def fit(name: str, **inputs: object) -> str:
    rows = [f"{k} = {v}" if isinstance(v, int | float) else f'{k} = "{v}"' for k, v in inputs.items()]
    return f'[candidates."{name}"]\n' + "\n".join(rows) + "\n"


def case_of(s: Scenario, candidate: str | None, situation: str) -> Case:
    c = None if candidate is None else s.candidates[candidate]
    return make_case(s, c, s.situations[situation], lowest_mode(s), 1e-6)


def measures_at(case: Case, factor: float) -> dict[str, float]:
    """Measures with the setting times ``factor``."""
    meas, _, status = run_many(case.assembly, case.assembly.dialled(factor)[None])
    assert status[0] <= Status.STOPPED
    return scalars(case.assembly, meas[0], case.protected, case.heat_limit)
