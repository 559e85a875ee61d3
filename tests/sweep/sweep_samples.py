"""Sweeps made from closed-form models: no run behind them, every answer reckoned by hand."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import Any

import numpy as np
from scipy.stats import norm

from simcore.sweep.result import SweepResult

SITUATIONS = ("basket jams", "full start", "wet load rubs")
EXPECTS = ("let go", "hold", "carry")
NAMES = (
    "friction disc",
    "roller detent",
    "shear pins, two",
    "magnet disc",
    "spring pawl",
    "tipping sprag on the drum",
    "ball detent",
    "wide disc with a rather long name",
)
SPEED, INERTIA, STIFFNESS = 6.0, 0.9, 3.0e3
"""rad/s, kg m^2, N m/rad: a laundry drum that meets a jam."""
MAKING = 0.05

TEXT = """
title = "Laundry drum"
[sweep]
[[sweep.factor]]
name = "setting"
paths = ['candidates[*].setting']
times = true
grid = { from = 0.8, to = 1.2, steps = 9 }
[[sweep.factor]]
name = "making of the setting"
paths = ['candidates[*].setting']
times = true
scatter = { normal = 1.0, sd = 0.05 }
[[sweep.factor]]
name = "jam stiffness"
path = 'situations["basket jams"].stiffness'
times = true
scatter = { lognormal = 1.0, sd_log = 0.7 }
[[sweep.factor]]
name = "wet load"
path = 'loads["linen"].mass'
times = true
scatter = { normal = 1.0, sd = 0.05 }
"""


def made(
    candidates: int = 1,
    draws: int = 1000,
    *,
    nominal: float = 190.0,
    steps: int = 9,
    allowable: float = 330.0,
    asks: tuple[float, float] = (150.0, 6.0),
    fails: float = 0.0,
    speeds: int = 1,
    seed: int = 3,
    **changes: Any,
) -> SweepResult:
    """Peak = S X + share of omega sqrt(k J); asks normal (mean, sd); disconnect in tens of milliseconds."""
    rng = np.random.default_rng(seed)
    x, k, wet = rng.normal(1.0, MAKING, draws), np.exp(0.7 * rng.normal(size=draws)), rng.normal(1.0, 0.05, draws)
    factors = np.linspace(0.8, 1.2, steps) if steps > 1 else np.ones(1)
    speed = np.linspace(0.8, 1.2, speeds)
    grids = {"setting": factors} if speeds == 1 else {"setting": factors, "running speed": speed}
    shape = (candidates, steps, speeds, draws, len(SITUATIONS))
    use, peak, met, disconnect = (np.full(shape, np.nan) for _ in range(4))
    asked = np.full((candidates, draws, len(SITUATIONS)), np.nan)
    setting = np.zeros((candidates, steps, speeds))
    for c in range(candidates):
        settings = nominal * (1.0 + 0.02 * c) * factors
        setting[c] = settings[:, None]
        impact = (0.15 + 0.04 * c) * SPEED * np.sqrt(STIFFNESS * k * INERTIA)
        actual = settings[:, None] * x
        peak[c, ..., 0] = actual[:, None] + speed[None, :, None] * impact
        use[c, ..., 0] = peak[c, ..., 0] / allowable
        asked[c, :, 1] = asks[0] + asks[1] * (wet - 1.0) / 0.05
        asked[c, :, 2] = 0.8 * asked[c, :, 1]
        for s in (1, 2):
            met[c, ..., s] = (actual >= asked[c, :, s])[:, None]
            peak[c, ..., s] = asked[c, :, s]
            use[c, ..., s] = peak[c, ..., s] / allowable
        met[c, ..., 0] = use[c, ..., 0] <= 1.0
        disconnect[c, ..., 0] = 0.012 * (1.0 + 0.4 * c) * k**-0.5 * (actual / nominal)[:, None]
        if c % 4 == 0 and c:
            disconnect[c, ..., 0] = np.nan
    status = np.where(rng.random(shape) < fails, 5, 0)
    for values in (use, peak, met, disconnect):
        values[status > 1] = np.nan
    shapes = {n: v.reshape(*_flat(shape, speeds)) for n, v in
              {"use": use, "peak": peak, "met": met, "disconnect": disconnect}.items()}  # fmt: skip
    result = SweepResult(
        title="Laundry drum, basket jams in the door", unit="N*m", scenario_text=TEXT, candidates=NAMES[:candidates],
        situations=SITUATIONS, expects=EXPECTS, grids=grids, grid_kinds=dict.fromkeys(grids, "ratio"),
        samples={"making of the setting": x, "jam stiffness": k, "wet load": wet},
        sample_kinds=dict.fromkeys(("making of the setting", "jam stiffness", "wet load"), "ratio"),
        setting=setting[:, :, 0] if speeds == 1 else setting, tolerance=dict.fromkeys(NAMES[:candidates], 0.1),
        allowable=allowable, protect="gearbox shaft", measures=shapes, asks=asked,
        status=status.reshape(*_flat(shape, speeds)), damage_target=0.02, nuisance_target=0.001, seed=seed,
        design="random", provenance={"simcore": "0.1.0"},
    )  # fmt: skip
    return replace(result, **changes)


def _flat(shape: tuple[int, ...], speeds: int) -> tuple[int, ...]:
    return shape if speeds > 1 else (shape[0], shape[1], *shape[3:])


def limited(candidates: int, draws: int, **changes: Any) -> SweepResult:
    """The same with two limits: the belt sees 1.1 times as much of what it bears as the protected shaft."""
    result = made(candidates, draws, **changes)
    use = result.measures["use"]
    more = {"use at gearbox shaft": use, "use at belt": 1.1 * use}
    return replace(result, measures={**result.measures, **more}, limits={"gearbox shaft": "330 N*m", "belt": "4 kN"})


def linear(draws: int, allowable: float, sd_log: float = 0.7) -> tuple[SweepResult, float]:
    """One setting only; peak = omega sqrt(k J) with lognormal k, and the exact share above the allowable."""
    result = made(1, draws, steps=1)
    peak = SPEED * np.sqrt(STIFFNESS * INERTIA * np.exp(sd_log * np.random.default_rng(11).normal(size=draws)))
    measures = dict(result.measures)
    for name, values in (("peak", peak), ("use", peak / allowable)):
        measures[name] = measures[name].copy()
        measures[name][0, 0, :, 0] = values
    middle = SPEED * sqrt(STIFFNESS * INERTIA)
    exact = float(norm.sf(2.0 * np.log(allowable / middle) / sd_log))
    return replace(result, measures=measures, allowable=allowable), exact


def paired(base: int, seed: int = 5) -> SweepResult:
    """A paired design: use = 0.5 + 0.3 u1 + 0.1 u2, of three uniform factors."""
    rng = np.random.default_rng(seed)
    a, b = rng.random((base, 3)), rng.random((base, 3))
    rows = np.stack([a, b, *(np.where(np.arange(3) == i, b, a) for i in range(3))], axis=1).reshape(-1, 3)
    result = made(1, len(rows), steps=1)
    names = list(result.samples)
    samples = {n: rows[:, i] for i, n in enumerate(names)}
    measures = dict(result.measures)
    measures["use"] = measures["use"].copy()
    measures["use"][0, 0, :, 0] = 0.5 + 0.3 * rows[:, 1] + 0.1 * rows[:, 2]
    asks = result.asks.copy()
    asks[0, :, 1] = 140.0 + 20.0 * rows[:, 2]
    asks[0, :, 2] = 100.0
    return replace(result, samples=samples, measures=measures, asks=asks, design="paired")
