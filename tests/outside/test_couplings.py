"""Couplings and universal joints through the kernel against closed forms and scipy.  Kernel runs at 1e-10."""

from __future__ import annotations

from math import atan2, cos, pi, radians, sin, sqrt

import mpmath
import numpy as np
import pytest
from lines import Line, Start, pull, run
from scipy.integrate import solve_ivp

DEG20 = radians(20.0)


def last(r, values, since):
    """The values of the trace after ``since`` [s]."""
    return values[r.t > since]


def test_speed_ratio_and_angle_of_a_universal_joint():
    """20 deg: 0.939692621 to 1.06417777 twice a turn, and tan(driven) = tan(driving)/cos(beta) all along.  Cardan
    joint, textbook.  A light disc behind a stiff joint: the twist left is J*a/k < 4e-8 rad."""
    line = Line()
    a, b = line.lead(1.0), line.mass(1e-3, 1.0 / cos(DEG20))
    line.part("universal joint", a, b, joint_angle=DEG20, stiffness=2e4, phase=0.0)
    r = run(line, 2 * pi)
    assert r.speed(b).min() == pytest.approx(0.939692621, rel=1e-6)
    assert r.speed(b).max() == pytest.approx(1.06417777, rel=1e-6)
    x, y = r.angle(a), r.angle(b)
    expected = np.arctan2(np.sin(x), np.cos(x) * cos(DEG20))
    assert np.abs(np.sin(y - expected)).max() < 2e-7
    assert np.abs(y - x).max() == pytest.approx(radians(1.7816819), rel=1e-5)


@pytest.mark.parametrize(("first", "second", "low", "high"), [
    (0.0, 90.0, 1.0, 1.0), (45.0, 135.0, 1.0, 1.0), (20.0, -70.0, 1.0, 1.0),
    (0.0, 0.0, cos(DEG20) ** 2, 1.0 / cos(DEG20) ** 2), (45.0, 45.0, cos(DEG20) ** 2, 1.0 / cos(DEG20) ** 2),
])  # fmt: skip
def test_two_joints_in_series(first, second, low, high):
    """Equal angles, yokes of the middle shaft in one plane: the ripple is undone; a quarter turn off: doubled.
    Textbook.  The middle shaft ripples either way."""
    line = Line()
    a, m, b = line.lead(5.0), line.mass(1e-3, 5.0), line.mass(1e-3, 5.0)
    for i, j, phase in ((a, m, first), (m, b, second)):
        line.part("universal joint", i, j, joint_angle=DEG20, stiffness=1e4, phase=radians(phase), relative_damping=0.2)
    r = run(line, 0.5 + 2 * pi / 5.0, w1=3000.0, rtol=1e-8)
    middle, end = last(r, r.speed(m), 0.5) / 5.0, last(r, r.speed(b), 0.5) / 5.0
    assert middle.min() == pytest.approx(cos(DEG20), rel=1e-4)
    assert middle.max() == pytest.approx(1.0 / cos(DEG20), rel=1e-4)
    assert end.min() == pytest.approx(low, rel=1e-4)
    assert end.max() == pytest.approx(high, rel=1e-4)


def test_free_turning_joint_keeps_its_energy():
    """(Ja + r^2*Jb)*wa^2 stays: a quarter turn after the fastest place wa has risen by the root of
    (Ja + Jb/cos^2)/(Ja + Jb*cos^2).  Energy of a rigid mechanism (closed form); stiff joint."""
    line = Line()
    a, b = line.mass(0.02, 10.0), line.mass(0.05, 10.0 / cos(DEG20))
    e = line.part("universal joint", a, b, joint_angle=DEG20, stiffness=3e6, phase=0.0)
    r = run(line, 1.3)
    c = cos(DEG20) ** 2
    assert r.speed(a).max() / 10.0 == pytest.approx(sqrt((0.02 + 0.05 / c) / (0.02 + 0.05 * c)), rel=1e-5)
    assert r.speed(a).min() / 10.0 == pytest.approx(1.0, rel=1e-5)
    assert r.heat(e)[-1] == 0.0
    assert r.residual < 1e-8


@pytest.mark.parametrize("kind", ["universal joint", "misaligned coupling"])
def test_ledger_over_many_turns(kind):
    """Driven, loaded, with play and damping: energy balances; heat only grows."""
    raw = {
        "universal joint": {"joint_angle": DEG20, "lash": 0.004},
        "misaligned coupling": {"error_once": 0.01, "error_twice": 0.01, "progression": 2.0, "twist_at_rated": 0.01,
                                "lash": 0.004},
    }[kind]  # fmt: skip
    line = Line()
    a, b = line.mass(0.02, 150.0), line.mass(0.05, 150.0)
    pull(line, a, 8.0)
    e = line.part(kind, a, b, stiffness=8000.0, relative_damping=0.5, start=Start(mode=0), **raw)
    load = line.part("friction load", b, 0, running=8.0)
    r = run(line, 2.0, w1=300.0, rtol=1e-7)
    assert len(r.events(e)) > 50
    assert r.residual < 1e-6
    for part in (e, load):
        assert np.diff(r.heat(part)).min() > -1e-9
    assert r.heat(e)[-1] > 1.0


@pytest.mark.parametrize("order", [1, 2])
def test_shaking_of_a_misaligned_coupling(order):
    """Torque amplitude e*J*W^2*sqrt(k^2 + c^2*W^2)/sqrt((k - J*W^2)^2 + c^2*W^2) at W = order*w.  Foundation that
    shakes (closed form), Den Hartog, Mechanical Vibrations."""
    k, c, j, w, e = 900.0, 0.6, 0.05, 70.0, 0.01
    line = Line()
    a, b = line.lead(w), line.mass(j, w)
    part = line.part("misaligned coupling", a, b, stiffness=k, start=Start(row={"c": c}),
                     **{"error_once" if order == 1 else "error_twice": e})  # fmt: skip
    r = run(line, 6.0)
    assert line.elements[part].part.kind.name == "misaligned coupling"
    rate = order * w
    amplitude = e * j * rate**2 * sqrt(k**2 + (c * rate) ** 2) / sqrt((k - j * rate**2) ** 2 + (c * rate) ** 2)
    turn = last(r, r.torque(part), 6.0 - 2 * pi / w)
    assert turn.max() == pytest.approx(amplitude, rel=1e-3)
    assert turn.min() == pytest.approx(-amplitude, rel=1e-3)


@pytest.mark.parametrize("swing", [0.01, 0.05, 0.12])
def test_period_of_a_progressive_coupling(swing):
    """4*K(m)/sqrt((k + g*A^2)/J), m = g*A^2/(2*(k + g*A^2)).  Duffing's spring, textbook; mpmath's elliptic
    integral, and the same by quadrature of the energy."""
    rated, twist, j = 90.0, 0.06, 0.4
    k = rated / twist / 1.5
    g = 0.5 * k / twist**2
    stiff = k + g * swing**2
    period = 4 * mpmath.ellipk(g * swing**2 / (2 * stiff)) / mpmath.sqrt(stiff / j)

    def slowness(u):  # swing = A*sin(u): no singular end
        x = swing * mpmath.sin(u)
        return 1 / mpmath.sqrt((k + 0.5 * g * (swing**2 + x**2)) / j)

    assert float(4 * mpmath.quad(slowness, [0, mpmath.pi / 2])) == pytest.approx(float(period), rel=1e-12)
    line = Line()
    n = line.mass(j, 0.0, swing)
    e = line.part("flexible coupling", n, 0, rated_torque=rated, twist_at_rated=twist, progression=2.5)
    r = run(line, 3.2 * float(period), fast=1.0)
    turns = [t for t, _ in r.turning(n)]
    assert np.diff(turns) == pytest.approx(0.5 * float(period), rel=1e-8)
    energy = 0.5 * k * swing**2 + 0.25 * g * swing**4
    assert np.abs(r.speed(n)).max() == pytest.approx(sqrt(2 * energy / j), rel=1e-4)
    assert r.torque(e)[0] == pytest.approx(k * swing + g * swing**3, rel=1e-12)
    assert r.residual < 1e-9


@pytest.mark.parametrize(("swing", "progression", "factor", "psi"), [
    (0.02, 1.0, 1.0, 0.8), (0.02, 2.5, 1.0, 0.8), (0.09, 2.5, 1.0, 0.8), (0.09, 2.5, 0.5, 0.4),
])  # fmt: skip
@pytest.mark.parametrize("warm", [0.7, 1.6])
def test_relative_damping_is_energy_lost_over_energy_stored(swing, progression, factor, psi, warm):
    """psi = loss of one harmonic cycle at w1 over the elastic energy at its end, at any amplitude and temperature.
    DIN 740-2 (from memory).  Led by a swing so heavy that it does not feel the coupling."""
    w1 = 25.0
    line = Line()
    n = line.mass(1e13, 0.0, swing)
    line.part("shaft", n, 0, stiffness=1e13 * w1**2)
    e = line.part("flexible coupling", n, 0, rated_torque=90.0, twist_at_rated=0.06, progression=progression,
                  relative_damping=0.8, damping_factor=factor, temperature_factor=warm)  # fmt: skip
    r = run(line, 2 * pi / w1, w1=w1, fast=swing * w1)
    growth = (progression - 1) / 3
    k = warm * 90.0 / 0.06 / (1 + growth)
    stored = 0.5 * k * swing**2 * (1 + 0.5 * growth * (swing / 0.06) ** 2)
    assert r.heat(e)[-1] / stored == pytest.approx(psi, rel=1e-8)


def test_rigid_coupling_between_two_discs():
    """120 N*m at 0.03 deg; discs of 0.02 and 0.05 kg*m^2 meet at 0.4 rad/s: v*sqrt(k*J'), J' the two in series;
    half a period pi*sqrt(J'/k) later the torque is gone.  Textbook."""
    k, j = 120.0 / radians(0.03), 0.02 * 0.05 / 0.07
    line = Line()
    a, b = line.mass(0.02, 0.4), line.mass(0.05)
    e = line.part("rigid coupling", a, b, rated_torque=120.0)
    r = run(line, 1.2 * pi * sqrt(j / k))
    assert r.peak(e) == pytest.approx(0.4 * sqrt(k * j), rel=1e-8)
    assert r.zeros(r.torque(e))[0] == pytest.approx(pi * sqrt(j / k), rel=1e-8)


@pytest.mark.parametrize("phase", [0.0, 45.0, 90.0])
def test_steady_running_with_a_joint_becomes_a_cycle(phase):
    """The solved start is a state of equal speeds under the torque ratio of that place (power in = power out); the
    run settles from there to one and the same ripple, whatever the place.  Forced swing of two discs to first order
    in q = tan^2(beta/2), textbook: T*(1/K + 1/(iW*Za) + 1/(iW*Zb)) = q with W = 2*w."""
    beta, k, c, ja, jb, drag = radians(8.0), 1500.0, 0.8, 0.03, 0.04, 0.1
    line = Line()
    a, b = line.mass(ja, 100.0), line.mass(jb, 100.0)
    pull(line, a, 12.0)
    e = line.part("universal joint", a, b, joint_angle=beta, stiffness=k, phase=radians(phase),
                  start=Start(row={"c": c}))  # fmt: skip
    line.part("friction load", b, 0, running=2.0, viscous=drag)
    r = run(line, 6.0, steady=True, rtol=1e-8)
    ratio = {0.0: 1 / cos(beta), 45.0: 1.0, 90.0: cos(beta)}[phase]
    assert r.torque(e)[0] == pytest.approx(12.0 / ratio, rel=1e-8)
    assert r.speed(a)[0] == r.speed(b)[0] == pytest.approx((12.0 / ratio - 2.0) / drag, rel=1e-8)
    one, other = (r.torque(e)[(r.t > t) & (r.t < t + 0.1)] for t in (5.0, 5.5))
    w = 100.0 * 2j
    swing = abs((beta / 2) ** 2 / (1 / (k + c * w) + 1 / (w * w * ja) + 1 / (w * (w * jb + drag))))
    for turn in (one, other):
        assert 0.5 * (turn.max() - turn.min()) == pytest.approx(swing, rel=0.02)
        assert 0.5 * (turn.max() + turn.min()) == pytest.approx(12.0, rel=0.02)


K, J_A, J_B, HALF, C, DRAG = 6000.0, 0.02, 0.05, 0.003, 1.2, 0.15
CASES = {
    "rigid coupling": ({}, 0.0, 0.0),
    "flexible coupling": ({"progression": 2.5, "twist_at_rated": 0.01}, 0.5 / 0.01**2, HALF),
    "misaligned coupling": (
        {"progression": 2.5, "twist_at_rated": 0.01, "error_once": 0.03, "error_twice": 0.01, "phase": 0.6},
        0.5 / 0.01**2, HALF,
    ),
    "universal joint": ({"joint_angle": 0.4, "phase": 0.0}, 0.0, HALF),
}  # fmt: skip


@pytest.mark.parametrize("kind", CASES)
def test_rattle_against_scipy(kind):
    """A driven disc, the coupling with play, a dragged disc: every switch and the end, scipy's DOP853 branch by
    branch, from equations written out here."""
    raw, grow, half = CASES[kind]
    loose = {"lash": 2 * half} if half else {}
    line = Line()
    a, b = line.mass(J_A, 41.0), line.mass(J_B, 40.0)
    pull(line, a, 7.0)
    start = Start(mode=0, row={"c": C})
    e = line.part(kind, a, b, stiffness=K, start=start, **raw, **loose)
    line.part("friction load", b, 0, running=0.0, viscous=DRAG)
    r = run(line, 0.6)
    events, y = reference(kind, grow, half, 0.6)
    got = [(t, m) for t, m in ((float(v[0]), int(v[4])) for v in r.out.events if v[1] == e)]
    assert [m for _, m in got] == [m for _, m in events]
    assert [t for t, _ in got] == pytest.approx([t for t, _ in events], abs=1e-6)
    assert len(got) >= (5 if half else 0)
    assert [r.angle(a)[-1], r.angle(b)[-1], r.speed(a)[-1], r.speed(b)[-1]] == pytest.approx(list(y), rel=1e-7)


def rattle(kind, sense=1.0, scale=1.0):
    """The same line turned the other way, or with all torques, stiffnesses, dampings and inertias times ``scale``."""
    raw, _, half = CASES[kind]
    raw = {**raw, "lash": 2 * half} if half else dict(raw)
    raw["phase"] = sense * raw.get("phase", 0.0)
    if kind in ("rigid coupling", "flexible coupling"):
        del raw["phase"]
    line = Line()
    a, b = line.mass(J_A * scale, 41.0 * sense), line.mass(J_B * scale, 40.0 * sense)
    pull(line, a, 7.0 * sense * scale)
    start = Start(mode=0, row={"c": C * scale})
    e = line.part(kind, a, b, stiffness=K * scale, start=start, **raw)
    line.part("friction load", b, 0, running=0.0, viscous=DRAG * scale)
    r = run(line, 0.3, rtol=1e-9)
    return r, r.torque(e), [float(v[0]) for v in r.out.events if v[1] == e]


@pytest.mark.parametrize("kind", CASES)
def test_mirrored_and_scaled(kind):
    """Turned the other way: the same instants, torques reversed.  All eight times as large: the same instants to
    the last bit, torques eight times as large."""
    there, torque, instants = rattle(kind)
    _, back, mirrored = rattle(kind, -1.0)
    _, eight, scaled = rattle(kind, scale=8.0)
    assert np.abs(torque).max() > 2.0
    assert mirrored == pytest.approx(instants, abs=1e-9)
    assert back.min() == pytest.approx(-torque.max(), rel=1e-6)
    assert scaled == instants
    assert np.array_equal(8.0 * torque, eight)
    assert there.residual < 1e-8


def lead_of(kind, x):
    """Angle of hub b without twist, and its slope, at hub a's angle ``x``."""
    if kind == "universal joint":
        c = cos(0.4)
        ahead = atan2(sin(x), cos(x) * c) - atan2(sin(x), cos(x))
        return x + (ahead + pi) % (2 * pi) - pi, c / (c**2 * cos(x) ** 2 + sin(x) ** 2)
    if kind == "misaligned coupling":
        u = x + 0.6
        way = x + 0.03 * (sin(u) - sin(0.6)) + 0.01 * (sin(2 * u) - sin(1.2))
        return way, 1 + 0.03 * cos(u) + 0.02 * cos(2 * u)
    return x, 1.0


def reference(kind, grow, half, t_end):
    """Switches as (instant, new mode: 0 open, 1 forward, 2 backward, 3 and 4 parted) and the state at the end."""
    side = {0: 0, 1: 1, 2: -1, 3: 1, 4: -1}

    def flank(m, y):
        way, r = lead_of(kind, y[0])
        d = way - y[1] - side[m] * half
        T = K * d * (1 + grow * d * d) + C * (1 + 2 * grow * d * d) * (r * y[2] - y[3])
        return T, d, r

    def slopes(m):
        def f(t, y):
            T, _, r = flank(m, y)
            T = T if m in (1, 2) or half == 0.0 else 0.0
            return [y[2], y[3], (7.0 - r * T) / J_A, (T - DRAG * y[3]) / J_B]

        return f

    def exits(m):
        if half == 0.0:
            return []
        if m == 0:
            return [(lambda t, y: half - flank(0, y)[1], 1), (lambda t, y: half + flank(0, y)[1], 2)]
        s = side[m]
        if m < 3:
            return [(lambda t, y: s * flank(m, y)[0], m + 2)]
        return [(lambda t, y: s * flank(m, y)[1], 0), (lambda t, y: -s * flank(m, y)[0], m - 2)]

    t, y, m, out = 0.0, np.array([0.0, 0.0, 41.0, 40.0]), 0, []
    while t < t_end:
        ways = exits(m)
        for f, _ in ways:
            f.terminal, f.direction = True, -1
        s = solve_ivp(slopes(m), (t, t_end), y, "DOP853", events=[f for f, _ in ways], rtol=1e-12, atol=1e-12,
                      max_step=2e-4)  # fmt: skip
        t, y = float(s.t[-1]), s.y[:, -1]
        for hits, (_, new) in zip(s.t_events or [], ways, strict=True):
            if len(hits):
                m = 0 if new > 2 and side[m] * flank(m, y)[1] <= 0.0 else new
                out.append((t, m))
                break
    return out, y
