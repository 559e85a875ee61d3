"""The demo line with its friction disc, written out by hand: laws, guards and switches of this line only.

States: five angles, five speeds (motor, gearbox output, disc output, sprocket, trays), slip angle, disc's
rise; then seven losses, three quadratures of the disc and the drive's work, which never steer a step.
Modes: motor, gear flank (1, -1), disc, chain, stop, motor's friction, rails' friction, fade floor.
"""

from __future__ import annotations

import os
from math import exp
from typing import Any

from numba import njit

N, NY, NG, NT = 12, 24, 12, 7
LOSS, QUAD, SOURCE = 12, 19, 22
PLAINLY = os.environ.get("SIMCORE_BENCH_PLAIN", "") == "1"
"""Compile as one would at first, without the options that make the other way fast."""
FAST: dict[str, Any] = {"error_model": "numpy"}
if not PLAINLY:
    FAST |= {"_nrt": False, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
INLINE = FAST if PLAINLY else {**FAST, "forceinline": True}

# modes
M_MOTOR, M_GEAR, M_DISC, M_CHAIN, M_STOP, M_ROTOR, M_TRAYS, M_FLOOR = range(8)
CURVE, CEILING, BRAKING = 1, 2, 3
STUCK, WIND_F, WIND_B, SLIDE_F, SLIDE_B = range(5)
SLACK, TAUT, EASED = 0, 1, 3
CLEAR, TOUCHING, STOP_EASED = 0, 1, 2

# parameters
(
    PEAK, SLIP_K, SYNC, CEIL, SLIP_C, IR, KG, CG, UP, BACK, S, OVER, V_STRIBECK, RISE, KD, CD, CAP, COOL, FADE,
    SHAPE_REF, KH, CH, R_CHAIN, KC, CC, RUN, HOLD, R_STOP, KS, CS, GAP, J1, J2, J3, J4, J5,
) = range(36)  # fmt: skip
N_PARAM = 36
FLOOR = 0.1


@njit(**INLINE)
def shape(p: Any, v: float) -> float:
    return 1.0 + (p[OVER] - 1.0) * exp(-v / p[V_STRIBECK]) + p[RISE] * v


@njit(**INLINE)
def running(p: Any, floor: int, rise: float, v: float) -> float:
    fade = FLOOR if floor == 1 else 1.0 + p[FADE] * rise
    return p[S] * fade * shape(p, v) / p[SHAPE_REF]


@njit(**INLINE)
def laws(full: bool, y: Any, dy: Any, T: Any, G: Any, m: Any, p: Any) -> None:
    """Slopes, torques and, if ``full``, guards."""
    w1, w2, w3, w4, w5 = y[5], y[6], y[7], y[8], y[9]
    for j in range(5):
        dy[j] = y[5 + j]
    # motor
    s = 1.0 - w1 / p[SYNC]
    tm = p[CEIL]
    if m[0] == CURVE:
        tm = 2.0 * p[PEAK] * s * p[SLIP_K] / (s * s + p[SLIP_K] * p[SLIP_K])
    elif m[0] == BRAKING:
        tm = -tm
    # gear: mesh, housing friction on the rotor
    nu = p[IR] * w1 - w2
    tg = p[KG] * (p[IR] * y[0] - y[1]) + p[CG] * nu
    size = abs(tg) * p[IR]
    if tg > 0.0:
        back, ahead = size * p[BACK], size * p[UP]
    else:
        back, ahead = size * p[UP], size * p[BACK]
    gear_loss = p[CG] * nu * nu
    n1 = tm - p[IR] * tg
    if m[5] == 1:
        n1 -= ahead
        gear_loss += ahead * w1
    elif m[5] == -1:
        n1 += back
        gear_loss -= back * w1
    # disc
    phi = y[1] - y[2]
    nu = w2 - w3
    z = phi - y[10]
    rise = y[11]
    slip = 0.0
    heat = 0.0
    if m[2] == STUCK:
        td = p[KD] * z + p[CD] * nu
        disc_loss = p[CD] * nu * nu
    else:
        side = 1.0 if (m[2] == WIND_F or m[2] == SLIDE_F) else -1.0
        td = side * running(p, m[7], rise, max(side * nu, -p[V_STRIBECK]))
        disc_loss = td * nu
        if m[2] >= SLIDE_F:
            slip = nu
        else:
            disc_loss -= p[KD] * z * nu
        heat = disc_loss
    # head shaft
    nh = w3 - w4
    th = p[KH] * (y[2] - y[3]) + p[CH] * nh
    # chain
    dc = p[R_CHAIN] * y[3] - y[4]
    nc = p[R_CHAIN] * w4 - w5
    tc = 0.0
    chain_loss = 0.0
    if m[3] == TAUT:
        tc = p[KC] * dc + p[CC] * nc
        chain_loss = p[CC] * nc * nc
    elif m[3] == EASED:
        chain_loss = -p[KC] * dc * nc
    # stop
    ds = p[R_STOP] * y[3] - p[GAP]
    ws = p[R_STOP] * w4
    ts = 0.0
    stop_loss = 0.0
    if m[4] == TOUCHING:
        ts = p[KS] * ds + p[CS] * ws
        stop_loss = p[CS] * ws * ws
    elif m[4] == STOP_EASED:
        stop_loss = -p[KS] * ds * ws
    rail_loss = 0.0
    n5 = tc
    if m[6] == 1:
        n5 -= p[RUN]
        rail_loss = p[RUN] * w5
    elif m[6] == -1:
        n5 += p[RUN]
        rail_loss = -p[RUN] * w5
    dy[5] = n1 * p[J1] if m[5] != 0 else 0.0
    dy[6] = (tg - td) * p[J2]
    dy[7] = (td - th) * p[J3]
    dy[8] = (th - p[R_CHAIN] * tc - p[R_STOP] * ts) * p[J4]
    dy[9] = n5 * p[J5] if m[6] != 0 else 0.0
    dy[10] = slip
    dy[11] = (heat - p[COOL] * rise) / p[CAP]
    drive = -tm * w1
    dy[12] = drive
    dy[13] = gear_loss
    dy[14] = disc_loss
    dy[15] = p[CH] * nh * nh
    dy[16] = chain_loss
    dy[17] = rail_loss
    dy[18] = stop_loss
    dy[19] = abs(td)
    dy[20] = td * w3
    dy[21] = abs(nu) if m[2] != STUCK else 0.0
    dy[22] = -min(drive, 0.0) - min(gear_loss, 0.0) - min(chain_loss, 0.0) - min(stop_loss, 0.0)
    dy[23] = 0.0
    T[0] = tm
    T[1] = tg
    T[2] = td
    T[3] = th
    T[4] = tc
    T[5] = 0.0
    T[6] = ts
    if full:
        guards(y, G, m, p, s, tg, td, z, nu, rise, dc, nc, tc, ds, ws, ts, n1, back, ahead, n5)


@njit(**INLINE)
def guards(
    y: Any, G: Any, m: Any, p: Any, s: float, tg: float, td: float, z: float, nu: float, rise: float, dc: float,
    nc: float, tc: float, ds: float, ws: float, ts: float, n1: float, back: float, ahead: float, n5: float,
) -> None:  # fmt: skip
    """All guards of the present modes, > 0 inside."""
    G[1] = 1.0
    if m[0] == CURVE:
        G[0] = p[SLIP_C] - s
        G[1] = p[SLIP_C] + s
    elif m[0] == CEILING:
        G[0] = s - p[SLIP_C]
    else:
        G[0] = -p[SLIP_C] - s
    G[2] = m[1] * tg
    G[4] = 1.0
    fade = FLOOR if m[7] == 1 else 1.0 + p[FADE] * rise
    if m[2] == STUCK:
        top = p[S] * p[OVER] * fade
        G[3] = top - td
        G[4] = top + td
    else:
        side = 1.0 if (m[2] == WIND_F or m[2] == SLIDE_F) else -1.0
        G[3] = side * nu
        if m[2] < SLIDE_F:
            G[4] = side * (td - p[KD] * z)
    G[5] = 1.0 if m[7] == 1 else fade - FLOOR
    G[7] = 1.0
    if m[3] == TAUT:
        G[6] = tc
    elif m[3] == EASED:
        G[6] = dc
        G[7] = -(p[KC] * dc + p[CC] * nc)
    else:
        G[6] = -dc
    G[9] = 1.0
    if m[4] == TOUCHING:
        G[8] = ts
    elif m[4] == CLEAR:
        G[8] = -ds
    else:
        G[8] = ds
        G[9] = -(p[KS] * ds + p[CS] * ws)
    G[10] = m[5] * y[5] if m[5] != 0 else min(n1 + back, ahead - n1)
    G[11] = m[6] * y[9] if m[6] != 0 else min(n5 + p[HOLD], p[HOLD] - n5)


@njit(**FAST)
def unwind(y: Any, p: Any, side: float, top: float) -> float:
    """Let the disc's wind-up fall to what ``top`` holds; the heat [J]."""
    phi = y[1] - y[2]
    z = side * (phi - y[10])
    z_top = top / p[KD]
    if z <= z_top:
        return 0.0
    heat = 0.5 * p[KD] * (z * z - z_top * z_top)
    y[10] = phi - side * z_top
    y[11] += heat / p[CAP]
    return heat


@njit(**FAST)
def switch(g: int, y: Any, T: Any, m: Any, p: Any) -> float:
    """Switch what guard ``g`` asks for; heat booked to the disc [J].  Node friction is left at 'hold'."""
    if g <= 1:
        if m[0] == CURVE:
            m[0] = CEILING if g == 0 else BRAKING
        else:
            m[0] = CURVE
    elif g == 2:
        m[1] = -m[1]
    elif g == 5:
        m[7] = 1
    elif g <= 4:
        return switch_disc(g, y, T, m, p)
    elif g <= 7:
        if m[3] == TAUT:
            m[3] = EASED if p[R_CHAIN] * y[3] > y[4] else SLACK
        elif m[3] == EASED:
            m[3] = SLACK if g == 6 else TAUT
        else:
            m[3] = TAUT
    elif g <= 9:
        if m[4] == TOUCHING:
            m[4] = STOP_EASED if p[R_STOP] * y[3] > p[GAP] else CLEAR
        elif m[4] == STOP_EASED:
            m[4] = CLEAR if g == 8 else TOUCHING
        else:
            m[4] = TOUCHING
    return 0.0


INSIDE = 1e-9


@njit(**FAST)
def switch_disc(g: int, y: Any, T: Any, m: Any, p: Any) -> float:
    if m[2] == STUCK:
        side = 1.0 if g == 3 else -1.0
        top = running(p, m[7], y[11], abs(y[6] - y[7]))
        if side * p[KD] * (y[1] - y[2] - y[10]) < top:
            m[2] = WIND_F if side > 0.0 else WIND_B
            return 0.0
        m[2] = SLIDE_F if side > 0.0 else SLIDE_B
        return unwind(y, p, side, top)
    side = 1.0 if (m[2] == WIND_F or m[2] == SLIDE_F) else -1.0
    if m[2] < SLIDE_F and g == 4:
        m[2] = SLIDE_F if side > 0.0 else SLIDE_B
        return 0.0
    sliding = m[2] >= SLIDE_F
    m[2] = STUCK
    return unwind(y, p, side, (1.0 - INSIDE) * running(p, m[7], y[11], 0.0)) if sliding else 0.0


@njit(**FAST)
def hold(node: int, old: int, m: Any, y: Any, T: Any, p: Any) -> int:
    """Whether the dry friction of the rotor (5) or the trays (6) holds, or which way it gives."""
    if node == 5:
        net = T[0] - p[IR] * T[1]
        size = abs(T[1]) * p[IR]
        back, ahead = (size * p[BACK], size * p[UP]) if T[1] > 0.0 else (size * p[UP], size * p[BACK])
    else:
        net = T[4]
        back = ahead = p[HOLD]
    if net > ahead * (1.0 + 1e-12):
        return 1
    if net < -back * (1.0 + 1e-12):
        return -1
    if old == 0:
        return 1 if net > 0.0 else -1
    return 0


@njit(**FAST)
def stored(y: Any, m: Any, p: Any) -> float:
    """Kinetic and elastic energy [J]."""
    e = 0.5 * (y[5] ** 2 / p[J1] + y[6] ** 2 / p[J2] + y[7] ** 2 / p[J3] + y[8] ** 2 / p[J4] + y[9] ** 2 / p[J5])
    e += 0.5 * p[KG] * (p[IR] * y[0] - y[1]) ** 2 + 0.5 * p[KD] * (y[1] - y[2] - y[10]) ** 2
    e += 0.5 * p[KH] * (y[2] - y[3]) ** 2
    if m[3] != SLACK:
        e += 0.5 * p[KC] * (p[R_CHAIN] * y[3] - y[4]) ** 2
    if m[4] != CLEAR:
        e += 0.5 * p[KS] * (p[R_STOP] * y[3] - p[GAP]) ** 2
    return e
