"""Numbers and words of a part's own chart: its curves in printed units, shades of modes, levels, data sheet."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import isfinite, pi
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.character import Character, Curve
from simcore.charts.base import SPACE, Frame, number, percent
from simcore.charts.motion_data import CLASSES, RPM, Span
from simcore.results.model import Floats
from simcore.units import plain, show, typeset

TINY: Final = 0.1 * pi / 180.0
"""Twist [rad] up to which the axis is in milliradians."""
JUMP: Final = 0.01
"""Share of the chart's height from which a step is drawn as one."""
HELD: Final = {
    "twist": "cold, turned slowly",
    "slip speed": "cold, each slip speed held until it settles",
    "current": "cold, slipping steadily",
}
LINE_ONLY: Final = ("damping", "damping at large twists")
"""Values of a sheet that belong to a line, not to the part."""
STATED: Final = ("setting", "capacity", "rated torque")
"""Torques that are drawn wherever the curves go."""
HIGHEST: Final = 1.2
"""Torques up to so many times the highest one of the curves are drawn."""
MET: Final = (0.985, 1.015)
"""Band over a torque within which a curve comes to it."""
SAME: Final = 1e-3
"""Torques closer than this share are one line."""
BIG: Final = 9999.5
"""Torque [N*m] from which the axis is in kN*m."""


class Trace(NamedTuple):
    """A curve in pieces between its jumps; ``steps``: x, and y before and after each jump."""

    name: str
    place: int
    pieces: tuple[tuple[Floats, Floats], ...]
    steps: tuple[tuple[float, float, float], ...]
    returns: bool


class Level(NamedTuple):
    """A torque of the data sheet; ``low`` and ``high`` are its tolerance band (equal: none)."""

    name: str
    value: float
    low: float
    high: float
    text: str


class CharacterData(NamedTuple):
    """What the chart draws, in the units of its axes."""

    frame: Frame
    x_label: str
    y_label: str
    log: bool
    traces: tuple[Trace, ...]
    spans: tuple[Span, ...]
    levels: tuple[Level, ...]
    sheet: tuple[tuple[str, str], ...]
    x_range: tuple[float, float]
    y_range: tuple[float, float]

    @property
    def classes(self) -> tuple[str, ...]:
        return tuple(c for c in CLASSES if any(s.klass == c for s in self.spans))


def character_data(c: Character, version: str) -> CharacterData:
    """The chart of ``c``; ``version`` is that of the program, for the corner."""
    x_label, fx = _across(c)
    most = max(float(np.abs(u.y).max()) for u in c.curves)
    unit, fy = ("kN*m", 1e-3) if most >= BIG else ("N*m", 1.0)
    levels = _levels(c, unit, fy)
    log = c.along == "slip speed"
    y_range = _high(c, levels, fy)
    jump = JUMP * (y_range[1] - y_range[0])
    return CharacterData(
        _frame(c, version),
        x_label,
        f"torque ({typeset(unit)})",
        log,
        tuple(_trace(u, i, fx, fy, jump) for i, u in enumerate(c.curves)),
        () if len(c.curves) > 1 else _spans(c.curves[0], fx),
        levels,
        tuple((name, _shown(v, kind)) for name, (v, kind) in c.sheet.items() if name not in LINE_ONLY),
        _wide(c, fx, log),
        y_range,
    )


def _across(c: Character) -> tuple[str, float]:
    """Label of the axis and its unit over SI."""
    if c.along == "slip speed":
        return "slip speed (rpm)", RPM
    if c.along == "current":
        return "coil current (A)", 1.0
    most = max(float(np.abs(u.x).max()) for u in c.curves)
    return ("twist (mrad)", 1e3) if most < TINY else ("twist (°)", 180.0 / pi)


def _trace(u: Curve, place: int, fx: float, fy: float, jump: float) -> Trace:
    x, y = fx * u.x, fy * u.y
    steep = [i for i in u.jumps if abs(y[i] - y[i - 1]) > jump]
    edges = [0, *steep, len(x)]
    pieces = tuple((x[a:b], y[a:b]) for a, b in pairwise(edges))
    return Trace(u.name, place, pieces, tuple((float(x[i]), float(y[i - 1]), float(y[i])) for i in steep), u.returns)


def _spans(u: Curve, fx: float) -> tuple[Span, ...]:
    """Stretches of one class along the last leg of the way, and along the one before where the last does not come."""
    x, klass = fx * u.x, u.klass
    moved = np.flatnonzero(np.diff(x) != 0.0)
    turned = np.flatnonzero(np.diff(np.sign(np.diff(x)[moved])))
    starts = [0, *(int(moved[t + 1]) for t in turned)]
    last = _leg(x[starts[-1] :], klass[starts[-1] :])
    if len(starts) == 1:
        return last
    low, high = min(s.start for s in last), max(s.stop for s in last)
    before = _leg(x[starts[-2] : starts[-1] + 1], klass[starts[-2] : starts[-1] + 1])
    cut = [Span(s.start, min(s.stop, low), s.klass) for s in before]
    cut += [Span(max(s.start, high), s.stop, s.klass) for s in before]
    return (*last, *(s for s in cut if s.stop > s.start))


def _leg(x: Floats, klass: NDArray[np.int64]) -> tuple[Span, ...]:
    """Stretches of one class along a way without turning."""
    cuts = np.flatnonzero(np.diff(klass)) + 1
    ends = [(float(x[a]), float(x[min(b, len(x) - 1)]), a) for a, b in pairwise([0, *cuts.tolist(), len(x)])]
    out = [Span(min(p, q), max(p, q), CLASSES[klass[a]]) for p, q, a in ends]
    return tuple(s for s in out if s.stop > s.start)


def _levels(c: Character, unit: str, fy: float) -> tuple[Level, ...]:
    """The setting with its band, then further torques of the sheet that the curves come to."""
    top = max(float(np.abs(u.y).max()) for u in c.curves)
    marks = _marks(c)
    out: list[Level] = []
    for name, (v, kind) in sorted(c.sheet.items(), key=lambda item: item[0] not in STATED):
        if kind != "torque" or not 0.0 < v <= HIGHEST * top or any(abs(v - abs(o.value / fy)) < SAME * v for o in out):
            continue
        sense = _sense(c) if name in STATED or v >= MET[1] * top else _side(v, marks)
        if sense == 0.0:
            continue
        band = c.tolerance if name == "setting" and isfinite(c.tolerance) else 0.0
        told = f" ±{percent(band)}" if band > 0.0 else ""
        text = f"{name} {plain(fy * v)}{SPACE}{typeset(unit)}{told}"
        ends = sorted((sense * fy * v * (1.0 - band), sense * fy * v * (1.0 + band)))
        out.append(Level(name, sense * fy * v, ends[0], ends[1], text))
    return tuple(out)


def _marks(c: Character) -> Floats:
    """Torques at the ends, the jumps and the level stretches of the curves."""
    out = []
    for u in c.curves:
        steep = np.array(u.jumps, dtype=int)
        still = np.flatnonzero(np.diff(u.y) == 0.0)
        out.append(u.y[np.concatenate([[0, len(u.y) - 1], steep, steep - 1, still])])
    return np.concatenate(out)


def _side(v: float, marks: Floats) -> float:
    """Sign with which the curves come to a torque; 0: they do not."""
    for sense in (1.0, -1.0):
        if np.any((marks > sense * v * MET[0 if sense > 0 else 1]) & (marks < sense * v * MET[1 if sense > 0 else 0])):
            return sense
    return 0.0


def _sense(c: Character) -> float:
    """-1 for a part that carries backward only."""
    low, high = min(float(u.y.min()) for u in c.curves), max(float(u.y.max()) for u in c.curves)
    return -1.0 if high < 0.1 * -low else 1.0


def _high(c: Character, levels: Sequence[Level], fy: float) -> tuple[float, float]:
    drawn = [0.0, *(v.high for v in levels), *(fy * float(f(u.y)) for u in c.curves for f in (np.min, np.max))]
    low, high = min(drawn), max(drawn)
    room = 0.06 * (high - low) or 1.0
    return low - (room if low < -0.01 * high else 0.2 * room if low < 0.0 else 0.0), high + 1.8 * room


def _wide(c: Character, fx: float, log: bool) -> tuple[float, float]:
    low, high = (fx * f(float(f(u.x)) for u in c.curves) for f in (min, max))
    if log or low == 0.0:
        return low, high
    room = 0.03 * (high - low)
    return low - room, high + room


def _frame(c: Character, version: str) -> Frame:
    kind = c.part.kind
    inputs = typeset(c.inputs).replace(" °", "°")
    goes = f" – lets go when {kind.lets_go}" if kind.lets_go else ""
    parts = [HELD[c.along], f"simcore {version}"]
    setting = next((f"setting {_shown(*v)}" for n, v in c.sheet.items() if n == "setting"), "")
    if setting and isfinite(c.tolerance):
        setting += f" ±{percent(c.tolerance)}"
    title = f"{kind.name}: {kind.summary}"
    corner = f"{SPACE}{SPACE}| {SPACE}".join(p.replace(" ", SPACE) for p in [setting, *parts] if p)
    return Frame(title[:1].upper() + title[1:], f"drawn for {inputs}{goes}", corner)


def _shown(si: float, kind: str) -> str:
    """A value with a fitting unit, as charts print it."""
    if kind in ("ratio", "count"):
        return number(si)
    text = typeset(show(si, kind)).replace("-", "−").replace(" °", "°")
    return text.replace(" ", SPACE)
