"""Magnetic particle and hysteresis clutch: coil, curve, heat, hysteresis loop.  Kernel runs at 1e-10 unless a line
says otherwise."""

from __future__ import annotations

from itertools import pairwise
from math import exp, log, pi, radians

import numpy as np
import pytest
from lines import Line, Run, run, sheet_of
from scipy.optimize import brentq

from simcore.solver import arrays as ar

PARTICLE, HYSTERESIS = "magnetic particle clutch", "magnetic hysteresis clutch"
SLIP, RISE, LAG = range(3)


def curve(x: float, rest: float, knee: float = 1.4) -> float:
    """Share of the rated torque at ``x`` of rated current, written anew."""
    s = 1.0 / knee
    return rest + (1.0 - rest) * x * ((1.0 + s**4) / (1.0 + (s * x) ** 4)) ** 0.25


def led(kind: str, speed: float, **raw: object) -> tuple[Line, int]:
    """A clutch to the ground, led at constant speed."""
    line = Line()
    return line, line.part(kind, line.lead(speed), 0, **raw)


def current(r: Run, rated: float, rest: float, S: float) -> np.ndarray:
    """Coil current read back from the slip torque, by inverting the curve."""
    return np.array([rated * brentq(lambda x, t=t: S * curve(x, rest) - abs(t), -1.0, 20.0, xtol=1e-14)
                     for t in r.torque(0)])  # fmt: skip


SWITCHED_ON = {"setting": 20.0, "rated_current": 1.0, "resistance": 24.0, "inductance": 0.9, "cooling": 0.0,
               "excitation": "programmed", "current_times": (0.0, 0.0)}  # fmt: skip


def test_current_rises_with_the_coil():
    """0.9 H, 24 ohm: 1 - exp(-R*t/L); 63.2 % at 37.5 ms, 95 % at 112.33996 ms.  RL circuit, textbook."""
    line, _ = led(PARTICLE, 5.0, currents=(0.0, 1.0), stiffness=1e6, **SWITCHED_ON)
    r = run(line, 0.2, h_max=2e-3)
    slides = (r.t > 1e-3) & (r.mode(0) == 3)
    i = current(r, 1.0, 0.02, 20.0)
    assert i[slides] == pytest.approx(-np.expm1(-r.t[slides] * 24.0 / 0.9), abs=1e-8)
    for share, instant in ((1.0 - 1.0 / np.e, 37.5e-3), (0.95, 112.33996e-3)):
        at = 20.0 * curve(share, 0.02)
        assert r.zeros(r.torque(0) - at)[0] == pytest.approx(instant, rel=1e-7)


def test_three_times_the_voltage():
    """Up to rated current at 15.2049416 ms.  L/R*ln(3/2), closed form."""
    line, _ = led(PARTICLE, 5.0, currents=(0.0, 3.0), stiffness=1e6, **SWITCHED_ON)
    r = run(line, 0.03, h_max=5e-4)
    assert r.zeros(r.torque(0) - 20.0)[0] == pytest.approx(15.2049416e-3, rel=1e-7)


def test_current_follows_a_ramp_late():
    """Ramp a*t: i = a*(t - tau + tau*exp(-t/tau)).  RL circuit, textbook."""
    raw = SWITCHED_ON | {"current_times": (0.0, 0.2), "currents": (0.0, 1.0)}
    line, _ = led(HYSTERESIS, 5.0, **raw)
    r = run(line, 0.2, h_max=2e-3)
    tau = 0.9 / 24.0
    lag = 5.0 * (r.t - tau + tau * np.exp(-r.t / tau)) - 5.0 * r.t
    assert r.state(0, 1)[r.t < 0.2] == pytest.approx(lag[r.t < 0.2], abs=1e-9)


@pytest.mark.parametrize(("kind", "rest"), [(PARTICLE, 0.02), (HYSTERESIS, 0.015)])
@pytest.mark.parametrize("x", [0.0, 0.25, 0.5, 1.0, 1.5, 3.0])
def test_torque_by_current(kind, rest, x):
    """Slip torque at a fixed current, and straight within 5 % of rated up to 0.9 of it (common practice, no
    source)."""
    line, e = led(
        kind, 5.0, setting=20.0, rated_current=1.0, current=x, **({"eddy": 0.0} if kind == HYSTERESIS else {})
    )
    slipping = run(line, 0.2).torque(e)[-1]
    assert slipping == pytest.approx(20.0 * curve(x, rest), rel=1e-9)
    if x < 0.95:
        assert abs(slipping / 20.0 - (rest + (1.0 - rest) * x)) < 0.05


@pytest.mark.parametrize("kind", [PARTICLE, HYSTERESIS])
def test_current_for_a_requested_torque(kind):
    """The curve turned round, by root finding."""
    raw = {"setting": 20.0, "rated_current": 1.0, "residual": 0.03, "saturation": 1.2, "requested_torque": 13.0}
    s = sheet_of(kind, **raw)
    x = brentq(lambda x: 20.0 * curve(x, 0.03, 1.2) - 13.0, 0.0, 2.0, xtol=1e-14)
    assert s["current at the setting"] == pytest.approx(x, rel=1e-10)
    assert s["setting"] == pytest.approx(13.0, rel=1e-10)


def test_slip_power_warms_the_body():
    """P/G*(1 - exp(-G*t/C)); burnt at C/G*ln(P/(P - G*limit)).  One heat capacity with cooling, textbook."""
    line, e = led(PARTICLE, 25.0, setting=20.0, stiffness=1e7, heat_capacity=500.0, cooling=2.0, heat_limit=70.0)
    r = run(line, 200.0, h_max=2.0)
    late = 20.0 / 1e7 / 25.0  # slides once wound up
    assert r.state(e, RISE)[-1] == pytest.approx(250.0 * -np.expm1(-(200.0 - late) / 250.0), rel=1e-8)
    assert r.heat(e)[-1] == pytest.approx(500.0 * (200.0 - late), rel=1e-8)
    assert r.meas[e, ar.BURNT] == pytest.approx(250.0 * log(500.0 / (500.0 - 140.0)) + late, rel=1e-8)
    assert sheet_of(PARTICLE, setting=20.0, cooling=2.0, heat_limit=70.0)["slip power borne continuously"] == 140.0


@pytest.mark.parametrize(("limit", "burns"), [(249.0, True), (251.0, False)])
def test_burns_only_past_its_limit(limit, burns):
    """500 W over 2 W/K end at 250 K.  Closed form."""
    line, e = led(PARTICLE, 25.0, setting=20.0, heat_capacity=50.0, cooling=2.0, heat_limit=limit)
    assert bool(run(line, 400.0, h_max=2.0).meas[e, ar.BURNT] > 0.0) is burns


def test_warm_coil_on_fixed_voltage():
    """Current u/(R*(1 + a*rise)) with G*rise = T(i)*nu in the end, by root finding; copper 0.39 %/K."""
    line, e = led(PARTICLE, 25.0, setting=20.0, rated_current=1.0, resistance=24.0, voltage=24.0, heat_capacity=50.0,
                  cooling=5.0, excitation="fixed voltage")  # fmt: skip
    r = run(line, 300.0, h_max=1.0)
    T = lambda rise: 20.0 * curve(1.0 / (1.0 + 0.0039 * rise), 0.02)
    rise = brentq(lambda x: 5.0 * x - 25.0 * T(x), 0.0, 200.0, xtol=1e-12)
    assert r.state(e, RISE)[-1] == pytest.approx(rise, rel=1e-8)
    assert r.torque(e)[-1] == pytest.approx(T(rise), rel=1e-8)
    assert r.torque(e)[-1] < 17.0


RING = {"pole_pairs": 6, "loop_energy": 25e3, "ring_diameter": 0.1, "ring_width": 0.04 / pi, "ring_thickness": 0.01,
        "eddy": 0.0, "lag_angle": radians(60.0)}  # fmt: skip


def test_torque_by_the_loop():
    """40 cm^3 of 25 kJ/m^3, six pole pairs: p*W*V/(2*pi) = 0.954929659 N*m at any slip speed; one turn of slip
    loses p*W*V = 6 J.  Steinmetz's loss per cycle, textbook."""
    assert sheet_of(HYSTERESIS, **RING)["setting"] == pytest.approx(0.954929659, rel=1e-8)
    for speed in (0.5, 5.0, 300.0):
        line, e = led(HYSTERESIS, speed, **RING)
        r = run(line, 4.2 * pi / speed)
        assert r.torque(e)[-1] == pytest.approx(0.954929659, rel=1e-8)
        turn = np.interp([0.3, 0.3 + 2.0 * pi], r.angle(1), r.heat(e))
        assert turn[1] - turn[0] == pytest.approx(6.0, rel=1e-8)


def test_eddy_part():
    """5 % per 1000 rpm on top (common practice, no source)."""
    line, e = led(HYSTERESIS, 1000.0 * pi / 30.0, setting=10.0, eddy=0.05 / (1000.0 * pi / 30.0))
    assert run(line, 0.1).torque(e)[-1] == pytest.approx(10.5, rel=1e-9)


def test_virgin_curve():
    """Eight elements keep within 0.4 % of 2*x - x^2."""
    line, e = led(HYSTERESIS, 1e-3, setting=10.0, lag_angle=radians(60.0), eddy=0.0)
    r = run(line, 200.0, h_max=0.2, fast=1e-3)
    x = r.angle(1) / radians(10.0)
    away = np.abs(r.torque(e) / 10.0 - np.where(x < 1.0, 2.0 * x - x * x, 1.0)).max()
    assert 0.0035 < away < 0.004


TWIST, N = radians(10.0), 8
GIVES = TWIST * (np.arange(N) + 0.5) / N


def virgin(phi: np.ndarray) -> np.ndarray:
    """First loading of eight elements with 10 N*m in all."""
    return 20.0 / (N * TWIST) * np.sum([np.clip(phi, -g, g) for g in GIVES], axis=0)


def swung(*swings: tuple[float, float], **raw: object) -> tuple[Line, int]:
    """Hubs led by swings (amplitude, frequency) so heavy that the clutch takes 1e-9 of their energy."""
    line = Line()
    ends = [0, 0]
    for j, (amplitude, w) in enumerate(swings):
        ends[j] = line.mass(1e13, 0.0, amplitude)
        line.part("shaft", ends[j], 0, stiffness=1e13 * w * w)
    return line, line.part(HYSTERESIS, *ends, **({"setting": 10.0, "lag_angle": radians(60.0), "eddy": 0.0} | raw))


@pytest.mark.parametrize(("share", "eddy"), [(1.0, 0.0), (1.5, 0.0), (0.6, 0.0), (1.5, 0.01)])
def test_area_of_the_loop(share, eddy):
    """One cycle through all four quadrants loses 4*k*sum(g*(A - g)), by Masing's rule; within 1 % of the smooth
    curve's 4/3*T*twist at full amplitude; the eddy part adds pi*c*w*A^2.  Closed form."""
    A = share * TWIST
    line, e = swung((A, 1.0), eddy=eddy)
    first, second = (run(line, 2.0 * pi * i, fast=0.03).heat(e)[-1] for i in (1, 2))
    k = 20.0 / (N * TWIST)
    area = 4.0 * k * sum(g * (A - g) for g in GIVES if g < A)
    assert second - first == pytest.approx(area + pi * 10.0 * eddy * A * A, rel=1e-7)
    if share == 1.0:
        assert area == pytest.approx(4.0 / 3.0 * 10.0 * TWIST, rel=0.01)


def test_branch_back_is_the_virgin_curve_doubled():
    """T = T0 - 2*f((phi0 - phi)/2).  Masing's rule."""
    A = 0.8 * TWIST
    line, e = swung((A, 1.0))
    r = run(line, pi, fast=0.03, h_max=0.02)
    back = virgin(np.array(A)) - 2.0 * virgin((A - r.angle(1)[1:]) / 2.0)
    assert r.torque(e)[1:] == pytest.approx(back, abs=1e-7)


def test_returns_to_where_it_turned():
    """Madelung's rules: a small loop closes at the point where it began, and from there the branch goes on as if
    the loop had not been.  Twist A*cos(t) - B*cos(5t)."""
    A, B = 0.6 * TWIST, 0.25 * TWIST
    line, e = swung((A, 1.0), (B, 5.0))
    r = run(line, 2.0 * pi, fast=0.06, h_max=5e-3)
    twist = lambda t: A * np.cos(t) - B * np.cos(5.0 * t)
    rate = lambda t: -A * np.sin(t) + 5.0 * B * np.sin(5.0 * t)
    phi, T = r.angle(1) - r.angle(2), r.torque(e)
    assert phi == pytest.approx(twist(r.t), abs=1e-8)
    grid = np.linspace(0.01, pi, 4000)
    turns = [brentq(rate, a, b, xtol=1e-14) for a, b in pairwise(grid) if rate(a) * rate(b) < 0.0]
    top, low, mid = turns[0], turns[1], turns[2]
    assert twist(low) < twist(mid) < twist(top)  # falls from the top, turns at low, and again at mid
    closes = brentq(lambda t: twist(t) - twist(low), mid, turns[3], xtol=1e-14)
    at = lambda t: float(np.interp(t, r.t, T))
    assert at(closes) == pytest.approx(at(low), abs=2e-3)
    assert abs(at(mid) - at(low)) > 1.0
    # on the branch from the top, before the loop and after it
    for a, b in ((top, low), (closes, turns[3])):
        on = (r.t > a + 1e-9) & (r.t < b - 1e-9)
        branch = virgin(np.array(twist(top))) - 2.0 * virgin((twist(top) - phi[on]) / 2.0)
        assert on.sum() > 10
        assert T[on] == pytest.approx(branch, abs=1e-6)


def test_supply_does_work_on_the_wind_up():
    """Held at a twist, the torque follows the current; 0.5*k*(f1 - f0)*sum(z^2) comes from the supply and is no
    heat.  Closed form."""
    line = Line()
    n = line.lead(0.0, 0.3 * TWIST)
    raw = {"setting": 10.0, "lag_angle": radians(60.0), "rated_current": 1.0, "excitation": "programmed",
           "current_times": (0.1, 0.1), "currents": (0.5, 1.0), "inductance": 0.9}  # fmt: skip
    e = line.part(HYSTERESIS, n, 0, **raw)
    r = run(line, 0.5, fast=1.0, h_max=5e-3)
    z = np.minimum(GIVES, 0.3 * TWIST)
    k = 20.0 / (N * TWIST)
    i = 1.0 - 0.5 * exp(-0.4 * 90.0 / 0.9)
    f0, f1 = curve(0.5, 0.015), curve(i, 0.015)
    assert r.torque(e)[-1] == pytest.approx(f1 * virgin(np.array(0.3 * TWIST)), rel=1e-8)
    assert r.state(e, 2)[-1] == pytest.approx(0.5 * k * (f1 - f0) * np.sum(z * z), rel=1e-8)
    assert np.ptp(r.heat(e)[r.t > 0.0]) == 0.0
