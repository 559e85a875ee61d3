"""A part's own character: its torque as it is turned slowly, from the same functions that the solver runs.

A bench holds hub b and leads hub a; states, guards and switches follow as in the kernel, switches located to a
billionth of a step.  Only angles move: temperatures, currents, pressures, wear and time stay as they begin.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf, isfinite, nan, pi
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.contract import CLOCK, ENGAGED, N_MEMORY, N_READ, N_ROW, OPEN, SLIPPING, Part, Q

Floats = NDArray[np.float64]

CREEP: Final = 1e-3
"""Speed [rad/s] of slow turning."""
STIFF_LINE: Final = 1e9
"""Slowest mode [rad/s] of the line that relative damping refers to: so stiff that dampers carry nothing."""
STEPS: Final = 240
"""Steps over the twist at the setting, or over the way turned so far if that is more."""
LOCATED: Final = 1e-9
"""Share of a step to which a switch is located."""
COLD: Final = ("K", "J")
"""Units of states that switches may raise by the heat they set free."""
PASSES: Final = 32
FARTHEST: Final = 2.0 * pi
"""A part that has not let go by then [rad] does not."""
AHEAD: Final = 10.0
"""How far past letting go a next pocket is looked for, over the twist where it lets go."""
BEYOND: Final = {SLIPPING: 2.2}
"""How far the curve goes on, over the twist where it lets go: a pole pitch and a bit where it slips poles."""
SHORT_BEYOND: Final = 1.6
PAST_RATED: Final = 1.2
PLAIN_TWIST: Final = 0.02
"""Twist [rad] for parts that state none, and for those that always slip."""
LOWEST, HIGHEST = 0.03, 100.0
"""Range of slip speeds over the speed at which the law bends."""
FAST: Final = 314.0
"""Slip speed [rad/s], 3000 rpm, past which a curve goes on only to ten times the speed at which the law bends."""
SETTLES: Final = 5.0
"""Twists at the setting until a steady slip speed has settled."""


@dataclass(frozen=True, slots=True)
class Curve:
    """A line of a part's chart: ``x``, ``y`` in SI and the class of the mode at every point.

    ``jumps`` are the places of points that stand at the same ``x`` as the one before, after a switch.
    """

    name: str
    x: Floats
    y: Floats
    klass: NDArray[np.int64]
    jumps: tuple[int, ...] = ()
    returns: bool = False
    """Whether the curve runs back and forth, so that its direction must be told."""


@dataclass(frozen=True, slots=True)
class Character:
    """The chart's numbers: curves, what lies along x ('twist', 'slip speed', 'current'), and data-sheet values."""

    part: Part
    along: str
    x_kind: str
    curves: tuple[Curve, ...]
    sheet: dict[str, tuple[float, str]]
    inputs: str
    tolerance: float = nan


class Point(NamedTuple):
    phi: float
    torque: float
    klass: int
    jump: bool


def wires(part: Part) -> tuple[float, ...]:
    """On the bench the drives' command is on, and nothing else is asked for."""
    asked = [float(w == "command") for w in part.kind.reads]
    return tuple(asked + [0.0] * (N_READ - len(asked)))


@dataclass(slots=True)
class Bench:
    """One part with hub b held and hub a led; hub a of a part with one hub."""

    part: Part
    row: tuple[float, ...]
    tab: Sequence[float] = (0.0,)
    mode: int = 0
    phi: float = 0.0
    nu: float = 0.0
    x: list[float] = field(default_factory=list)
    mem: list[float] = field(default_factory=lambda: [0.0] * N_MEMORY)

    def __post_init__(self) -> None:
        p = self.part
        self.x = [0.0] * len(p.kind.states)
        if p.has("start_state"):
            self.x = [float(v) for v in p.call("start_state", self.row, 0.0, self.tab)]
        self.mode = int(p.call("start_mode", self.row, 0.0)) if p.has("start_mode") else 0
        self.settle()

    def seen(self) -> Q:
        return Q(self.mode, 0.0, self.phi, self.nu, self.phi, self.nu, 0.0, 0.0, self.x, self.mem,
                 wires(self.part), self.row, self.tab)  # fmt: skip

    @property
    def torque(self) -> float:
        return float(self.part.call("torque", self.seen()))

    @property
    def klass(self) -> int:
        return self.part.kind.modes[self.mode].klass

    def point(self, jump: bool = False) -> Point:
        return Point(self.phi, self.torque, self.klass, jump)

    def turn(self, dphi: float, speed: float = CREEP) -> Iterator[Point]:
        """Turn on by ``dphi`` [rad] at ``speed`` [rad/s]: the points on the way, two at every switch."""
        self.nu = speed if dphi > 0.0 else -speed
        before = self.mode
        self.settle()
        if self.mode != before:
            yield self.point(True)
        left = dphi
        for _ in range(PASSES):
            clear, past = self._free_way(left)
            if past is None:
                self._move(left)
                yield self.point()
                return
            start = self.phi, list(self.x)
            self._move(clear)
            yield self.point()
            self.phi, self.x = start
            self._move(past)
            self.settle()
            yield self.point(True)
            left -= past
        self._move(left)
        yield self.point()

    def settle(self) -> None:
        """Follow the switches due now, one after the other; the heat that they set free is taken away."""
        kept = [(i, self.x[i]) for i, s in enumerate(self.part.kind.states) if s.unit in COLD]
        for _ in range(PASSES):
            due = self._due()
            if due is None:
                return
            new, _heat = self.part.call("switch", due, self.seen(), self.torque, self.x, self.mem, [0.0, 0.0])
            self.mode = int(new)
            for i, v in kept:
                self.x[i] = v

    def _free_way(self, dphi: float) -> tuple[float, float | None]:
        """The way until just before a switch falls due, and to just past it; None if none does."""
        start = self.phi, list(self.x)

        def due_after(way: float) -> bool:
            self._move(way)
            due = self._due() is not None
            self.phi, self.x = start[0], list(start[1])
            return due

        if not due_after(dphi):
            return dphi, None
        low, high = 0.0, dphi
        while abs(high - low) > LOCATED * abs(dphi):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if due_after(middle) else (middle, high)
        return low, high

    def _move(self, dphi: float) -> None:
        if self.part.has("rate"):
            q = self.seen()
            slopes = self.part.call("rate", q, self.part.call("torque", q))
            for i, s in enumerate(self.part.kind.states):
                if s.unit == "rad":
                    self.x[i] += slopes[i] * dphi / self.nu
        self.phi += dphi

    def _due(self) -> int | None:
        p = self.part
        q = self.seen()
        if p.has("clock") and p.call("clock", q) <= 0.0:
            return CLOCK
        if not p.has("guards"):
            return None
        return next((i for i, g in enumerate(p.call("guards", q, p.call("torque", q))) if g < 0.0), None)


class Given(NamedTuple):
    """A part with its resolved row, and the inputs (SI) that it came from."""

    part: Part
    row: tuple[float, ...]
    tab: tuple[float, ...]
    raw: Mapping[str, float]
    unit: float
    """Twist at the setting, at the capacity or at the rated torque [rad]."""
    top: float
    """That torque [N*m]."""

    def bench(self) -> Bench:
        return Bench(self.part, self.row, self.tab)


def character(
    part: Part, raw: Mapping[str, float], lists: Mapping[str, tuple[float, ...]], inputs: str = ""
) -> Character:
    """Curves of a part with the raw inputs ``raw`` (SI); raises ValueError for a part that has no character."""
    makers = {"twist": _by_twist, "loop": _loops, "slip speed": _by_speed, "current": _by_current}
    along = part.kind.character
    if along not in makers:
        raise ValueError(f"'{part.kind.name}' has no character of its own to draw")
    g = given(part, raw, lists)
    sheet = _sheet(g)
    kind = {"twist": "angle", "loop": "angle", "slip speed": "speed", "current": "current"}[along]
    return Character(part, "twist" if along == "loop" else along, kind, tuple(makers[along](g)), sheet, inputs,
                     raw.get("tolerance", nan))  # fmt: skip


def given(part: Part, raw: Mapping[str, float], lists: Mapping[str, tuple[float, ...]]) -> Given:
    """The part with its row, free of damping."""
    tab = [0.0]
    placed = dict(raw)
    for name, values in lists.items():
        placed[name] = float(len(tab))
        tab += [float(len(values)), *values]
    own = tuple(float(v) for v in part.call("resolve", part.raw(placed), STIFF_LINE))
    row = own + (0.0,) * (N_ROW - len(own))
    return Given(part, row, tuple(tab), raw, *_unit(part, row, raw))


def _sheet(g: Given) -> dict[str, tuple[float, str]]:
    sheet = dict(g.part.described("sheet", g.row, g.tab)) if g.part.has("sheet") else {}
    rated = g.raw.get("rated_torque", nan)
    return {"rated torque": (rated, "torque"), **sheet} if isfinite(rated) else sheet


def _unit(part: Part, row: tuple[float, ...], raw: Mapping[str, float]) -> tuple[float, float]:
    """Twist [rad] and torque [N*m] that set the chart's size."""
    sheet: Mapping[str, tuple[float, str]] = part.call("sheet", row) if part.has("sheet") else {}
    stated = [v for v, kind in sheet.values() if kind == "stiffness"]
    k = float(part.call("hint", row)) if part.has("hint") else next(iter(stated), nan)
    for name in ("setting", "capacity"):
        if name in sheet:
            top = float(sheet[name][0])
            return (top / k if 0.0 < top < FARTHEST * k else PLAIN_TWIST), top
    rated = raw.get("rated_torque", nan)
    twist = rated / k if isfinite(rated) else raw.get("twist_at_rated", PLAIN_TWIST)
    return twist, k * twist


def _curve(name: str, points: Sequence[Point], returns: bool = False) -> Curve:
    phi, torque, klass, jump = zip(*points, strict=True)
    jumps = tuple(i for i, j in enumerate(jump) if j and i > 0)
    return Curve(name, np.array(phi), np.array(torque), np.array(klass), jumps, returns)


def _by_twist(g: Given) -> Iterator[Curve]:
    """Turned slowly: one way with letting go, both ways without, and for a part that carries one way only."""
    if g.part.kind.family == "overrunning clutch":
        yield _curve("turned slowly", _one_way(g), returns=True)
    elif max(m.klass for m in g.part.kind.modes) > ENGAGED:
        yield _curve("turned slowly", _until_gone(g))
    else:
        yield _curve("turned slowly", _both_ways(g))


def _step(bench: Bench, unit: float) -> float:
    return max(unit, abs(bench.phi)) / STEPS


def _until_gone(g: Given) -> list[Point]:
    """Forward until well past letting go, or until it has let go a second time at its next pocket."""
    bench = g.bench()
    out = [bench.point()]
    first = again = inf
    how, back = ENGAGED, False
    while bench.phi < min(FARTHEST, AHEAD * first, 1.05 * again):
        for p in bench.turn(_step(bench, g.unit)):
            out.append(p)
            gone = p.klass >= SLIPPING
            if gone and not isfinite(first):
                first, how = p.phi, p.klass
            elif not gone and isfinite(first):
                back = True
            elif gone and back and not isfinite(again):
                again = p.phi
    end = 1.05 * again if isfinite(again) else BEYOND.get(how, SHORT_BEYOND) * first
    return [p for p in out if p.phi <= (end if isfinite(end) else 3.0 * g.unit)]


def _both_ways(g: Given) -> list[Point]:
    """From past the rated torque backward to past it forward."""
    bench = g.bench()
    top = PAST_RATED * g.top

    def turned(sense: float) -> Iterator[Point]:
        while sense * bench.torque < top and sense * bench.phi < FARTHEST:
            yield from bench.turn(sense * _step(bench, g.unit))

    for _ in turned(-1.0):
        pass
    return [bench.point(), *turned(1.0)]


def _one_way(g: Given) -> list[Point]:
    """A little overrunning, then the sense that it carries until past its capacity."""
    reach = {s: _reach(g, s) for s in (1.0, -1.0)}
    sense = min(reach, key=lambda s: reach[s])
    bench = g.bench()
    out = [bench.point()]
    way = min(max(reach[sense], g.unit), FARTHEST)
    while -sense * bench.phi < way:
        out += bench.turn(-sense * _step(bench, g.unit))
    end = inf
    while sense * bench.phi < min(FARTHEST, end):
        for p in bench.turn(sense * _step(bench, g.unit)):
            out.append(p)
            if p.klass >= SLIPPING and p.klass != OPEN and not isfinite(end):
                end = sense * p.phi + 0.25 * g.unit
    return out


def _reach(g: Given, sense: float) -> float:
    """Twist [rad] until half the capacity is carried in this sense; inf if it never is."""
    bench = g.bench()
    half = 0.5 * g.top
    while abs(bench.phi) < FARTHEST:
        if any(abs(p.torque) > half for p in bench.turn(10.0 * sense * _step(bench, g.unit))):
            return abs(bench.phi)
    return inf


def _loops(g: Given) -> Iterator[Curve]:
    """There and back at full width, and a smaller loop that begins on the way back."""
    for name, lead, turns in (("full loop", 0.0, (3.0, -3.0, 3.0)), ("inner loop", 3.0, (-0.4, 2.0, -0.4))):
        bench = g.bench()
        if lead:
            _ = [*_to(bench, lead, g.unit), *_to(bench, turns[0], g.unit)]
        out = [bench.point()]
        for end in turns:
            out += _to(bench, end, g.unit)
        yield _curve(name, out, returns=True)


def _to(bench: Bench, end: float, unit: float) -> Iterator[Point]:
    """Turn to ``end`` twists at the setting."""
    sense = 1.0 if end * unit > bench.phi else -1.0
    while (left := sense * (end * unit - bench.phi)) > LOCATED * unit:
        yield from bench.turn(sense * min(unit / STEPS, left))


def _by_speed(g: Given) -> Iterator[Curve]:
    """Torque once it has settled at each of many steady slip speeds."""
    bend = float(g.part.call("slip_scale", g.row)) if g.part.has("slip_scale") else 0.0
    bend = bend or 1.0
    speeds = np.geomspace(LOWEST * bend, min(HIGHEST * bend, max(10.0 * bend, FAST)), 121)
    settled = [slipping_torque(g, float(v)) for v in speeds]
    yield Curve("cold", speeds, np.array([T for T, _ in settled]), np.array([k for _, k in settled]))


def slipping_torque(g: Given, speed: float) -> tuple[float, int]:
    """Torque [N*m] and class of mode after turning at ``speed`` [rad/s] until both have settled."""
    bench = g.bench()
    for _ in range(int(2 * SETTLES)):
        for _point in bench.turn(0.5 * g.unit, speed):
            pass
    return bench.torque, bench.klass


EXCITED: Final = ("excitation", "requested_torque", "voltage", "current_times", "currents")
"""Inputs that set the coil's current in another way than ``current`` does."""


def _by_current(g: Given) -> Iterator[Curve]:
    """Slip torque over the coil's current, from none to twice the rated one."""
    raw = {n: v for n, v in g.raw.items() if n not in EXCITED} | {"excitation": 0.0}
    currents = np.linspace(0.0, 2.0 * g.row[g.part.kind.column("rated_current")], 81)
    settled = [slipping_torque(given(g.part, {**raw, "current": float(i)}, {}), 1.0) for i in currents]
    yield Curve("slipping, cold", currents, np.array([T for T, _ in settled]), np.array([k for _, k in settled]))
