"""A result set small enough to reckon by hand: one candidate, one bare run, five instants."""

from __future__ import annotations

from dataclasses import replace
from math import nan, pi
from typing import Any

import numpy as np
from chart_samples import answer, connections, result_set, run_of

from simcore.results.model import BARE, Answer, Margin, ResultSet, Run

JAM = ("tray jams", "hard stop", "let go")
TIMES = np.array([-0.01, 0.0, 0.01, 0.02, 0.10])


def hand_run(candidate: str = "disc", torque: Any = (100, 100, 350, 300, 300), **changes: Any) -> Run:
    kind = None if candidate == BARE else "slips"
    conns = connections(kind)
    names = [c.name for c in conns]
    n = len(TIMES)
    t = np.zeros((n, len(conns)))
    t[:, names.index("head shaft")] = torque
    peak = np.abs(t).max(axis=0)
    mode = np.zeros(t.shape, dtype=np.int64)
    if kind:
        mode[2:, names.index("slot")] = 1
    hub = np.array([[2 * pi, 2 * pi], [2 * pi, 2 * pi], [2 * pi, 0], [2 * pi, 0], [2 * pi, 0]])
    lost = {
        "motor": -50.0,
        "gearbox": 10.0,
        "slot": 30.0,
        "head shaft": 5.0,
        "rails": 20.0,
        "tray jams": 15.0,
    }
    made = Run(
        candidate, *JAM, conns, ("motor",), ("rad",), TIMES, np.zeros((n, 1)), np.zeros((n, 1)), t, mode,
        np.zeros_like(t), np.array([0, 0, 0, pi / 180, pi / 2]), hub[:, 0] - hub[:, 1], hub, (), peak,
        TIMES[np.abs(t).argmax(axis=0)], peak, np.array([lost.get(n, 0.0) for n in names]),
        {"trigger": 0.01, "lets_go": 0.01, "disconnect": nan},
        {"energy_start": 60.0, "energy_end": 20.0, "source_work": 54.0, "residual": 1e-3,
         "turned_over": 114.0, "relative": 1e-3 / 114.0}, {},
    )  # fmt: skip
    return replace(made, **changes)


def hand_answer(name: str = "disc", **changes: Any) -> Answer:
    run = run_of(name, "slips", JAM, 0)
    margins = (
        Margin("full start", "hold", True, 200.0, 306.0, 106.0, 53.0, ""),
        Margin("tray rubs", "carry", False, nan, 306.0, nan, nan, "fails even at 4 times the setting"),
        Margin("tray jams", "let go", True, nan, 306.0, nan, nan, ""),
    )
    return replace(answer(name, "slips", 0, run), use=0.7, margins=margins, **changes)


def hand_set(runs: dict[tuple[str, str], Run] | None = None, answers: Any = None, **changes: Any) -> ResultSet:
    runs = runs or {
        ("disc", "tray jams"): hand_run(),
        (BARE, "tray jams"): hand_run(BARE, (100, 100, 400, 800, 0)),
    }
    return replace(result_set(1), runs=runs, answers=(hand_answer(),) if answers is None else answers, **changes)
