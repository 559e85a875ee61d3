"""Synthetic result sets: plausible curves by closed formulas, not by the solver.

Numbers are invented; only their order of magnitude is that of a small conveyor.
"""

from __future__ import annotations

from dataclasses import replace
from math import nan, pi
from typing import Any

import numpy as np

from simcore.results.model import BARE, Answer, Connection, Event, Margin, ResultSet, Run

MODES = {
    "slips": (("stuck", "sliding"), ("engaged", "slipping")),
    "opens": (("seated", "falling", "out"), ("engaged", "yielding", "open")),
    "breaks": (("whole", "broken"), ("engaged", "broken")),
    "poles": (("in step", "past its peak", "slipping poles"), ("engaged", "yielding", "slipping")),
}
KINDS = ("slips", "opens", "breaks", "poles")
NAMES = (
    "friction disc", "ball detent", "shear pins", "magnet disc", "Überlastkupplung mit großer Tellerfeder",
    "disc at the gearbox, run in and warm", "pins", "second-hand detent from the old line, reset by hand",
)  # fmt: skip
SITUATIONS = (
    ("tray jams", "hard stop", "let go"), ("full start", "start", "hold"),
    ("heavy batch", "load step", "hold"), ("tray rubs, then clears", "partial jam", "carry"),
)  # fmt: skip


def connections(kind: str | None) -> tuple[Connection, ...]:
    def fixed(name: str, part: str, unit: str, allowable: float, role: str) -> Connection:
        return Connection(name, part, unit, allowable, "test", ("working",), ("engaged",), role)

    line = [
        fixed("motor", "torque-speed motor", "N m", nan, "drive"),
        fixed("gearbox", "gear", "N m", 800.0, "line"),
        fixed("head shaft", "flexible coupling", "N m", 600.0, "line"),
        fixed("tray chain", "belt or chain", "N", 9000.0, "line"),
        fixed("rails", "friction load", "N", nan, "load"),
        fixed("tray jams", "hard stop", "N", nan, "event"),
    ]
    if kind is not None:
        modes, classes = MODES[kind]
        line.insert(2, Connection("slot", kind, "N m", nan, "", modes, classes, "candidate"))
    return tuple(line)


def curve(kind: str | None, t: np.ndarray, shift: float = 0.0, setting: float = 340.0) -> np.ndarray:
    """Torque at the head shaft [N*m] over time from contact [s]."""
    rise = np.where(t > 0, 95 + (799 - 95) * np.sin(np.clip(t, 0, None) / 0.045 * pi / 2), 95.0)
    if kind is None:
        late = 290 + 510 * np.exp(-(t - 0.045) / 0.06) * np.cos((t - 0.045) / 0.019)
        return np.where(t < 0.045, rise, late)
    hit = trigger(kind, shift, setting)
    after = np.clip(t - hit, 0, None)
    if kind == "slips":
        late = setting + 42 * np.exp(-after / 0.04) * np.sin(after / 0.0024)
    elif kind == "poles":
        late = setting * np.cos(after * 2 * pi * 9) * np.exp(-after / 3)
    else:
        late = setting * np.exp(-after / 0.0015) + 60 * np.exp(-after / 0.02) * np.sin(after / 0.0024)
    return np.where(t < hit, rise, late)


def trigger(kind: str, shift: float = 0.0, setting: float = 340.0) -> float:
    return 0.045 * 2 / pi * float(np.arcsin((setting - 95) / (799 - 95))) + shift


def run_of(name: str, kind: str | None, situation: tuple[str, str, str], place: int, **k: Any) -> Run:
    horizon = k.get("horizon", 0.5)
    conns = connections(kind)
    t = np.union1d(np.linspace(-0.02, horizon, 4000), np.linspace(-0.001, 0.08, 4000))
    shift = 0.0004 * place
    setting = k.get("setting", 340.0)
    torque = np.zeros((len(t), len(conns)))
    names = [c.name for c in conns]
    shaft = curve(kind, t, shift, setting)
    for c, factor in (("gearbox", 1.08), ("slot", 1.0), ("head shaft", 1.0), ("tray chain", 9.5)):
        if c in names:
            torque[:, names.index(c)] = factor * shaft
    torque[:, names.index("tray jams")] = 7 * np.clip(shaft, 0, None) * (t > 0)
    mode = np.zeros(torque.shape, dtype=np.int64)
    hub = np.full((len(t), 2), 7.43)
    hub[:, 1] = np.where(t > 0, 7.43 * np.exp(-np.clip(t, 0, None) / 0.006), 7.43)
    twist, slip = np.full(len(t), nan), np.full(len(t), nan)
    measures = {"trigger": nan, "lets_go": nan, "disconnect": nan}
    if kind is not None:
        hit = trigger(kind, shift, setting)
        steps = len(MODES[kind][0])
        goes = kind in ("opens", "breaks")
        lets = hit + 0.001 * (steps - 2)
        measures = {"trigger": hit, "lets_go": lets, "disconnect": lets + 0.004 if goes else nan}
        for i in range(1, steps):
            mode[t >= hit + 0.001 * (i - 1), names.index("slot")] = i
        slope = {"slips": -0.5, "poles": -2.0, "opens": -0.2, "breaks": 0.05}[kind]
        hub[:, 0] = np.clip(np.where(t > hit, 7.43 + slope * 7.43 * (t - hit), 7.43), 0, None)
        slip = hub[:, 0] - hub[:, 1]
        twist = np.cumsum(slip * np.gradient(t)) + 0.01
    else:
        hub[:, 0] = hub[:, 1]
    peak = np.abs(torque).max(axis=0)
    heat = {"slips": 620.0, "poles": 95.0, "opens": 3.0, "breaks": 5.5}.get(kind or "", 0.0)
    lost = np.array(
        [{"motor": -(heat + 30.0), "gearbox": 4.0 + 0.05 * heat, "slot": heat, "head shaft": 6.0,
          "tray chain": 2.5, "rails": 12.0, "tray jams": 9.0}[n] for n in names]
    )  # fmt: skip
    kept = 20.0
    gone = float(lost[lost > 0].sum())
    events = () if kind is None else (Event(hit, "slot", MODES[kind][0][0], MODES[kind][0][1]),)
    return Run(
        name, situation[0], situation[1], situation[2], conns, ("motor", "trays"), ("rad", "m"), t,
        np.zeros((len(t), 2)), np.zeros((len(t), 2)), torque, mode, np.zeros_like(torque), twist, slip, hub,
        events, peak, t[np.abs(torque).argmax(axis=0)], peak, lost, measures,
        {"energy_start": 66.0, "energy_end": kept, "source_work": heat + 30.0, "residual": 1e-5,
         "turned_over": gone + kept + 1e-5, "relative": 1e-5 / (gone + kept)}, {"steps": 900},
    )  # fmt: skip


def answer(name: str, kind: str, place: int, run: Run, **k: Any) -> Answer:
    setting = k.get("setting", 340.0)
    hit = trigger(kind, 0.0004 * place, setting)
    goes = kind in ("opens", "breaks")
    lets = hit + 0.001 * (len(MODES[kind][0]) - 2)
    column = run.index("head shaft")
    margins = []
    for s, _, expect in SITUATIONS[1:]:
        asks = {"full start": 248.0, "heavy batch": 131.0}.get(s, 305.0 if kind == "poles" else 330.0)
        asks *= setting / 340.0 if k.get("to_protected", 1.0) != 1.0 else 1.0
        low = 0.95 * setting
        margins.append(Margin(s, expect, low >= asks, asks, low, low - asks, 100 * (low - asks) / asks, ""))
    ok = all(m.met for m in margins)
    return Answer(
        name, kind, "slot", setting, 0.05 if kind != "slips" else 0.1, setting, k.get("to_protected", 1.0),
        "tray jams", hit, lets, lets + 0.004 if goes else nan, nan,
        "disconnects" if goes else "slips, does not disconnect", float(run.peak[column]),
        float(run.peak_time[column]), float(run.peak[column]) / 600.0 * 1.05, "head shaft",
        float(run.peak[column]) - setting, 5.0, 30.0, "disconnect", 10.0, 12.0, 150.0, 0.4, nan, "",
        tuple(margins), ok, (), "nothing", 0.0, place + 1,
    )  # fmt: skip


def result_set(n: int = 4, names: tuple[str, ...] = NAMES, title: str = "Bakery tray conveyor", **k: Any) -> ResultSet:
    runs: dict[tuple[str, str], Run] = {}
    answers = []
    for i in range(n):
        kind = KINDS[i % 4]
        for s in SITUATIONS:
            runs[names[i], s[0]] = run_of(names[i], kind, s, i, **k)
        answers.append(answer(names[i], kind, i, runs[names[i], "tray jams"], **k))
    for s in SITUATIONS:
        runs[BARE, s[0]] = run_of(BARE, None, s, 0, **k)
    return ResultSet(
        title, "head shaft", k.get("unit", "N*m"), k.get("allowable", 600.0), runs, tuple(answers),
        "3 of 4 protect the head shaft.", (), (), (), {}, {}, {"simcore": "0.1.0"}, "",
    )  # fmt: skip


MANY_NAMES = (
    "friction disc", "ball detent", "shear pins", "magnet disc", "pawl", "roller detent", "leaf spring catch",
    "oil-filled coupling", "slip clutch", "tooth clutch", "wedge catch", "belt that slips", "torque relay",
    "current watch", "brake and clutch", "notched pin", "tearing ring", "hysteresis disc", "powder clutch", "sprags",
)  # fmt: skip


def many_set(n: int, names: tuple[str, ...] = MANY_NAMES, **k: Any) -> ResultSet:
    """``n`` candidates with settings and verdicts of their own; ranks: those that pass first, by their peak."""
    whole = result_set(n, names, **k)
    runs, answers = dict(whole.runs), []
    for i, a in enumerate(whole.answers):
        setting = 272.0 + 17.0 * i if i % 3 != 2 else 640.0 - 7.0 * i
        for s in SITUATIONS:
            runs[a.name, s[0]] = run_of(a.name, KINDS[i % 4], s, i, setting=setting)
        crash = runs[a.name, "tray jams"]
        use = 1.05 * float(crash.peak[crash.index("head shaft")]) / 600.0
        answers.append(replace(a, setting=setting, peak=use * 600.0 / 1.05, use=use, passed=use < 1.0 and i % 5 != 1))
    order = sorted(answers, key=lambda a: (not a.passed, a.peak))
    ranked = tuple(replace(a, rank=1 + order.index(a)) for a in answers)
    return replace(whole, runs=runs, answers=ranked)
