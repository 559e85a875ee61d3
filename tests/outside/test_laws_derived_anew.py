"""Laws derived a second time, from statics and kinematics written out here, against sheets and kernel."""

from __future__ import annotations

from math import atan, cos, pi, radians, sin, sqrt

import numpy as np
import pytest
from lines import Line, pull, run, sheet_of
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq


@pytest.mark.parametrize(("strut", "cam"), [(2.0, 9.0), (3.0, 14.0), (4.0, 22.0)])
def test_a_sprag_as_a_rigid_body_between_two_races(strut, cam):
    """Inner race turned, outer held, no slip: the sprag turns by the inner contact's speed across the strut over its
    length, and both contacts give by its speed along.  Palmgren's line contact (mm, N), in Harris, from memory."""
    inner, outer, e, length, z = 0.03, 0.04, radians(strut), 0.012, 18
    s = sheet_of("tipping sprag", sprags=z, inner_radius=inner, outer_radius=outer, strut_angle=e, friction=0.09,
                 cam_angle=radians(cam), contact_length=length, cam_radius=0.006)  # fmt: skip
    at, along = np.array([0.0, inner]), np.array([sin(e), cos(e)])
    strut_length = brentq(lambda t: np.hypot(*(at + t * along)) - outer, 1e-6, 0.1)
    speed = np.array([inner, 0.0])  # of the inner contact, for a radian a second
    tips = radians(cam) / (abs(speed @ np.array([along[1], -along[0]])) / strut_length)
    gives = lambda F: 2e-3 * 3.81 * (2 * 0.91 / (pi * 206e3)) ** 0.9 * F**0.9 / (1e3 * length) ** 0.8
    load = lambda phi: brentq(lambda F: gives(F) - abs(speed @ along) * phi, 1e-12, 1e8)
    arm = abs(at[0] * along[1] - at[1] * along[0])
    assert s["twist at the setting"] == pytest.approx(tips, rel=1e-10)
    assert s["setting"] == pytest.approx(z * arm * load(tips), rel=1e-9)
    assert s["energy to tip"] == pytest.approx(quad(lambda p: z * arm * load(p), 0.0, tips)[0], rel=1e-7)
    wide = load(tips) * cos(e) / length * 206e9 / 1.82 * (1 / 0.006 + 1 / inner) / pi
    assert s["contact pressure at the setting"] == pytest.approx(sqrt(wide), rel=1e-9)


@pytest.mark.parametrize(("load", "speed", "runs_away"), [(120.0, 150.0, False), (100.0, 200.0, False),
                                                         (135.0, 150.0, True)])  # fmt: skip
def test_eddy_clutch_through_a_passing_jam(load, speed, runs_away):
    """Heating rotor, a jam of 60 N*m for 0.35 s: slip and rise by scipy's DOP853; it comes back only from below the
    second balance x + sqrt(x^2 - 1) of the peak slip, which the heat has moved out."""
    S, cold, rise, heat, cooling, j = 150.0, 40.0, 0.0039, 5000.0, 25.0, 0.3
    x = S / load
    slip = cold * (x - sqrt(x * x - 1))

    def slopes(t, y, extra):
        peak = cold * (1 + rise * y[1])
        T = 2 * S / ((speed - y[0]) / peak + peak / (speed - y[0]))
        return [(T - load - extra) / j, (T * (speed - y[0]) - cooling * y[1]) / heat]

    y, ends = [speed - slip, 0.0], []
    for t0, t1, extra in ((0.0, 0.35, 60.0), (0.35, 0.5, 0.0)):
        y = solve_ivp(slopes, (t0, t1), y, "DOP853", args=(extra,), rtol=1e-12, atol=1e-12).y[:, -1]
        ends.append(y)
    line = Line()
    a, b = line.lead(speed), line.mass(j, speed - slip)
    e = line.part("eddy-current clutch", a, b, setting=S, peak_slip=cold, resistivity_rise=rise, heat_capacity=heat,
                  cooling=cooling, residual=0.0, rated_current=2.0, resistance=12.0)  # fmt: skip
    pull(line, b, -load)
    line.part("partial jam", b, 0, drag=60.0, lasts=0.35)
    r = run(line, 0.5)
    assert [r.speed(b)[-1], r.state(e, 1)[-1]] == pytest.approx(list(ends[1]), rel=1e-8)
    met = speed - ends[0][0]
    assert (met > cold * (1 + rise * ends[0][1]) * (x + sqrt(x * x - 1))) == runs_away
    assert (speed - r.speed(b)[-1] > met) == runs_away


@pytest.mark.parametrize("kind", ["ball detent", "roller detent"])
@pytest.mark.parametrize(("friction", "guide"), [(0.11, 0.0), (0.15, 0.1), (0.05, 0.15)])
def test_element_on_a_sharp_edge_with_guide_friction(kind, friction, guide):
    """Forces on one element: spring down, guide friction down, contact normal and friction on the edge's slope."""
    half, radius, force, pitch, n = 0.004, 0.0075, 900.0, 0.05, 6
    names = {"ball detent": ("balls", "ball"), "roller detent": ("rollers", "roller")}[kind]
    s = sheet_of(kind, pitch_radius=pitch, pocket_half_width=half, flank="sharp edge", friction=friction,
                 guide_friction=guide, spring="coil", crest_torque=1.0,
                 **{names[0]: n, f"{names[1]}_force": force, f"{names[1]}_radius": radius})  # fmt: skip

    def torque(way, sense):
        slope = atan((half - way) / sqrt(radius**2 - (half - way) ** 2))
        mu, held = sense * friction, sense * guide
        rows = [[1.0, -(sin(slope) + mu * cos(slope))], [-held, cos(slope) - mu * sin(slope)]]
        return n * pitch * float(np.linalg.solve(rows, [0.0, force])[0])

    assert s["torque at the start of the climb"] == pytest.approx(torque(0.0, 1.0), rel=1e-10)
    assert s["torque returned while sliding home"] == pytest.approx(torque(0.0, -1.0), rel=1e-10)
    assert s["torque at the crest"] == pytest.approx(torque(half, 1.0), rel=1e-10, abs=1e-9)
