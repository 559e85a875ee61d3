"""A part's own character: its torque as it is turned slowly, from the same functions that the solver runs.

A bench holds hub b and leads hub a; states, guards and switches follow as in the kernel, by small explicit steps.
Temperatures stay as they begin: the curves are those of a cold part.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import inf, isfinite, nan, pi
from typing import Final

import numpy as np
from numpy.typing import NDArray

from simcore.contract import CLOCK, ENGAGED, N_MEMORY, N_ROW, SLIPPING, Part, Q

Floats = NDArray[np.float64]

CREEP: Final = 1e-3
"""Speed [rad/s] of slow turning."""
STEPS: Final = 240
"""Steps of slow turning over the twist at the setting."""
COARSE: Final = 20
"""Steps over the twist at the setting until a steady slip speed has settled."""
FARTHEST: Final = 60.0
"""Slow turning ends after so many twists at the setting."""
LOWEST, HIGHEST = 0.03, 100.0
"""Range of slip speeds over the speed at which the law bends."""
PASSES: Final = 32
EXAMPLE: Final = 150.0
"""Setting [N*m] a protection is drawn for if none is given."""


@dataclass(frozen=True, slots=True)
class Curve:
    """A line of a part's chart: ``x`` and ``y`` in SI, and the class of the mode at every point."""

    name: str
    x: Floats
    y: Floats
    klass: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Character:
    """The chart's numbers: curves, what lies along x ('twist', 'slip speed', 'current'), and data-sheet values."""

    part: Part
    along: str
    x_kind: str
    curves: tuple[Curve, ...]
    sheet: dict[str, tuple[float, str]]
    inputs: str


@dataclass(slots=True)
class Bench:
    """One part with hub b held and hub a led; hub a of a part with one hub."""

    part: Part
    row: tuple[float, ...]
    tab: Sequence[float] = (0.0,)
    mode: int = 0
    t: float = 0.0
    phi: float = 0.0
    nu: float = 0.0
    x: list[float] = field(default_factory=list)
    mem: list[float] = field(default_factory=lambda: [0.0] * N_MEMORY)

    def __post_init__(self) -> None:
        p = self.part
        self.x = [0.0] * len(p.kind.states)
        if p.has("start_state"):
            self.x = list(p.call("start_state", self.row, 1.0, self.tab))
        self.mode = int(p.call("start_mode", self.row, 1.0)) if p.has("start_mode") else 0

    def seen(self) -> Q:
        return Q(self.mode, self.t, self.phi, self.nu, self.phi, self.nu, 0.0, 0.0, self.x, self.mem,
                 (1.0, 0.0, 0.0), self.row, self.tab)  # fmt: skip

    @property
    def torque(self) -> float:
        return float(self.part.call("torque", self.seen()))

    @property
    def klass(self) -> int:
        return self.part.kind.modes[self.mode].klass

    def advance(self, dt: float) -> None:
        """Turn on at the present speed for ``dt`` [s]; temperatures do not move."""
        if self.part.has("rate"):
            q = self.seen()
            slopes = self.part.call("rate", q, self.part.call("torque", q))
            for i, s in enumerate(self.part.kind.states):
                if s.unit != "K":
                    self.x[i] += dt * slopes[i]
        self.t += dt
        self.phi += dt * self.nu
        self.settle()

    def settle(self) -> None:
        """Follow the switches due now, one after the other."""
        p = self.part
        for _ in range(PASSES):
            q = self.seen()
            T = self.torque
            due = self._due(q, T)
            if due is None:
                return
            new, _heat = p.call("switch", due, q, T, self.x, self.mem, [0.0, 0.0])
            self.mode = int(new)

    def _due(self, q: Q, T: float) -> int | None:
        p = self.part
        if p.has("clock") and p.call("clock", q) <= self.t:
            return CLOCK
        if not p.has("guards"):
            return None
        return next((i for i, g in enumerate(p.call("guards", q, T)) if g < 0.0), None)


def character(part: Part, raw: dict[str, float], lists: dict[str, tuple[float, ...]], inputs: str = "") -> Character:
    """Curves of a part with the raw inputs ``raw`` (SI); raises ValueError for a part that has no character."""
    row, tab = _row(part, raw, lists)
    makers = {"twist": _by_twist, "loop": _loops, "slip speed": _by_speed, "current": _by_current}
    along = part.kind.character
    if along not in makers:
        raise ValueError(f"'{part.kind.name}' has no character of its own to draw")
    curves = tuple(makers[along](part, row, tab))
    sheet = dict(part.call("sheet", row)) if part.has("sheet") else {}
    kind = {"twist": "angle", "loop": "angle", "slip speed": "speed", "current": "current"}[along]
    return Character(part, "twist" if along == "loop" else along, kind, curves, sheet, inputs)


def _row(
    part: Part, raw: dict[str, float], lists: dict[str, tuple[float, ...]]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    tab = [0.0]
    placed = dict(raw)
    for name, values in lists.items():
        placed[name] = float(len(tab))
        tab += [float(len(values)), *values]
    own = tuple(float(v) for v in part.call("resolve", part.raw(placed), 2.0 * pi))
    return own + (0.0,) * (N_ROW - len(own)), tuple(tab)


def _trace(bench: Bench, path: Iterator[float], dphi: float) -> tuple[list[float], list[float], list[int]]:
    """Twist, torque and class of mode along a path of senses (+1, -1)."""
    x, y, k = [bench.phi], [bench.torque], [bench.klass]
    for sense in path:
        bench.nu = sense * CREEP
        before = bench.mode
        bench.advance(dphi / CREEP)
        if bench.mode != before:  # both limits at a jump
            x.append(bench.phi)
            y.append(nan)
            k.append(bench.klass)
        x.append(bench.phi)
        y.append(bench.torque)
        k.append(bench.klass)
    return x, y, k


def _scale(part: Part, row: tuple[float, ...]) -> float:
    """Twist at the setting, or at a torque that the part's sheet states [rad]."""
    k = float(part.call("hint", row)) if part.has("hint") else nan
    sheet = part.call("sheet", row) if part.has("sheet") else {}
    for name in ("setting", "capacity", "rated torque"):
        if name in sheet and k > 0.0:
            return float(sheet[name][0]) / k
    return 0.02


def _by_twist(part: Part, row: tuple[float, ...], tab: tuple[float, ...]) -> Iterator[Curve]:
    """Turned slowly forward until well past letting go; a part without letting go there and back."""
    bench = Bench(part, row, tab)
    unit = _scale(part, row)

    def forward() -> Iterator[float]:
        gone = inf
        while bench.phi < min(FARTHEST * unit, 1.6 * gone):
            yield 1.0
            if bench.klass >= SLIPPING and not isfinite(gone):
                gone = bench.phi

    def there_and_back() -> Iterator[float]:
        for sense, end in ((1.0, 1.2 * unit), (-1.0, -1.2 * unit), (1.0, 0.0)):
            while sense * bench.phi < sense * end - 1e-12:
                yield sense

    lets_go = max(m.klass for m in part.kind.modes) > ENGAGED
    x, y, k = _trace(bench, forward() if lets_go else there_and_back(), unit / STEPS)
    yield Curve("turned slowly", np.array(x), np.array(y), np.array(k))


def _loops(part: Part, row: tuple[float, ...], tab: tuple[float, ...]) -> Iterator[Curve]:
    """There and back at full width, and a smaller loop that begins on the way."""
    unit = _scale(part, row)
    for name, turns in (("full loop", (3.0, -3.0, 3.0)), ("inner loop", (3.0, 0.6, 1.6, 0.6, 3.0))):
        bench = Bench(part, row, tab)

        def path(bench: Bench = bench, turns: tuple[float, ...] = turns) -> Iterator[float]:
            for end in turns:
                sense = 1.0 if end * unit > bench.phi else -1.0
                while sense * bench.phi < sense * end * unit:
                    yield sense

        x, y, k = _trace(bench, path(), unit / STEPS)
        yield Curve(name, np.array(x), np.array(y), np.array(k))


def _by_speed(part: Part, row: tuple[float, ...], tab: tuple[float, ...]) -> Iterator[Curve]:
    """Torque once it has settled at each of many steady slip speeds."""
    bend = float(part.call("slip_scale", row)) if part.has("slip_scale") else 0.0
    speeds = np.geomspace(LOWEST, HIGHEST, 121) * (bend or 1.0)
    y, k = [], []
    for v in speeds:
        torque, klass = slipping_torque(part, row, tab, float(v))
        y.append(torque)
        k.append(klass)
    yield Curve("cold", speeds, np.array(y), np.array(k))


def slipping_torque(part: Part, row: tuple[float, ...], tab: tuple[float, ...], speed: float) -> tuple[float, int]:
    """Torque [N*m] and class of mode after turning at ``speed`` [rad/s] for two twists at the setting."""
    bench = Bench(part, row, tab)
    bench.nu = speed
    unit = _scale(part, row)
    for _ in range(2 * COARSE):
        bench.advance(unit / COARSE / speed)
    return bench.torque, bench.klass


def _by_current(part: Part, row: tuple[float, ...], tab: tuple[float, ...]) -> Iterator[Curve]:
    """Slip torque over the coil's current, from none to twice the rated one."""
    column = part.kind.column("rated_current")
    coil = next(i for i, s in enumerate(part.kind.states) if s.unit == "A")
    currents = np.linspace(0.0, 2.0 * row[column], 81)
    y, k = [], []
    for current in currents:
        bench = Bench(part, row, tab)
        bench.nu = 1.0
        for _ in range(2 * COARSE):
            bench.x[coil] = float(current)
            bench.advance(_scale(part, row) / COARSE)
        y.append(bench.torque)
        k.append(bench.klass)
    yield Curve("slipping, cold", currents, np.array(y), np.array(k))
