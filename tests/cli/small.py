"""A small made-up result: two candidates and the bare line in a crash and a start (a sawmill's saddle)."""

from __future__ import annotations

from dataclasses import replace
from math import nan

import numpy as np

from simcore.results.model import (
    BARE,
    Answer,
    Connection,
    Default,
    Event,
    HandBound,
    Margin,
    ResultSet,
    Run,
)  # fmt: skip


def run(candidate: str, situation: str, peak: float) -> Run:
    shaft = Connection("shaft", "shaft", "N m", 500.0, "key", ("working",), ("engaged",), "line")
    two, one = np.zeros((2, 1)), np.zeros(2)
    return Run(
        candidate, situation, "hard stop", "let go" if situation == "jam" else "hold", (shaft,), ("saddle",), ("rad",),
        np.array([0.0, 1.0]), two, two, two, two.astype(np.int64), two, one, one, np.zeros((2, 2)),
        (Event(0.0, "jam", "clear", "touching"),), np.array([peak]), np.array([0.01]), np.array([peak]),
        np.array([0.0]), {"peak": peak}, {"relative": 1e-9}, {"steps": 7, "rejected": 1, "evaluations": 50,
                                                                "switches": 1},
    )  # fmt: skip


def answer(name: str, rank: int, passed: bool) -> Answer:
    margins = (Margin("jam", "let go", True, nan, 270.0, nan, nan, ""),
               Margin("start", "hold", passed, 200.0, 270.0, 70.0, 35.0 if passed else -12.5, ""))  # fmt: skip
    return Answer(
        name, name, "slot", 300.0, 0.1, 300.0, 1.0, "jam", 0.0101, 0.0123456, nan if passed else 0.013, nan,
        "slips, does not disconnect" if passed else "disconnects", 345.678, 0.012, 0.75, "shaft", 45.0, 1.0, 2.0,
        "disconnect", 10.0, 0.2, 150.0, 0.1, 0.0, "", margins, passed, () if passed else ("trips in 'start'",),
        "clear the jam" if passed else "new pins", 0.0 if passed else 900.0, rank,
    )  # fmt: skip


def result(**changes: object) -> ResultSet:
    names = ("disc", "pins", BARE)
    whole = ResultSet(
        "Saw saddle", "shaft", "N*m", 500.0,
        {(c, s): run(c, s, 812.3 if c == BARE else 345.678) for c in names for s in ("jam", "start")},
        (answer("pins", 2, False), answer("disc", 1, True)), "Fit the disc: it lets go in the crash.",
        ("One.", "Two.", "Three.", "Four."), (Default("line.saddle.mass", "3 kg", "1 kg to 9 kg", "memory", 0.0214),),
        (HandBound("jam", "crash, bare line", 850.0, 990.0, 812.3),), {"saddle": 2.5, "motor": 0.123},
        {"worst ledger residual": 2e-9, "tighter run moves the peak by": 3e-7, "lowest mode": 50.0,
         "damping halved moves the peak by": 0.0123, "damping doubled moves the peak by": -0.02},
        {"resolved": {"a": 1.0, "b": 2.0}, "relative_tolerance": 1e-6, "wall_time": 0.5}, "",
    )  # fmt: skip
    return replace(whole, **changes)  # type: ignore[arg-type]
