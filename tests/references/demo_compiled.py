"""The demo line with the friction disc as one compiled right-hand side, for general ODE solvers.

Written out by hand for this one line, without elements or nodes, so it also checks the reference in
:mod:`.bakery`.  ``rhs(t, y, modes)`` gives slopes (14,), ``guards(t, y, modes)`` gives
guards (12,), both numba-compiled; a guard that is not asked in the present modes is 1.  State ``y`` (14):

====== ==========================================================================
0..4   angles of motor, gearbox output, slot output, sprocket [rad], way of the trays [m]
5..9   their speeds
10, 11 wind-up [rad] and rise [K] of the disc
12, 13 motor's work and the disc's heat [J]
====== ==========================================================================

``modes`` (6) int: motor (0 on its curve, 1 at its ceiling, 2 braking at its ceiling), motor shaft and trays
(each 1 runs forward, 0 stands, -1 runs backward), chain and stop (each 0 away, 1 closed, 2 parted), disc
(0 stuck, +-1 sliding, +-2 winding up).  ``switch(t, y, modes)`` follows what is due and writes both;
``simulate`` and ``simulate_cvode`` run the crash to the horizon.
"""

from __future__ import annotations

from collections.abc import Callable
from math import radians
from typing import Any

import numpy as np
from numba import njit

from .bakery import (
    ETA,
    HORIZON,
    J_IN,
    J_MOTOR,
    J_OUT,
    J_SPROCKET,
    K_CHAIN,
    K_GEAR,
    K_HEAD,
    K_STOP,
    M_TRAYS,
    PSI,
    RADIUS,
    RATIO,
    RPM,
    SETTING,
    SYNC,
    bare_mode,
)  # fmt: skip
from .derived import damping

MOTOR, SHAFT, TRAYS, CHAIN, STOP, DISC = range(6)
NAMES = ("motor", "node motor", "node tray chain", "tray chain", "tray jams", "friction disc")
GUARDS = 12
_W1 = bare_mode()
S = SETTING["friction disc"]
K_DISC = S / radians(0.43)
C_GEAR = damping(PSI, K_GEAR, _W1, J_MOTOR * RATIO**2, J_IN)
C_DISC = damping(PSI, K_DISC, _W1, J_IN, J_OUT)
C_HEAD = damping(PSI, K_HEAD, _W1, J_OUT, J_SPROCKET)
C_CHAIN = damping(PSI, K_CHAIN, _W1, J_SPROCKET / RADIUS**2, M_TRAYS)
C_STOP = damping(PSI, K_STOP, _W1)
RATED = 1500.0 / (1420 * RPM)
TOP, CEILING = 2.8 * RATED, 1.5 * RATED
SLIP_K = (1 - 1420 / 1500) * (2.8 + (2.8**2 - 1) ** 0.5)
SLIP_C = SLIP_K * (2.8 / 1.5 - ((2.8 / 1.5) ** 2 - 1) ** 0.5)
UP, BACK = 1 / ETA - 1, 1 / ETA - 1
RUN, BREAK = 1055.0, 1200.0
G0 = 1 + 0.15 * np.exp(-5.0) + 0.0005 * 5.0


@njit(cache=True)
def _slide(v: float, rise: float) -> float:
    return S * (1 - 0.001 * rise) * (1 + 0.15 * np.exp(-v) + 0.0005 * v) / G0


@njit(cache=True)
def _torques(y: Any, m: Any) -> Any:
    """Motor, gear (output), disc, head shaft, chain, stop; net torque on motor and force on trays."""
    s = 1 - y[5] / SYNC
    Tm = 2 * TOP * s * SLIP_K / (s * s + SLIP_K * SLIP_K)
    if m[0] == 1:
        Tm = CEILING
    elif m[0] == 2:
        Tm = -CEILING
    Tg = K_GEAR * (y[0] / RATIO - y[1]) + C_GEAR * (y[5] / RATIO - y[6])
    nu = y[6] - y[7]
    Td = K_DISC * y[10] + C_DISC * nu
    if m[5] != 0:
        Td = (1.0 if m[5] > 0 else -1.0) * _slide(abs(nu), y[11])
    Th = K_HEAD * (y[2] - y[3]) + C_HEAD * (y[7] - y[8])
    Fc = K_CHAIN * (RADIUS * y[3] - y[4]) + C_CHAIN * (RADIUS * y[8] - y[9]) if m[3] == 1 else 0.0
    Fs = K_STOP * RADIUS * y[3] + C_STOP * RADIUS * y[8] if m[4] == 1 else 0.0
    return Tm, Tg, Td, Th, Fc, Fs


@njit(cache=True)
def _limits(Tg: float) -> Any:
    """Housing friction at the motor shaft against forward and against backward motion."""
    a = abs(Tg) / RATIO
    return (a * UP, a * BACK) if Tg > 0 else (a * BACK, a * UP)


@njit(cache=True)
def rhs(t: float, y: Any, m: Any) -> Any:
    d = np.zeros(14)
    Tm, Tg, Td, Th, Fc, Fs = _torques(y, m)
    fore, aft = _limits(Tg)
    for i in range(5):
        d[i] = y[5 + i]
    if m[1] != 0:
        d[5] = (Tm - Tg / RATIO - (fore if m[1] > 0 else -aft)) / J_MOTOR
    d[6] = (Tg - Td) / J_IN
    d[7] = (Td - Th) / J_OUT
    d[8] = (Th - RADIUS * (Fc + Fs)) / J_SPROCKET
    if m[2] != 0:
        d[9] = (Fc - m[2] * RUN) / M_TRAYS
    nu = y[6] - y[7]
    heat = 0.0
    if m[5] == 0:
        d[10] = nu
        d[13] = C_DISC * nu * nu
    elif abs(m[5]) == 2:
        d[10] = nu
        heat = (Td - K_DISC * y[10]) * nu
        d[13] = heat
    else:
        heat = Td * nu
        d[13] = heat
    d[11] = (heat - 3.5 * y[11]) / 700.0
    d[12] = Tm * y[5]
    return d


@njit(cache=True)
def guards(t: float, y: Any, m: Any) -> Any:
    g = np.ones(GUARDS)
    Tm, Tg, Td, _, Fc, Fs = _torques(y, m)
    s = 1 - y[5] / SYNC
    if m[0] == 0:
        g[0], g[1] = SLIP_C - s, SLIP_C + s
    else:
        g[0] = s - SLIP_C if m[0] == 1 else -SLIP_C - s
    fore, aft = _limits(Tg)
    net = Tm - Tg / RATIO
    if m[1] == 0:
        g[2], g[3] = fore - net, net + aft
    else:
        g[2] = m[1] * y[5]
    if m[2] == 0:
        g[4], g[5] = BREAK - Fc, Fc + BREAK
    else:
        g[4] = m[2] * y[9]
    for i, d, v, k, c, F in (
        (6, RADIUS * y[3] - y[4], RADIUS * y[8] - y[9], K_CHAIN, C_CHAIN, Fc),
        (8, RADIUS * y[3], RADIUS * y[8], K_STOP, C_STOP, Fs),
    ):
        state = m[3] if i == 6 else m[4]
        if state == 0:
            g[i] = -d
        elif state == 1:
            g[i] = F
        else:
            g[i], g[i + 1] = d, -(k * d + c * v)
    side = 1.0 if m[5] >= 0 else -1.0
    if m[5] == 0:
        top = S * 1.15 * (1 - 0.001 * y[11])
        g[10], g[11] = top - Td, top + Td
    else:
        g[10] = side * (y[6] - y[7])
        if abs(m[5]) == 2:
            g[11] = side * (Td - K_DISC * y[10])
    return g


def _turn(i: int, y: Any, m: Any) -> None:
    """Carry out the switch that guard ``i`` asks for."""
    if i < 2:
        m[0] = (1 if i == 0 else 2) if m[0] == 0 else 0
    elif i < 6:
        n, speed = (1, 5) if i < 4 else (2, 9)
        old, m[n] = m[n], 0
        if old == 0:
            m[n] = 1 if i in (2, 4) else -1
            return
        y[speed] = 0.0
        g = guards(0.0, y, m)
        j = 2 if n == 1 else 4
        if min(g[j], g[j + 1]) < -1e-9:
            m[n] = 1 if g[j] < 0 else -1
    elif i < 10:
        n = 3 if i < 8 else 4
        d = RADIUS * y[3] - (y[4] if n == 3 else 0.0)
        if m[n] == 1:
            m[n] = 2 if d > 0 else 0
        else:
            m[n] = 1 if m[n] == 0 or i % 2 == 1 else 0
    else:
        _turn_disc(i, y, m)


def _turn_disc(i: int, y: Any, m: Any) -> None:
    if m[5] == 0:
        side = 1 if i == 10 else -1
        top = _slide(abs(y[6] - y[7]), y[11])
        m[5] = 2 * side if side * K_DISC * y[10] < top else side
        if abs(m[5]) == 1:
            _relax(side, top, y)
    elif i == 11:
        m[5] //= 2
    else:
        if abs(m[5]) == 1:
            _relax(m[5], _slide(0.0, y[11]), y)
        m[5] = 0


def _relax(side: int, top: float, y: Any) -> None:
    z, full = side * y[10], top / K_DISC
    if z > full:
        heat = 0.5 * K_DISC * (z * z - full * full)
        y[10] = side * full
        y[11] += heat / 700.0
        y[13] += heat


def switch(t: float, y: Any, m: Any) -> None:
    """Follow all switches due at ``t``; writes ``y`` and ``m``."""
    for _ in range(30):
        g = guards(t, y, m)
        g2 = guards(t + 1e-9, y + 1e-9 * rhs(t, y, m), m)
        due = [i for i in range(GUARDS) if g[i] < -1e-6 or (g[i] <= 1e-9 and g2[i] < g[i] - 1e-14)]
        if not due:
            return
        _turn(due[0], y, m)
    raise RuntimeError(f"endless chain at {t}")


def start() -> tuple[Any, Any]:
    """Steady running by hand, at t = 0 with the stop touched: load back to the motor, then its slip."""
    T = RUN * RADIUS
    need = T / RATIO / ETA
    x = TOP / need
    slip = SLIP_K * (x - (x * x - 1) ** 0.5)
    w = SYNC * (1 - slip)
    y = np.zeros(14)
    y[4] = -RUN / K_CHAIN
    y[2] = T / K_HEAD
    y[10] = T / K_DISC
    y[1] = y[2] + T / K_DISC
    y[0] = RATIO * (y[1] + T / K_GEAR)
    y[5:9] = w / RATIO
    y[5], y[9] = w, w / RATIO * RADIUS
    return y, np.array([0, 1, 1, 1, 1, 0], dtype=np.int64)


def simulate(
    rtol: float = 1e-11, atol: float = 1e-12, method: str = "DOP853", horizon: float = HORIZON
) -> tuple[list[tuple[float, tuple[int, ...]]], Any]:
    """The crash by scipy's solve_ivp: list of (instant, modes after it), and the state at the horizon."""
    from scipy.integrate import solve_ivp

    def event(i: int) -> Callable[..., float]:
        def g(t: float, y: Any, m: Any) -> float:
            return float(guards(t, y, m)[i])

        g.terminal, g.direction = True, -1  # type: ignore[attr-defined]
        return g

    events = [event(i) for i in range(GUARDS)]

    def advance(t: float, goal: float, y: Any, m: Any) -> tuple[float, Any]:
        s = solve_ivp(rhs, (t, goal), y, method=method, rtol=rtol, atol=atol, events=events, args=(m,))
        return float(s.t[-1]), s.y[:, -1].copy()

    return _run(advance, horizon)


def simulate_cvode(
    rtol: float = 1e-11, atol: float = 1e-12, method: str = "Adams", horizon: float = HORIZON
) -> tuple[list[tuple[float, tuple[int, ...]]], Any]:
    """The crash by CVODE with root finding; gives the same as :func:`simulate`."""
    from sksundae.cvode import CVODE

    def advance(t: float, goal: float, y: Any, m: Any) -> tuple[float, Any]:
        def f(t: float, y: Any, dy: Any) -> None:
            dy[:] = rhs(t, y, m)

        def roots(t: float, y: Any, g: Any) -> None:
            g[:] = guards(t, y, m)

        roots.terminal, roots.direction = [True] * GUARDS, [-1] * GUARDS  # type: ignore[attr-defined]
        solver = CVODE(f, method=method, rtol=rtol, atol=atol, eventsfn=roots, num_events=GUARDS, max_num_steps=10**6)
        s = solver.solve(np.array([t, goal]), y)
        return float(s.t[-1]), np.array(s.y[-1])

    return _run(advance, horizon)


def _run(advance: Callable[..., tuple[float, Any]], horizon: float) -> tuple[list[tuple[float, tuple[int, ...]]], Any]:
    y, m = start()
    t, log = 0.0, []
    breath = True
    while t < horizon:
        goal = min(horizon, t + 1e-6) if breath else horizon
        t, y = advance(t, goal, y, m)
        before = tuple(m)
        switch(t, y, m)
        breath = tuple(m) != before
        if breath:
            log.append((t, tuple(int(i) for i in m)))
    return log, y


__all__ = ["GUARDS", "NAMES", "guards", "rhs", "simulate", "simulate_cvode", "start", "switch"]
