"""Small scenario texts of an invented laundry's drive lines, and the line built from them."""

from __future__ import annotations

from simcore.line.assemble import Assembly, assemble, lowest_mode
from simcore.scenario.model import Scenario
from simcore.scenario.read import read_text


def station(name: str, part: str, **inputs: object) -> str:
    """One station of the sketch; numbers and lists are written bare, the rest in quotes."""
    return f'[[line]]\nname = "{name}"\npart = "{part}"\n' + _inputs(inputs)


def candidate(name: str, **inputs: object) -> str:
    return f'[candidates."{name}"]\n' + _inputs(inputs)


def stop_chain(name: str, **inputs: object) -> str:
    return f'[stops."{name}"]\n' + _inputs(inputs)


def situation(name: str, event: str, **inputs: object) -> str:
    return f'[situations."{name}"]\nevent = "{event}"\n' + _inputs(inputs)


def _inputs(inputs: dict[str, object]) -> str:
    return "".join(f"{k} = {v}\n" if isinstance(v, int | float | list) else f'{k} = "{v}"\n' for k, v in inputs.items())


def scenario(*tables: str, protect: str = "shaft") -> Scenario:
    head = f'title = "Laundry"\nquestion = "What protects it?"\nprotect = "{protect}"\n'
    if not any(t.startswith("[situations") for t in tables):
        tables = (*tables, situation("jam", "hard stop", stiffness="1 MN*m/rad"))
    return read_text(head + "\n".join(tables))


def motor(torque: str = "30 N*m", speed: str = "100 rad/s", inertia: str = "0.02 kg*m^2", **more: object) -> str:
    more.setdefault("name", "motor")
    name = str(more.pop("name"))
    return station(name, "constant-torque motor", torque=torque, speed=speed, inertia=inertia, ramp="0 s", **more)


def bare(s: Scenario, event: str | None = None) -> Assembly:
    return assemble(s, None, s.situations[event] if event else None)


def fitted(s: Scenario, name: str, event: str | None = None) -> Assembly:
    return assemble(s, s.candidates[name], s.situations[event] if event else None, lowest_mode(s))
