r"""Motor by a table: torque against speed, straight from point to point.

Beyond the ends the torque stays, or goes on with the last slope.  In reverse the table holds turned about zero.
Corners are guards: memory keeps the piece it is on (0: to be looked up).  Speed without load is where the table
falls through zero, the last time.  Source: straight interpolation, textbook.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Kind, Mode, Param, Q
from simcore.parts._rampup import MEMORY, OFF, RAMP, READS, command_came, command_guard, ramp_clock, sense_asked, share

SPEEDS, TORQUES, SLOPED, RAMP_TIME = range(4)
ON = 1
PIECE = 3

KIND = Kind(
    name="tabled motor",
    family="drive",
    hubs=1,
    summary="any motor by its measured or stated torque against speed",
    params=(
        Param("speeds", "speed", "speeds of the table, rising", many=True, required=True),
        Param("torques", "torque", "torques at these speeds", many=True, required=True, low="-1e9 N*m"),
        Param("beyond", "choice", "beyond the ends of the table", default="last torque",
              choices=("last torque", "last slope"), source="the simpler one"),
        Param("inertia", "inertia", "rotor inertia, brake and fan counted in", required=True, above="0 kg*m^2"),
        RAMP,
    ),
    row=("speeds", "torques", "sloped", "ramp"),
    modes=(Mode("off", ENGAGED), Mode("on", ENGAGED)),
    guards=("command", "corner above", "corner below"),
    memory=(*MEMORY, "piece of the table"),
    reads=READS,
    sources=("straight interpolation: textbook",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    w, T = r.speeds, r.torques
    if len(w) != len(T):
        return [f"speeds has {len(w)} values and torques {len(T)}: they go in pairs"]
    if len(w) < 2:
        return ["a table needs two points at least"]
    if any(b <= a for a, b in pairwise(w)):
        return ["speeds must rise from one value to the next"]
    tab = (0.0, float(len(w)), *w, float(len(w)), *T)
    if not any(T):
        return ["all torques are 0: nothing drives"]
    if _crossing(tab, 1, len(w) + 2, r.beyond) == 0.0:
        return ["the torque never falls through zero at a speed but 0: there is no speed without load to begin from"]
    return []


def resolve(r: Any, w1: float) -> tuple[float, float, float, float]:
    return r.speeds, r.torques, r.beyond, r.ramp


def inertias(r: Any) -> tuple[float, float]:
    return 0.0, r.inertia


def _slope(tab: Any, w: int, v: int, i: int) -> float:
    """Slope between the points ``i`` and ``i + 1``, counted from 1."""
    return float((tab[v + i + 1] - tab[v + i]) / (tab[w + i + 1] - tab[w + i]))


def _crossing(tab: Any, w: int, v: int, sloped: float) -> float:
    """Highest speed at which the torque falls to zero; 0 if it never does."""
    n = int(tab[w])
    last = _slope(tab, w, v, n - 1)
    if sloped > 0.5 and tab[v + n] > 0.0 and last < 0.0:
        return float(tab[w + n] - tab[v + n] / last)
    for j in range(n - 1):
        i = n - 1 - j
        if tab[v + i] >= 0.0 >= tab[v + i + 1] and tab[v + i] > tab[v + i + 1]:
            return float(tab[w + i] - tab[v + i] / _slope(tab, w, v, i))
    first = _slope(tab, w, v, 1)
    if sloped > 0.5 and tab[v + 1] < 0.0 and first < 0.0:
        return float(tab[w + 1] - tab[v + 1] / first)
    return 0.0


def free_speed(p: Any, tab: Any) -> float:
    return _crossing(tab, int(p[SPEEDS]), int(p[TORQUES]), p[SLOPED])


def rises(p: Any, tab: Any) -> bool:
    v = int(p[TORQUES])
    return any(tab[v + i + 1] > tab[v + i] for i in range(1, int(tab[v])))


def top_torque(p: Any, tab: Any) -> float:
    v = int(p[TORQUES])
    top = 0.0
    for i in range(int(tab[v])):
        top = max(top, abs(tab[v + 1 + i]))
    return top


def start_mode(p: Any, sense: float) -> int:
    return OFF if sense == 0.0 else ON


def _speed(q: Q) -> float:
    """Speed as the table counts it."""
    return q.wb * sense_asked(q)


def _piece(q: Q) -> int:
    """Number of points below the present speed."""
    w = int(q.p[SPEEDS])
    i = 0
    while i < int(q.tab[w]) and q.tab[w + 1 + i] <= _speed(q):
        i += 1
    return i


def _tabled(q: Q, piece: int) -> float:
    """Torque on the piece behind the first ``piece`` points."""
    w, v = int(q.p[SPEEDS]), int(q.p[TORQUES])
    n = int(q.tab[w])
    i = min(max(piece, 1), n - 1)
    at = i if piece < n else n
    if q.p[SLOPED] < 0.5 and (piece == 0 or piece == n):
        return float(q.tab[v + at])
    return float(q.tab[v + at] + _slope(q.tab, w, v, i) * (_speed(q) - q.tab[w + at]))


def torque(q: Q) -> float:
    if q.m == OFF:
        return 0.0
    piece = int(q.mem[PIECE]) - 1 if q.mem[PIECE] > 0.5 else _piece(q)
    return _tabled(q, piece) * sense_asked(q) * share(q, q.p[RAMP_TIME])


def guards(q: Q, T: float) -> tuple[float, float, float]:
    on = command_guard(q)
    if q.m == OFF:
        return on, 1.0, 1.0
    if q.mem[PIECE] < 0.5:
        return on, -1.0, 1.0
    w = int(q.p[SPEEDS])
    i = int(q.mem[PIECE]) - 1
    above = q.tab[w + 1 + i] - _speed(q) if i < int(q.tab[w]) else 1.0
    below = _speed(q) - q.tab[w + i] if i > 0 else 1.0
    return on, above, below


def clock(q: Q) -> float:
    return ramp_clock(q, q.p[RAMP_TIME])


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK:
        M[1] = 0.0
        return q.m, 0.0
    if k == 0:
        M[PIECE] = 0.0
        M[1] = 0.0
        if q.m != OFF:
            return OFF, 0.0
        command_came(q, q.p[RAMP_TIME], M)
        return ON, 0.0
    if q.mem[PIECE] < 0.5:
        M[PIECE] = _piece(q) + 1.0
    else:
        M[PIECE] = q.mem[PIECE] + (1.0 if k == 1 else -1.0)
    return q.m, 0.0


def loss(q: Q, T: float) -> float:
    return -T * q.wb
