"""Result sets with a stop chain, a repeated jam, a restart, temperatures and two slots; numbers to reckon by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from chart_samples import MANY_NAMES, many_set, result_set

from simcore.results.model import BARE, Connection, OwnState, ResultSet, Run

TRIGGER, NOTICED, OFF = 0.03, 0.05, 0.2
SENSOR, OUTPUT = 0.1, 0.02
HEAT = 1000.0
"""Slip heat [W] from the trigger on."""
JAM = "tray jams"
LIMIT = 40.0
RESOLVED = {'stops["slip watch"].sensor': SENSOR, 'stops["slip watch"].output': OUTPUT}
COMMAND = ("waiting", "being given", "given")
DRAG = ("waiting", "dragging", "cleared")
WATCH = ("drive off", "blind", "watching", "noticed", "ramping down", "stopped")


def steps(t: np.ndarray, *changes: tuple[float, int]) -> np.ndarray:
    """A mode over time: each from its instant on."""
    out = np.zeros(len(t), dtype=np.int64)
    for at, mode in changes:
        out[t >= at] = mode
    return out


def placed(name: str, part: str, role: str, modes: tuple[str, ...]) -> Connection:
    return Connection(name, part, "N m", np.nan, "", modes, ("engaged",) * len(modes), role)


def timed_run(run: Run, chained: bool = True, long: float = 1.0) -> Run:
    """The run over ``long`` s with three jams, a restart at 0.8 of it, and a stop chain that acts at 0.2 s."""
    exact = [a + d for a in (0.0, TRIGGER, NOTICED, OFF, OFF + 0.1) for d in (-1e-9, 0.0)]
    t = np.union1d(np.linspace(-0.02, long, 4001), exact)
    n = len(t)
    names = [c.name for c in run.connections]
    motor = replace(run.connections[0], modes=("off", "on its curve", "at its ceiling"), classes=("engaged",) * 3)
    columns = [steps(t, (-9.0, 1), (TRIGGER, 2), *([(OFF, 0), (0.8 * long, 1)] if chained else ()))]
    columns += [np.zeros(n, dtype=np.int64) for _ in names[1:]]
    slot = names.index("slot") if "slot" in names else None
    if slot is not None:
        columns[slot] = steps(t, (TRIGGER, 1))
    jam = names.index(JAM)
    columns[jam] = steps(t, (0.0, 1), (0.3 * long, 0), (0.4 * long, 1), (0.5 * long, 0), (0.6 * long, 1),
                         (0.7 * long, 2))  # fmt: skip
    connections = [motor, *run.connections[1:]]
    connections[jam] = replace(run.connections[jam], part="partial jam", modes=DRAG, classes=("engaged",) * 3)
    extra = [(placed("2: restart", "restart", "event", COMMAND), steps(t, (0.8 * long, 1), (0.801 * long, 2)))]
    if chained and slot is not None:
        chain = steps(t, (-9.0, 2), (NOTICED, 3), (OFF, 0), (0.8 * long, 2))
        extra.append((placed("slip watch", "stop chain", "stop", WATCH), chain))
    connections += [c for c, _ in extra]
    m = len(connections)
    heat = np.zeros((n, m))
    rise = 30.0 * np.clip(t, 0, None) / long
    own: tuple[OwnState, ...] = ()
    if slot is not None:
        heat[:, slot] = HEAT * np.clip(t - TRIGGER, 0, None)
        own = (OwnState("disc rise", "K", rise), OwnState("skin lead", "K", np.where(t > 0.5 * long, 1.0, 0.0)),
               OwnState("damage", "1", 0.01 * rise))  # fmt: skip
    hub = np.full((n, 2), 7.43)
    hub[t > TRIGGER, 1] = 0.0
    nothing = np.zeros(m)
    return replace(
        run, connections=tuple(connections), time=t, torque=np.zeros((n, m)), heat=heat, hub_speed=hub, own=own,
        mode=np.column_stack([*columns, *(c for _, c in extra)]), twist=np.zeros(n), slip=hub[:, 0] - hub[:, 1],
        angle=np.zeros((n, 2)), speed=np.zeros((n, 2)), peak=nothing, peak_time=nothing, first_peak=nothing,
        lost=nothing, measures={**run.measures, "trigger": TRIGGER},
    )  # fmt: skip


def timed_set(count: int, long: float = 1.0, **k: Any) -> ResultSet:
    """``count`` candidates, every second one on the motor's side at a twentieth of the setting."""
    names = k.get("names")
    whole = many_set(count, names or MANY_NAMES) if count > 8 else result_set(count, **k)
    timed = {
        (c, s): timed_run(r, whole.candidates.index(c) % 3 != 2, long) if s == JAM else r
        for (c, s), r in whole.runs.items()
    }
    answers = []
    for i, a in enumerate(whole.answers):
        moved = {"slot": "motor slot", "to_protected": 20.0, "setting": a.setting / 20.0} if i % 2 else {}
        moved |= {"part": whole.answers[i - i % 2].part, "peak": a.peak * (1.25 if i % 2 else 1.0), "heat": 10.0 + i}
        answers.append(replace(a, rise_limit=LIMIT, **moved))
    return replace(whole, runs=timed, answers=tuple(answers), provenance={"simcore": "0.1.0", "resolved": RESOLVED})


def candidate_run(result: ResultSet, place: int = 0) -> Run:
    return result.runs[[c for c in result.candidates if c != BARE][place], JAM]
