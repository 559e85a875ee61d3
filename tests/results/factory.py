"""A made-up result of a made-up line (a laundry's drum loader), as small or as large as wanted."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from math import isnan, nan
from typing import Any

import numpy as np

from simcore.results.model import (
    BARE,
    Answer,
    Connection,
    Default,
    Event,
    HandBound,
    Margin,
    OwnState,
    ResultSet,
    Run,
)

CANDIDATES = ("friction disc", "Kugelrast, groß", "pins 2/3", 'magnet\'s "best"')
SITUATIONS = ("laundry jams", "Anlauf voll", "a/b then c", "100 % load.")
LINE = ("motor", "gearbox", "head shaft", "drum", "hoist rope", "trolley")

SCENARIO = """\
title = "Laundry drum loader"
protect = "head shaft"

[[line]]
name = "motor"
part = "constant torque motor"
torque = "12 N*m"

[[line]]
name = "gearbox"
part = "gear"
ratio = 20

[candidates."friction disc"]
setting = "340 N*m"
tolerance = 0.1

[situations."laundry jams"]
event = "hard stop"
stiffness = "2 MN/m"
"""


def scenario(**changes: str) -> str:
    """The text above with words replaced, ``scenario(ratio="25")``."""
    out = []
    for line in SCENARIO.splitlines():
        key = line.split(" = ")[0]
        out.append(f"{key} = {changes[key]}" if key in changes else line)
    return "\n".join(out)


def connections(candidate: str) -> tuple[Connection, ...]:
    out = [
        Connection(n, "shaft", "N" if n in ("hoist rope", "trolley") else "N m", 600.0 if i == 2 else nan,
                   "key at the drum" if i == 2 else "", ("tight", "parted"), ("engaged", "open"), "line")
        for i, n in enumerate(LINE)
    ]  # fmt: skip
    if candidate != BARE:
        modes = ("stuck", "slides forward", "slides back")
        classes = ("engaged", "slipping", "slipping")
        out.append(Connection(candidate, "some part", "N m", nan, "", modes, classes, "candidate"))
    modes, classes = ("clear", "touching"), ("open", "engaged")
    out.append(Connection("stop", "hard stop", "N", nan, "", modes, classes, "event"))
    return tuple(out)


def run(candidate: str, situation: str, rows: int = 60, seed: int = 1) -> Run:
    """A run of smooth made-up curves with a repeated instant; the bare line has no protection."""
    rng = np.random.default_rng(seed)
    c = connections(candidate)
    m, k = len(c), 5
    time = np.linspace(-0.01, 0.5, rows)
    time[rows // 2] = time[rows // 2 - 1]

    def curve(n: int) -> Any:
        shape = np.exp(-20.0 * (time[:, None] + 0.01)) * np.sin(rng.uniform(200.0, 900.0, n) * time[:, None])
        return rng.uniform(50.0, 700.0, n) * (1.0 + shape)

    torque = curve(m)
    bare = candidate == BARE
    nothing = np.full(rows, nan)
    names = ("trigger", "lets_go", "disconnect", "heat", "rise", "impulse", "slip_angle")
    measures = {
        "peak": float(torque[:, 2].max()), "peak_time": 0.0123,
        **{n: nan if bare or n == "rise" else float(rng.uniform()) for n in names},
        "time_to_limit": np.inf, "burns_at": nan, "ledger": -3e-9, "end": 0.5,
    }  # fmt: skip
    return Run(
        candidate, situation, "hard stop", "let go", c, ("motor", "gearbox", "head shaft", "drum", "trolley"),
        ("rad", "rad", "rad", "rad", "m"), time, curve(k).cumsum(axis=0), curve(k), torque,
        (rng.uniform(size=(rows, m)) > 0.9).astype(np.int64), np.abs(curve(m)).cumsum(axis=0),
        nothing if bare else curve(1)[:, 0], nothing if bare else curve(1)[:, 0], curve(2),
        (Event(0.0, "stop", "clear", "touching"), Event(0.0115, candidate, "stuck", "slides forward"))
        if not bare else (),
        np.abs(torque).max(axis=0), time[np.abs(torque).argmax(axis=0)], np.abs(torque).max(axis=0) * 0.9,
        rng.uniform(0.0, 9.0, m), measures,
        {"energy_start": 81.5, "energy_end": 3.25, "residual": 1e-7, "relative": 1e-9},
        {"steps": 1200 + seed, "switches": 7}, {} if bare else {**measures, "peak": 500.5},
        {} if bare else {**measures, "failed": 4.0},
        () if bare else (OwnState("drum rise", "K", curve(1)[:, 0]), OwnState("life used", "1", curve(1)[:, 0])),
    )  # fmt: skip


def answer(name: str, rank: int) -> Answer:
    margins = (
        Margin("laundry jams", "let go", True, nan, 306.0, nan, nan, ""),
        Margin("Anlauf voll", "hold", rank != 2, 214.5, 306.0, 91.5, 42.6, "not monotone"),
    )
    return Answer(
        name, "some part", "behind the gearbox", 340.0, 0.1, 391.0, 1.0, "laundry jams",
        0.0115, 0.0116, nan, nan, "slips, does not disconnect", 394.9 + rank, 0.0117,
        0.7187, "head shaft", 54.9, 49.9, -2.99, "motor side stands", 209.95,
        0.3 if rank == 1 else nan, 150.0, 0.615, 0.0, "pole slips",
        margins,
        rank != 2, () if rank != 2 else ("trips on 'Anlauf voll'", "too hot"), "clear the jam", 0.0, rank,
        phase_kept="no",
    )  # fmt: skip


def result(rows: int = 60, text: str = SCENARIO) -> ResultSet:
    """Four candidates and the bare line in four situations."""
    keys = [(c, s) for c in (*CANDIDATES, BARE) for s in SITUATIONS]
    return ResultSet(
        "Laundry drum loader", "head shaft", "N*m", 600.0,
        {(c, s): run(c, s, rows, i) for i, (c, s) in enumerate(keys)},
        tuple(answer(c, i + 1) for i, c in enumerate(CANDIDATES)), "Fit the friction disc.",
        ("No brake is stated.", "Heat of the disc: rough."),
        (Default('line["gearbox"].efficiency', "95 %", "90 % to 98 %", "common practice", nan),
         Default('line["gearbox"].lash', "0.1 deg", "", "common practice", 0.012)),
        (HandBound("laundry jams", "crash, bare line", 2100.0, 2400.0, 2050.0),),
        {"motor": 1.36, "slot": 0.012}, {"lowest mode": 350.0, "worst ledger residual": 4e-8},
        {"simcore": "0.1.0", "python": "3.11", "numpy": "2.1", "relative_tolerance": 1e-6, "wall_time": 1.5,
         "created": "2025-01-01T00:00:00+00:00", "changes": {'line["gearbox"].ratio': "20"},
         "resolved": {'line["gearbox"].ratio': 20.0, 'line["gearbox"].lash': nan,
                      'candidates["friction disc"].setting': 340.0}},
        text,
    )  # fmt: skip


SINGLE = ("torque", "speed", "heat", "slip", "hub_speed", "values")
"""Traces stored in single precision."""
LEAST = 1e-37
"""Below this single precision has fewer digits."""


def differences(x: Any, y: Any, path: str = "") -> list[str]:
    """Paths at which two results differ; traces in single precision may differ by half its last digit."""
    if is_dataclass(x):
        names = [f.name for f in fields(x)]
        return [d for n in names for d in differences(getattr(x, n), getattr(y, n), f"{path}.{n}")]
    if isinstance(x, np.ndarray):
        single = path.rsplit(".", 1)[-1] in SINGLE
        alike = x.dtype == y.dtype and x.shape == y.shape
        return [] if alike and np.allclose(x, y, 6e-8 * single, LEAST * single, equal_nan=True) else [path]
    if hasattr(x, "keys"):
        if list(x) != list(y):
            return [f"{path}: keys"]
        return [d for k in x for d in differences(x[k], y[k], f"{path}[{k}]")]
    if isinstance(x, tuple):
        if type(x) is not type(y) or len(x) != len(y):
            return [f"{path}: length or kind"]
        pairs = enumerate(zip(x, y, strict=True))
        return [d for i, (p, q) in pairs for d in differences(p, q, f"{path}[{i}]")]
    if isinstance(x, float) and isinstance(y, float):
        return [] if x == y or (isnan(x) and isnan(y)) else [path]
    return [] if type(x) is type(y) and x == y else [path]
