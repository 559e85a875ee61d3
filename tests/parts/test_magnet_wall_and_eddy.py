"""Magnet disc with wall and warmth, eddy-current clutch: power, mirror, scale, ledger, and scipy's own solutions."""

from __future__ import annotations

from math import cos, inf, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lines import Line, Run, Start, pull, row_of, run
from scipy.integrate import solve_ivp
from states import REGISTRY, row

from simcore.contract import Q
from simcore.parts import eddy_current_clutch as ec
from simcore.parts import magnet_disc as md
from simcore.solver.arrays import BURNT

TIGHT = {"rtol": 1e-12, "atol": 1e-12, "method": "DOP853"}
speed = st.floats(-300.0, 300.0)
angle = st.floats(-7.0, 7.0)
often = settings(max_examples=300, deadline=None)


@given(wa=speed, wb=speed, x=angle, side=st.floats(0.0, 1.0), peak=st.sampled_from([None, 20.0, 150.0]))
@often
def test_wall_takes_exactly_what_it_heats(wa, wb, x, side, peak):
    """Both hubs' drag times their speeds is the wall's heat, and never negative, whatever the speeds."""
    more = {} if peak is None else {"wall_peak_speed": peak}
    p = row_of("magnet disc", setting=80.0, pole_pairs=4, wall_drag=0.1, wall_side=side, relative_damping=0.0, **more)
    q = Q(md.SLIP_F, 0.0, x / 4, wa - wb, x / 4, wa, 0.0, wb, (0.0, 0.0), [0.0] * 5, (), p, ())
    ga, gb = md.ground(q, 0.0)
    heat = md.loss(q, 0.0)
    assert heat >= 0.0
    assert -(ga * wa + gb * wb) == pytest.approx(heat, rel=1e-12, abs=1e-12 * (1.0 + wa * wa + wb * wb))


@given(x=angle, nu=st.floats(-30.0, 30.0), rise=st.floats(0.0, 200.0))
@often
def test_field_that_weakens_becomes_heat(x, nu, rise):
    """While the magnets get hotter: T*nu less the wall's drag = dE/dt + loss, by central differences."""
    p = row(REGISTRY["magnet disc"], {"setting": 80.0, "pole_pairs": 4, "wall_drag": 0.1, "remanence_fade": -0.002,
                                      "relative_damping": 0.5, "heat_capacity": 5.0, "cooling": 0.5})  # fmt: skip
    mem = [0.0, 0.0, 1.0, 0.0, 0.0]

    def at(s: float, warming: float) -> Q:
        turned = x / 4 + s * nu
        return Q(md.SLIP_F, 0.0, turned, nu, turned, 20.0 + nu, 0.0, 20.0, (0.0, rise + s * warming), mem, (), p, ())

    q = at(0.0, 0.0)
    warming = md.rate(q, 0.0)[1]
    ga, gb = md.ground(q, 0.0)
    power = md.torque(q) * nu - ga * q.wa - gb * q.wb
    h = 1e-6
    change = (md.store(at(h, warming)) - md.store(at(-h, warming))) / (2.0 * h)
    assert warming > 0.0
    assert md.loss(q, 0.0) >= 0.0
    assert power == pytest.approx(change + md.loss(q, 0.0), rel=1e-6, abs=1e-5)


MAGNETS = {"setting": 80.0, "pole_pairs": 4, "wall_drag": 0.05, "wall_speed": 40.0, "wall_peak_speed": 60.0,
           "wall_side": 0.4, "remanence_fade": -0.002, "relative_damping": 3.0, "heat_capacity": 40.0,
           "cooling": 2.0, "heat_limit": 20.0}  # fmt: skip
EDDY = {"setting": 100.0, "peak_slip": 12.0, "knee_current": 1.6, "residual": 0.01, "heat_capacity": 40.0,
        "cooling": 3.0, "inductance": 0.6}  # fmt: skip
BOTH = {"magnet disc": MAGNETS, "eddy-current clutch": EDDY}


def crash(kind: str, sense: float = 1.0, scale: float = 1.0) -> Line:
    """Motor, protection, shaft, load, a jam of 0.25 s that lets it go and come back."""
    line = Line()
    a, b, c = (line.mass(j * scale, sense * 40.0) for j in (0.15, 0.05, 0.1))
    raw = dict(BOTH[kind])
    for name in ("setting", "heat_capacity", "cooling"):
        raw[name] *= scale
    line.part("constant-torque motor", 0, a, torque=60.0 * scale, speed=sense * 40.0, droop=0.05, inertia=1.0)
    line.part(kind, a, b, **raw)
    line.part("shaft", b, c, stiffness=5000.0 * scale, relative_damping=0.25)
    line.part("friction load", c, 0, running=15.0 * scale, viscous=0.05 * scale)
    line.part("partial jam", c, 0, drag=180.0 * scale, lasts=0.25)
    return line


def crashed(kind: str, **how: float) -> Run:
    return run(crash(kind, **how), 2.0, t0=-0.01, steady=True, w1=60.0, rtol=1e-8)


@pytest.mark.parametrize("kind", BOTH)
def test_lets_go_and_comes_back(kind):
    """Through a jam and back into step or under the peak: the energy balances, heat never falls."""
    r = crashed(kind)
    assert r.a.klass[1, r.mode(1)].max() == 2
    assert r.mode(1)[-1] == 0
    assert r.residual < 1e-6
    for e in range(1, r.count):
        assert np.diff(r.heat(e)).min() >= -1e-9 * r.meas[-1, 6]


@pytest.mark.parametrize("kind", BOTH)
def test_mirror(kind):
    there, back = crashed(kind), crashed(kind, sense=-1.0)
    assert there.out.events[:, 0] == pytest.approx(back.out.events[:, 0], abs=1e-10)
    assert back.peak(1) == pytest.approx(there.peak(1), rel=1e-9)
    assert back.torque(1)[-1] == pytest.approx(-there.torque(1)[-1], rel=1e-9)
    assert back.heat(1)[-1] == pytest.approx(there.heat(1)[-1], rel=1e-9)


@pytest.mark.parametrize("kind", BOTH)
def test_scale(kind):
    """Torques, inertias, heat capacities and cooling times eight: the same instants, eightfold torques."""
    one, eight = crashed(kind), crashed(kind, scale=8.0)
    assert eight.out.events[:, 0] == pytest.approx(one.out.events[:, 0], abs=1e-10)
    assert eight.peak(1) == pytest.approx(8.0 * one.peak(1), rel=1e-9)
    assert eight.state(1, 1)[-1] == pytest.approx(one.state(1, 1)[-1], rel=1e-8)


@pytest.mark.parametrize("kind", BOTH)
def test_free_running_loses_nothing(kind):
    """Both hubs at one speed, no wall, no load: no torque, no heat."""
    line = Line()
    raw = {k: v for k, v in BOTH[kind].items() if not k.startswith("wall")}
    e = line.part(kind, line.mass(0.1, 50.0), line.mass(0.2, 50.0), **raw)
    r = run(line, 1.0)
    assert not r.torque(e).any()
    assert r.heat(e)[-1] == 0.0


def changes(r: Run, e: int) -> list[tuple[float, int]]:
    """Instants and new modes of the switches that change the mode."""
    return [(float(v[0]), int(v[4])) for v in r.out.events if v[1] == e and v[3] != v[4]]


class CaughtPair:
    """Two halves with a wall, left alone: y = angle of a and b, speed of a and b, rise, hottest rise.

    The equations written anew; while the rise falls the hottest one stays.
    """

    T, p, c = 80.0, 4, 0.35
    ja, jb = 0.15, 0.1
    wall, side, w0 = 6e-3, 0.4, 60.0
    alpha, heat_cap, cooling = -2e-3, 40.0, 2.0

    def heat(self, y):
        x, wa, wb = self.p * (y[0] - y[1]), y[2], y[3]
        b2 = (1.0 + self.alpha * y[5]) ** 2
        ca, cb, cab = (b2 * self.wall * f for f in (self.side**2, (1 - self.side) ** 2, self.side * (1 - self.side)))
        whole = ca * wa**2 + cb * wb**2
        damped = ca * wa**2 / (1 + (wa / self.w0) ** 2) + cb * wb**2 / (1 + (wb / self.w0) ** 2)
        s = damped / whole
        ma, mb = s * (ca * wa + cab * wb * cos(x)), s * (cb * wb + cab * wa * cos(x))
        torque = self.T * b2 * sin(x) + self.c * (wa - wb)
        return torque, ma, mb, self.c * (wa - wb) ** 2 + ma * wa + mb * wb

    def slopes(self, hotter):
        def rhs(t, y):
            torque, ma, mb, heat = self.heat(y)
            warms = (heat - self.cooling * y[4]) / self.heat_cap
            return [y[2], y[3], (-torque - ma) / self.ja, (torque - mb) / self.jb, warms, warms if hotter else 0.0]

        return rhs

    def solve(self, y, t_end):
        """(pole slips, instant of catching, state at the end)."""
        t, hotter, poles, caught = 0.0, True, [], inf
        while t < t_end:

            def turn(t, y, hotter=hotter):
                return self.slopes(True)(t, y)[4] if hotter else y[5] - y[4] + 1e-13

            def pole(t, y):
                return cos(0.5 * self.p * (y[0] - y[1]))

            def catch(t, y):
                return y[2] - y[3]

            turn.terminal = True
            turn.direction = catch.direction = -1
            out = solve_ivp(self.slopes(hotter), (t, t_end), y, events=(turn, pole, catch), **TIGHT)
            poles += list(out.t_events[1])
            caught = min([caught, *out.t_events[2]])
            t, y, hotter = out.t[-1], out.y[:, -1], not hotter
        return [v for v in poles if v < caught], caught, y


def test_pair_that_catches_against_scipy():
    """One half turns, the other rests: poles slip, then they catch; wall and warmth act throughout."""
    model = CaughtPair()
    poles, caught, y = model.solve([0.0, 0.0, 60.0, 5.0, 3.0, 3.0], 1.5)
    line = Line()
    a, b = line.mass(model.ja, 60.0), line.mass(model.jb, 5.0)
    raw = MAGNETS | {"wall_drag": 0.0, "relative_damping": 0.0, "magnet_rise": 3.0}
    root = sqrt(model.wall)
    own = {"c": model.c, "wall_a": 0.4 * root, "wall_b": 0.6 * root, "wall_y": 60.0**-2}
    e = line.part("magnet disc", a, b, start=Start(row=own), **raw)
    r = run(line, 1.5, rtol=1e-11)
    assert len(poles) == 3
    assert r.events(e, md.SLIP_F)[: len(poles)] == pytest.approx(poles, abs=1e-6)
    back = [t for t, new in changes(r, e) if new != md.SLIP_F and t > poles[-1]]
    assert back[0] == pytest.approx(caught, abs=1e-6)
    got = [r.angle(a), r.angle(b), r.speed(a), r.speed(b), r.state(e), r.state(e, 1)]
    assert [v[-1] for v in got] == pytest.approx(list(y), rel=1e-7)
    assert r.state(e, 1)[-1] > r.state(e)[-1] + 0.05
    assert r.residual < 1e-8


class DrivenEddy:
    """Drive of 60 N*m on 0.1, load of 45 N*m on 0.3 kg*m^2; y = both speeds, current, rise; voltage by corners."""

    corners = ((0.1, 24.0), (0.2, 10.0), (0.3, 10.0), (0.3, 60.0))
    ja, jb = 0.1, 0.3
    S, nu0, knee, rest = 100.0, 12.0, 1.6, 0.01
    res, ind = 12.0, 0.6
    alpha, heat_cap, cooling = 0.0039, 40.0, 3.0

    def torque(self, y):
        def b(i):
            u = i / self.knee
            return u * u / sqrt(1.0 + u**4)

        top = self.S * (self.rest + (1.0 - self.rest) * b(y[2]) / b(2.0))
        x = (y[0] - y[1]) / self.top_slip(y)
        return 2.0 * top / (x + 1.0 / x)

    def top_slip(self, y):
        return self.nu0 * (1.0 + self.alpha * y[3])

    def rhs(self, ta, ua, tb, ub):
        def slopes(t, y):
            u = ub if tb <= ta else ua + (ub - ua) * (t - ta) / (tb - ta)
            T = self.torque(y)
            warms = (T * (y[0] - y[1]) - self.cooling * y[3]) / self.heat_cap
            return [(60.0 - T) / self.ja, (T - 45.0) / self.jb, (u - self.res * y[2]) / self.ind, warms]

        return slopes

    def solve(self, y, t_end, limit):
        def passes(t, y):
            return y[0] - y[1] - self.top_slip(y)

        def burns(t, y):
            return y[3] - limit

        burns.direction = 1
        found, burnt, t, u = [], [], 0.0, self.corners[0][1]
        for tb, ub in (*self.corners, (t_end, self.corners[-1][1])):
            if tb > t:
                out = solve_ivp(self.rhs(t, u, tb, ub), (t, tb), y, events=(passes, burns), **TIGHT)
                found += list(out.t_events[0])
                burnt += list(out.t_events[1])
                y = out.y[:, -1]
            t, u = tb, ub
        return found, burnt, y


def test_eddy_with_a_voltage_programme_against_scipy():
    """Current falls, the load runs away, the field comes back and brakes it under the peak again; the rotor warms."""
    model = DrivenEddy()
    found, burnt, y = model.solve([90.0, 87.0, 2.0, 0.0], 1.5, 5.0)
    line = Line()
    a, b = line.mass(0.1, 90.0), line.mass(0.3, 87.0)
    times, volts = zip(*model.corners, strict=True)
    e = line.part("eddy-current clutch", a, b, voltage_times=times, voltages=volts, **(EDDY | {"heat_limit": 5.0}))
    pull(line, a, 60.0)
    pull(line, b, -45.0)
    r = run(line, 1.5, rtol=1e-11)
    assert [new for _, new in changes(r, e)] == [ec.PAST_F, ec.RISING]
    assert [t for t, _ in changes(r, e)] == pytest.approx(found, abs=1e-6)
    assert r.meas[e, BURNT] == pytest.approx(burnt[0], abs=1e-6)
    assert [v[-1] for v in (r.speed(a), r.speed(b), r.state(e), r.state(e, 1))] == pytest.approx(list(y), rel=1e-7)
    assert r.residual < 1e-8


@pytest.mark.parametrize(("share", "back"), [(0.98, True), (1.05, False)])
def test_wall_brings_a_slipping_coupling_back(share, back):
    """Half b held, torque m on the other: it slips on while m exceeds 4/pi*c/sqrt(J*p*T) of the peak (Melnikov, in the
    limit of little damping); here the wall's drag is the damping."""
    wall = 0.1
    line = Line()
    n = line.mass(1.0, 2.5)
    own = {"c": 0.0, "wall_a": sqrt(wall)}
    e = line.part("magnet disc", n, 0, setting=1.0, pole_pairs=1, start=Start(row=own))
    pull(line, n, share * 4.0 / pi * wall)
    poles = run(line, 900.0, h_max=0.5, rtol=1e-9).events(e, md.SLIP_F)
    assert (poles[-1] < 850.0) is back
