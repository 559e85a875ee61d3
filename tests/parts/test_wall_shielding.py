"""A magnet disc's wall that shields: closed forms of the first-order low pass, energy, and a crash against scipy.

A thin conducting sheet passes a moving wave of field as 1/(1 + j*w/w0): diffusion through a thin wall, textbook."""

from __future__ import annotations

from math import atan, cos, exp, inf, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lines import Line, Run, Start, pull, raw_of, row_of, run, sheet_of
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, minimize_scalar
from states import REGISTRY

from simcore.contract import N_MEMORY, Q
from simcore.parts import magnet_disc as md

KIND = "magnet disc"
PART = REGISTRY[KIND]
TOP, P, W0 = 80.0, 4, 90.0
SHIELDS = {"setting": TOP, "pole_pairs": P, "wall_peak_speed": W0, "wall_shields": "yes", "remanence_fade": 0.0}
ALL = {**SHIELDS, "wall_drag": 4.0 / W0 * 2.0 / (1.0 + (2.0 / W0) ** 2), "wall_speed": 2.0}
"""Both halves alike, and currents that shield all of the torque: c = 4*Tm/w0."""


def led(wa: float, wb: float, ahead: float, seconds: float, **raw: object) -> Run:
    """Both hubs at constant speeds; half a is ``ahead`` [rad, electrical] at the start."""
    line = Line()
    a, b = line.lead(wa, ahead / P), line.lead(wb)
    line.part(KIND, a, b, **raw)
    return run(line, seconds, h_max=1e-3)


def hubs(r: Run) -> tuple[np.ndarray, np.ndarray]:
    """Torque on hub a and on hub b along the trace, from the part's own functions."""
    out = []
    for i in range(len(r.t)):
        ta, tb, wa, wb = (float(v[i]) for v in (r.angle(1), r.angle(2), r.speed(1), r.speed(2)))
        x = tuple(float(r.state(0, j)[i]) for j in range(4))
        q = Q(0, 0.0, ta - tb, wa - wb, ta, wa, tb, wb, x, [0.0] * N_MEMORY, (), tuple(r.a.rows[0]), ())
        ga, gb = PART.call("ground", q, 0.0)
        T = PART.call("torque", q)
        assert r.torque(0)[i] == pytest.approx(T, rel=1e-9, abs=1e-9)
        out.append((-T + ga, T + gb))
    both = np.array(out)
    return both[:, 0], both[:, 1]


@pytest.mark.parametrize("x", [0.1, 1.0, 3.0])
def test_in_step_what_is_left_falls_with_the_square_of_the_speed(x):
    """T = Tm*sin(angle)/(1 + x^2) between halves alike, x = w/w0, once the currents have settled."""
    r = led(x * W0, x * W0, 0.7, 0.1, **ALL)
    assert r.torque(0)[-1] == pytest.approx(TOP * sin(0.7) / (1.0 + x * x), rel=1e-8)
    c, s = 4.0 * TOP / W0, 1.0 / (1.0 + x * x)
    a, b = hubs(r)
    drag = 0.25 * s * c * x * W0 * (1.0 + cos(0.7))
    assert a[-1] == pytest.approx(-TOP * s * sin(0.7) - drag, rel=1e-8)
    assert b[-1] == pytest.approx(TOP * s * sin(0.7) - drag, rel=1e-8)


@pytest.mark.parametrize("x", [0.2, 1.0, 2.5])
def test_a_half_at_rest_sees_the_other_through_a_low_pass(x):
    """Torque on it: Tm*sin(angle - atan x)/sqrt(1 + x^2).  First order, corner at w0."""
    r = led(x * W0, 0.0, 0.0, 0.2, **ALL)
    late = r.t > 0.1
    _, b = hubs(r)
    angle = P * (r.angle(1) - r.angle(2))
    want = TOP * np.sin(angle - atan(x)) / sqrt(1.0 + x * x)
    assert b[late] == pytest.approx(want[late], abs=1e-5)


def test_currents_die_away_with_the_walls_own_time():
    """Nothing turns: |u| = exp(-t*p*w0)."""
    line = Line()
    line.part(KIND, line.lead(0.0), 0, start=Start(x=(0.0, 0.0, 3.0, -4.0)), **ALL)
    r = run(line, 0.01, fast=1.0, h_max=2e-4)
    size = np.hypot(r.state(0, md.ACROSS), r.state(0, md.ALONG))
    assert size == pytest.approx(5.0 * np.exp(-r.t * P * W0), rel=1e-8)
    c, end = 4.0 * TOP / W0, exp(-0.02 * P * W0)
    assert r.heat(0)[-1] == pytest.approx(25.0 / c * (1.0 - end) / (2.0 * P * W0), rel=1e-7)


def test_the_fields_stress_says_how_much_it_can_shield():
    """Two rings with B/2 each in the middle, no iron: Tm = pi*r^2*l*B^2/(2*mu0) by Maxwell's stress, and the wall's
    currents take the share K of it that their way back leaves them.  Closed form."""
    mu0, r, length, B, p = 4e-7 * pi, 0.06, 0.03, 0.4, 8.0
    stress = pi * r * r * length * B * B / (2.0 * mu0)
    raw = {"setting": stress, "pole_pairs": p, "outer_radius": 0.075, "inner_radius": 0.045, "wall_thickness": 1e-3,
           "wall_conductivity": 35e6, "wall_field": B, "wall_shields": "yes"}  # fmt: skip
    kl = p * length / r
    s = sheet_of(KIND, **raw)
    back = 1.0 - (1.0 - exp(-kl)) / kl
    assert s["share of the torque that the wall shields at most"] == pytest.approx(back, rel=1e-9)
    assert s["pull-out torque at that speed"] == pytest.approx(stress * (1.0 - 0.5 * back), rel=1e-9)


@pytest.mark.parametrize(("share", "slips"), [(0.995, False), (1.005, True)])
def test_pulls_out_earlier_at_speed(share, slips):
    """Load against the most the driven half can get at w0/2, the largest of Tm*s*sin a - drag(a); begun in balance,
    or at that angle, with the currents there.  Closed form."""
    x = 0.5
    s, c, w = 1.0 / (1.0 + x * x), 4.0 * TOP / W0, x * W0
    gets = lambda a: TOP * s * sin(a) - 0.25 * s * c * w * (1.0 + cos(a))
    top = minimize_scalar(lambda a: -gets(a), bounds=(0.5, 3.0), method="bounded", options={"xatol": 1e-10}).x
    assert gets(top) < 0.75 * TOP
    angle = top if slips else brentq(lambda a: gets(a) - share * gets(top), 0.0, top)
    along = 0.5 * (1.0 + np.exp(-1j * angle)) * -1j * c * w / (1.0 + 1j * x)
    line = Line()
    a, b = line.lead(w, angle / P), line.mass(2.0, w)
    start = Start(x=(0.0, 0.0, along.real, along.imag), row={"c": 4.0})
    e = line.part(KIND, a, b, start=start, **ALL)
    pull(line, b, -share * gets(top))
    r = run(line, 6.0, rtol=1e-8, h_max=5e-3)
    assert bool(r.events(e, md.SLIP_F)) is slips


def test_steady_running_is_found_with_its_currents():
    line = Line()
    a, b = line.mass(0.3, 60.0), line.mass(0.4, 60.0)
    line.part("torque-speed motor", 0, a, rated_power=15e3, rated_speed=58.0, synchronous_speed=62.0, inertia=1.0)
    e = line.part(KIND, a, b, **ALL)
    line.part("friction load", b, 0, running=20.0)
    r = run(line, 0.02, t0=-0.01, steady=True, rtol=1e-8, w1=60.0)
    x = r.speed(a)[0] / W0
    angle = P * (r.angle(a)[0] - r.angle(b)[0])
    s, c = 1.0 / (1.0 + x * x), 4.0 * TOP / W0
    assert pytest.approx(20.0, rel=1e-6) == TOP * s * sin(angle) - 0.25 * s * c * x * W0 * (1.0 + cos(angle))
    assert np.ptp(r.torque(e)) < 1e-6
    assert np.ptp(r.state(e, md.ALONG)) < 1e-6


speed = st.floats(-200.0, 200.0)


@given(wa=speed, wb=speed, x=st.floats(-7.0, 7.0), d=st.floats(-40.0, 40.0), along=st.floats(-40.0, 40.0),
       side=st.floats(0.2, 0.8), rise=st.sampled_from([0.0, 60.0]))  # fmt: skip
@settings(max_examples=300, deadline=None)
def test_power_in_is_heat_or_the_currents_energy(wa, wb, x, d, along, side, rise):
    """At every instant, whatever the speeds: nothing from nothing, heat >= 0.  By central differences of the store."""
    raw = SHIELDS | {"wall_drag": 0.02, "wall_speed": 2.0, "wall_side": side, "remanence_fade": -0.002, "cooling": 0.0}
    p = row_of(KIND, relative_damping=0.0, **raw)

    def at(s: float, slopes: tuple[float, ...] = (0.0,) * 4) -> Q:
        ta, tb = x / P + s * wa, s * wb
        own = tuple(v + s * g for v, g in zip((rise, rise, d, along), slopes, strict=True))
        return Q(md.SLIP_F, 0.0, ta - tb, wa - wb, ta, wa, tb, wb, own, [0.0] * N_MEMORY, (), p, ())

    q = at(0.0)
    slopes = PART.call("rate", q, 0.0)
    ga, gb = PART.call("ground", q, 0.0)
    power = PART.call("torque", q) * (wa - wb) - ga * wa - gb * wb
    heat = PART.call("loss", q, 0.0)
    h = 1e-8
    change = (PART.call("store", at(h, slopes)) - PART.call("store", at(-h, slopes))) / (2.0 * h)
    assert heat >= 0.0
    assert power == pytest.approx(change + heat, rel=1e-5, abs=1e-4 * (1.0 + abs(wa) + abs(wb)))


JAMS = SHIELDS | {"wall_drag": 0.05, "wall_speed": 4.0, "wall_side": 0.4, "heat_capacity": 40.0, "cooling": 2.0}


def crash(sense: float = 1.0, f: float = 1.0) -> Run:
    """A drive, the coupling, a load that a brake-like jam stops and lets go."""
    line = Line()
    a, b = line.mass(0.15 * f, sense * 60.0), line.mass(0.12 * f, sense * 60.0)
    line.part("constant-torque motor", 0, a, torque=40.0 * f, speed=sense * 60.0, droop=0.3, inertia=1.0)
    raw = JAMS | {"setting": TOP * f, "heat_capacity": 40.0 * f, "cooling": 2.0 * f}
    line.part(KIND, a, b, start=Start(row={"c": 0.8 * f}), **raw)
    line.part("partial jam", b, 0, drag=120.0 * f, lasts=0.25)
    return run(line, 1.5, rtol=1e-9, t0=-0.01, steady=True, w1=60.0)


def test_ledger_mirror_and_scale_through_pole_slip():
    r, back, four = crash(), crash(-1.0), crash(f=4.0)
    assert len(r.events(1, md.SLIP_F)) >= 3
    assert r.residual < 1e-6
    assert np.diff(r.heat(1)).min() > -1e-9
    assert back.out.events[:, 0] == pytest.approx(r.out.events[:, 0], abs=1e-9)
    assert back.heat(1)[-1] == pytest.approx(r.heat(1)[-1], rel=1e-8)
    assert four.out.events[:, 0] == pytest.approx(r.out.events[:, 0], abs=1e-7)
    assert four.heat(1)[-1] == pytest.approx(4.0 * r.heat(1)[-1], rel=1e-6)


class Circuit:
    """The wall as a two-phase winding at rest: henries, ohms and flux linkages; no frame that turns.

    y: both angles, both speeds, currents of both phases, heat of wall and slip.
    """

    ja, jb, damping, push, drag = 0.15, 0.1, 0.5, 25.0, 20.0
    R, c, side = 0.7, 0.05 * TOP / 4.0 * (1.0 + (4.0 / W0) ** 2), 0.4

    def __init__(self) -> None:
        self.L = self.R / (P * W0)
        self.la, self.lb = (h * sqrt(self.c * self.R) / P for h in (self.side, 1.0 - self.side))

    def rhs(self, t, y):
        ta, tb, wa, wb, i1, i2, _ = y
        ea, eb = np.exp(1j * P * ta), np.exp(1j * P * tb)
        current = i1 + 1j * i2
        induced = 1j * P * (self.la * wa * ea + self.lb * wb * eb)
        di = (-induced - self.R * current) / self.L
        direct = TOP * sin(P * (ta - tb)) + self.damping * (wa - wb)
        ma = (np.conj(current) * 1j * P * self.la * ea).real
        mb = (np.conj(current) * 1j * P * self.lb * eb).real
        heat = self.R * abs(current) ** 2 + self.damping * (wa - wb) ** 2
        return [
            wa,
            wb,
            (self.push - direct + ma) / self.ja,
            (direct + mb - self.drag) / self.jb,
            di.real,
            di.imag,
            heat,
        ]


def test_slipping_pair_against_a_winding_by_scipy():
    """One half overtakes the other: pole slips to 1e-6 s, speeds, currents and heat against the circuit's equations."""
    model = Circuit()
    y, t, slips, seconds = np.array([0.0, 0.0, 70.0, 20.0, 0.0, 0.0, 0.0]), 0.0, [], 0.6
    while t < seconds:
        past = pi * (2 * len(slips) + 1)
        pole = lambda t, y, past=past: P * (y[0] - y[1]) - past
        pole.terminal, pole.direction = True, 1.0
        out = solve_ivp(model.rhs, (t, seconds), y, "DOP853", rtol=1e-11, atol=1e-12, events=pole)
        t, y = float(out.t[-1]), out.y[:, -1]
        if out.t_events[0].size:
            slips.append(float(out.t_events[0][0]))
    line = Line()
    a, b = line.mass(model.ja, 70.0), line.mass(model.jb, 20.0)
    e = line.part(KIND, a, b, start=Start(row={"c": model.damping}), **JAMS)
    pull(line, a, model.push)
    pull(line, b, -model.drag)
    r = run(line, seconds, rtol=1e-11)
    assert len(slips) >= 2
    own = [float(v[0]) for v in r.out.events if v[1] == e and v[2] == 0 and v[4] == md.SLIP_F]
    assert own[: len(slips)] == pytest.approx(slips, abs=1e-6)
    got = [v[-1] for v in (r.angle(a), r.angle(b), r.speed(a), r.speed(b))]
    assert got == pytest.approx(list(y[:4]), rel=1e-7)
    turned = (y[4] + 1j * y[5]) * np.exp(-1j * P * y[0]) * sqrt(model.R * model.c)
    assert [r.state(e, md.ACROSS)[-1], r.state(e, md.ALONG)[-1]] == pytest.approx([turned.real, turned.imag], rel=1e-6)
    assert r.heat(e)[-1] == pytest.approx(y[6], rel=1e-7)
    assert r.residual < 1e-8


@pytest.mark.parametrize(
    ("more", "says"),
    [({"wall_drag": 0.05}, "speed at which it drags most"),
     ({"wall_peak_speed": 90.0}, "needs a wall"),
     ({"wall_drag": 0.05, "wall_peak_speed": 90.0, "wall_side": 1.0}, "between the halves"),
     ({"wall_drag": 0.5, "wall_speed": 5.0, "wall_peak_speed": 90.0}, "take it once at most")],
)  # fmt: skip
def test_refused(more, says):
    raw = raw_of(PART, setting=80.0, wall_shields="yes", **more)
    assert any(says in s for s in PART.call("refuse", PART.raw(raw)))
    assert not PART.call("refuse", PART.raw(raw | {"wall_shields": 0.0}))


def test_no_shielding_unless_asked_for():
    """The currents then follow at once: states at rest, torque as without a wall."""
    raw = {k: v for k, v in ALL.items() if k != "wall_shields"}
    r = led(W0, W0, 0.7, 0.05, **raw)
    assert r.torque(0) == pytest.approx(TOP * sin(0.7), rel=1e-12)
    assert not r.state(0, md.ACROSS).any()
    assert not r.state(0, md.ALONG).any()
    assert row_of(KIND, **raw)[md.WALL_LAG] == 0.0
    assert inf > row_of(KIND, **ALL)[md.WALL_LAG] == pytest.approx(1.0 / (P * W0))
