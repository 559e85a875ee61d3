"""A friction disc that slips on through a partial jam: kernel against a solution written out for scipy alone."""

from __future__ import annotations

from functools import cache
from math import exp, log10, radians
from typing import Any

import numpy as np
import pytest
from lines import SLIDES, Line, Run, run
from scipy.integrate import solve_ivp

from simcore.contract import SLIPPING
from simcore.solver import arrays as ar

J1, J2, W0, STALL, DRAG = 0.08, 0.05, 60.0, 260.0, 400.0
S, OVER, STRIBECK, RISE, REFERENCE, DWELL, GROWTH = 120.0, 1.2, 1.0, 0.0005, 5.0, 600.0, 0.04
WEAR, FADE, C, G, GH, CH, LIMIT = 2e-6, -0.001, 90.0, 3.5, 4.0, 400.0, 60.0
K = S / radians(0.43)
AREA, HALF = 0.012, 3e-3
LEAD, LAG = HALF / (3.0 * 50.0 * AREA), HALF * HALF / 1.385e-5
R = 0.145 * LEAD, 0.738 * LEAD
TAU = 1.108e-3 * LAG, 44.58e-3 * LAG
END = 2.0
DISC = {
    "setting": S, "breakaway": OVER, "stribeck_speed": STRIBECK, "rise": RISE, "reference_slip": REFERENCE,
    "dwell": DWELL, "dwell_growth": GROWTH, "wear": WEAR, "fade": FADE, "heat_capacity": C, "cooling": G,
    "hub_conductance": GH, "hub_capacity": CH, "heat_limit": LIMIT, "stiffness": K, "facing_area": AREA,
    "half_thickness": HALF,
}  # fmt: skip


def shape(v: float) -> float:
    return 1.0 + (OVER - 1.0) * exp(-v / STRIBECK) + RISE * v


def running(v: float, rise: float, energy: float) -> float:
    return S * (1.0 + FADE * rise) * (1.0 - WEAR * energy) * shape(v) / shape(REFERENCE)


def stuck(t: float, y: Any) -> list[float]:
    """Rotor, load, wind-up; the drag holds the load back from t = 0 on."""
    w1, w2, z = y
    return [(STALL * (1.0 - w1 / W0) - K * z) / J1, (K * z - DRAG) / J2, w1 - w2]


def warms(power: float, x: Any) -> list[float]:
    """Bulk, two layers, hub, slip energy."""
    on = GH * (x[0] - x[3])
    leads = [(R[i] * power - x[1 + i]) / TAU[i] for i in (0, 1)]
    return [(power - G * x[0] - on) / C, *leads, on / CH, power]


def slides(t: float, y: Any, load_turns: bool) -> list[float]:
    w1, w2, *x = y
    T = running(w1 - w2, x[0], x[4])
    return [(STALL * (1.0 - w1 / W0) - T) / J1, (T - DRAG) / J2 if load_turns else 0.0, *warms(T * (w1 - w2), x)]


def until(f: Any, t0: float, y0: Any, event: Any, *more: Any) -> tuple[float, Any]:
    """State at the first zero of ``event``."""
    event.terminal = True
    r = solve_ivp(f, (t0, END), y0, method="DOP853", rtol=1e-11, atol=1e-11, events=event, args=more)
    assert r.status == 1
    return r.t_events[0][0], r.y_events[0][0]


@cache
def by_scipy() -> tuple[float, float, float, float, float]:
    """Instants of breakaway, of the load's standstill and of burning; torque and rotor speed at the end."""
    top = lambda t: S * OVER * (1.0 + GROWTH * log10(DWELL + t))
    t1, y = until(stuck, 0.0, [W0, W0, 0.0], lambda t, y: K * y[2] - top(t))
    left = running(y[0] - y[1], 0.0, 0.0)
    freed = (top(t1) ** 2 - left**2) / (2.0 * K)
    x = [freed / C, R[0] * freed / TAU[0], R[1] * freed / TAU[1], 0.0, freed]
    t2, y = until(slides, t1, [y[0], y[1], *x], lambda t, y, turns: y[1], True)
    y[1] = 0.0
    t3, y = until(slides, t2, y, lambda t, y, turns: y[2] + y[3] + y[4] - LIMIT, False)
    r = solve_ivp(slides, (t3, END), y, method="DOP853", rtol=1e-11, atol=1e-11, args=(False,))
    w1, _, bulk, *_, energy = r.y[:, -1]
    return t1, t2, t3, running(w1, bulk, energy), w1


@cache
def by_kernel(limit: float = LIMIT, rtol: float = 1e-10) -> Run:
    line = Line()
    a, b = line.mass(J1, W0), line.mass(J2, W0)
    line.part("constant-torque motor", 0, a, torque=STALL, speed=W0, droop=1.0, inertia=1.0)
    line.part("friction disc", a, b, **DISC | {"heat_limit": limit})
    line.part("partial jam", b, 0, drag=DRAG)
    return run(line, END, rtol=rtol)


def test_instants_and_end():
    """Breakaway after 10 min at rest, standstill of the load, burning; torque and rotor speed at the end."""
    lets_go, stands, burns, torque, speed = by_scipy()
    r = by_kernel()
    assert r.events(1, SLIDES)[0] == pytest.approx(lets_go, abs=1e-8)
    assert r.events(r.count + 2, 0)[0] == pytest.approx(stands, abs=1e-8)
    assert r.meas[1, ar.BURNT] == pytest.approx(burns, abs=1e-6)
    assert r.torque(1)[-1] == pytest.approx(torque, rel=1e-8)
    assert r.speed(1)[-1] == pytest.approx(speed, rel=1e-8)
    assert 0.0 < lets_go < stands < burns < END


def test_default_tolerance_meets_the_burn_instant():
    assert by_kernel(rtol=1e-6).meas[1, ar.BURNT] == pytest.approx(by_scipy()[2], abs=1e-4)


def test_never_lets_go_by_itself():
    """Rotor and drive turn on, the load stands, the disc slips to the end and carries its torque, burnt or not."""
    r = by_kernel()
    after = r.t > by_scipy()[1] + 1e-6
    assert {int(r.a.klass[1, m]) for m in r.mode(1)[after]} == {SLIPPING}
    assert np.isnan(r.meas[1, ar.DISCONNECT])
    assert r.torque(1)[after].min() > 0.8 * S
    assert r.speed(1)[after].min() > 10.0
    assert r.residual < 1e-8


def test_burning_changes_nothing_else():
    one, other = by_kernel(), by_kernel(limit=1e5)
    assert other.meas[1, ar.BURNT] == 0.0
    assert one.torque(1)[-1] == pytest.approx(other.torque(1)[-1], rel=1e-9)
    assert one.events(1, SLIDES)[0] == other.events(1, SLIDES)[0]
