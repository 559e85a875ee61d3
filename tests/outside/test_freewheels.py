"""Overrunning clutches against closed forms, handbook laws and an own hybrid solution in scipy.  Kernel at 1e-10."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan, inf, pi, radians, sin, sqrt, tan

import numpy as np
import pytest
from lines import REGISTRY, SLIDES, Line, Start, ideal_disc, pull, raw_of, run, sheet_of, sliding
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from simcore.parts import _one_way as ow

G = 9.81


@pytest.mark.parametrize(("friction", "turns", "ratio"), [(0.12, 4.0, 20.4080401), (0.15, 6.0, 285.678421)])
def test_tension_ratio_of_a_wrap(friction, turns, ratio):
    """e^(mu*beta) = 1 + C/T0.  Euler and Eytelwein (closed form)."""
    s = sheet_of("wrap spring freewheel", energising_moment=1.0, wrap_angle=2 * pi * turns, friction=friction)
    assert 1.0 + s["capacity"] == pytest.approx(ratio, rel=1e-8)
    assert s["capacity"] / s["overrunning drag"] == pytest.approx(ratio, rel=1e-8)


@pytest.mark.parametrize("kind", ["wrap spring freewheel", "wrap spring backstop"])
def test_wrap_spring_locks_and_overruns(kind):
    """0.5 N*m, mu 0.12, 4 turns: T0*(e^(mu*beta) - 1) one way, T0*(1 - e^(-mu*beta)) the other.  Closed form;
    Wiebusch, J. Applied Mechanics 1939 (cited from memory).  Turned slowly through the kernel both ways."""
    raw = {"energising_moment": 0.5, "wrap_angle": 8 * pi, "friction": 0.12, "engaging_angle": 0.0}
    s = sheet_of(kind, **raw)
    assert s["capacity"] == pytest.approx(9.70402007, rel=1e-8)
    assert s["overrunning drag"] == pytest.approx(0.475499852, rel=1e-8)
    lock = 1e-3 if "freewheel" in kind else -1e-3
    for speed, torque in ((lock, 9.70402007), (-lock, 0.475499852)):
        line = Line()
        line.part(kind, line.lead(speed), 0, start=Start(mode=ow.FREE), **raw)
        r = run(line, 200.0, h_max=5.0)
        assert abs(r.torque(0)[-1]) == pytest.approx(torque, rel=1e-8)
        assert r.torque(0)[-1] * speed > 0.0


@pytest.mark.parametrize(
    ("kind", "name", "limit"),
    [("roller", "ramp_angle", 2 * atan(0.10)), ("sprag", "strut_angle", atan(0.10))],
)  # fmt: skip
@pytest.mark.parametrize("where", ["freewheel", "backstop"])
def test_self_locking_threshold(kind, name, limit, where):
    """Roller: tan(alpha/2) < mu, up to 11.4211863 degrees at 0.10; sprag: tan(strut) < mu.  Statics of the
    friction cone, textbook."""
    if kind == "roller":
        assert limit == pytest.approx(radians(11.4211863), rel=1e-8)
    part = REGISTRY[f"{kind} {where}"]
    for share, refused in ((1 - 1e-9, False), (1 + 1e-9, True)):
        raw = raw_of(part, capacity=100.0, friction=0.10, **{name: limit * share})
        said = part.call("refuse", part.raw(raw))
        assert bool(said) is refused
        assert not refused or "lock by themselves" in said[0]


def test_sprags_by_geometry():
    """18 sprags on 30 mm at 3 degrees, 12 mm long, radius 5 mm: 400 N*m press each with 14134.1753 N, contact
    pressure 3146.70468 MPa.  Hertz, line contact; Johnson, Contact Mechanics (cited from memory)."""
    geometry = {"sprags": 18, "inner_radius": 0.03, "sprag_radius": 5e-3, "sprag_length": 0.012}
    s = sheet_of("sprag freewheel", contact_stress=3146.70468e6, strut_angle=radians(3.0), **geometry)
    assert s["capacity"] == pytest.approx(400.0, rel=1e-8)
    part = REGISTRY["sprag freewheel"]
    for friction, fits in ((0.0524077, False), (0.0524079, True)):
        raw = raw_of(part, friction=friction, **geometry)
        assert (part.call("refuse", part.raw(raw)) == []) is fits


def test_rollers_by_geometry():
    """The flat ramp has no curvature of its own: R is the roller's.  Hertz, line contact, worked by hand."""
    s = sheet_of("roller freewheel", rollers=8, race_radius=0.04, roller_diameter=0.01, roller_length=0.015,
                 ramp_angle=radians(7.0), contact_stress=3000e6)  # fmt: skip
    press = (3000e6) ** 2 * pi * 0.015 * 0.005 * 2 * 0.91 / 206e9
    assert s["capacity"] == pytest.approx(8 * 0.04 * press * tan(radians(3.5)), rel=1e-12)


@pytest.mark.parametrize(("pawls", "degrees"), [(1, 15.0), (2, 7.5), (3, 5.0)])
def test_ratchet_engages_within_a_pitch(pawls, degrees):
    """360/(teeth*pawls), 24 teeth, pawls staggered.  Closed form."""
    s = sheet_of("ratchet backstop", capacity=100.0, teeth=24, pawls=pawls)
    assert s["largest engaging angle"] == pytest.approx(radians(degrees), rel=1e-12)


@pytest.mark.parametrize("run_on", np.linspace(0.14, 1.1, 9).tolist())
def test_ratchet_falls_back_on_the_next_tooth(run_on):
    """A shaft that swings forward by ``run_on`` and back is caught a whole number of pitches from the first
    tooth, which lay half a pitch behind, and less than a pitch after it turned.  Closed form."""
    pitch = 2 * pi / 24
    line = Line()
    n = line.mass(1e9, run_on)
    line.part("shaft", n, 0, stiffness=1e9)
    e = line.part("ratchet backstop", n, 0, capacity=1e3, teeth=24, drag=0.0)
    r = run(line, 1.2 * pi, fast=1.0)
    tooth = run_on - (run_on + 0.5 * pitch) % pitch
    caught = r.events(e, ow.DRIVING)[0]
    assert r.at(caught, r.angle(n)) == pytest.approx(tooth, abs=1e-8)
    assert len(r.events(e, ow.OVERRUNNING)) == int((run_on + 0.5 * pitch) // pitch)


def incline(kind: str, **raw: float) -> tuple[Line, int, int]:
    """900 kg on a drum of 0.15 m, 0.6 kg*m^2, on 12 degrees without friction, let go from rest."""
    line = Line()
    n = line.mass(0.6 + 900.0 * 0.15**2)
    e = line.part(kind, n, 0, **raw)
    pull(line, n, -900.0 * G * 0.15 * sin(radians(12.0)))
    return line, n, e


@pytest.mark.parametrize("kind", ["wrap spring", "roller", "sprag"])
def test_load_falls_into_its_backstop(kind):
    """3 degrees free, then 40 kN*m/rad: 89.0484769 ms, 1.17598592 rad/s, peak L + sqrt(L^2 + 2*L*b*k) =
    1384.03662 N*m on a static 275.347848 N*m.  Energy balance, closed form."""
    line, n, e = incline(f"{kind} backstop", capacity=4e3, twist_at_capacity=0.1, engaging_angle=radians(3.0), drag=0.0)
    r = run(line, 0.2)
    hit = r.events(e, ow.DRIVING)[0]
    assert hit == pytest.approx(89.0484769e-3, rel=1e-8)
    assert r.at(hit, r.speed(n)) == pytest.approx(-1.17598592, rel=1e-8)
    assert r.peak(e) == pytest.approx(1384.03662, rel=1e-8)
    static = 275.347848
    assert r.peak(e) == pytest.approx(static + sqrt(static**2 + 2 * static * radians(3.0) * 40e3), rel=1e-8)


@pytest.mark.parametrize(("capacity", "holds"), [(1384.03662 * (1 + 1e-6), True), (1384.03662 * (1 - 1e-6), False)])
@pytest.mark.parametrize("kind", ["wrap spring", "roller", "ratchet", "sprag"])
def test_dynamic_peak_decides(kind, capacity, holds):
    """Both sides of the dynamic peak, five times the static run-back.  Closed form."""
    lash = {"teeth": 60.0} if kind == "ratchet" else {"engaging_angle": radians(3.0)}
    line, n, e = incline(f"{kind} backstop", capacity=capacity, twist_at_capacity=capacity / 40e3, drag=0.0, **lash)
    r = run(line, 0.3)
    assert bool(r.mode(e).max() < ow.GIVING) is holds
    if kind == "ratchet" and not holds:
        assert r.angle(n)[-1] < -0.2
        assert r.torque(e)[-1] == 0.0
    if kind != "ratchet" and not holds:
        assert r.meas[e, 0] == pytest.approx(capacity, rel=1e-6)


def test_disc_lets_the_load_go_and_the_backstop_holds_it():
    """The drive runs on, the disc slips at 200 of the 275.347848 N*m; the load stops, runs back through 3 degrees
    and is held by the rest, N: turning at J*w/N, peak N + sqrt(N^2 + 2*N*b*k).  Closed form."""
    n_rest, k, b = 900.0 * G * 0.15 * sin(radians(12.0)) - 200.0, 40e3, radians(3.0)
    line, drum, stop = incline("roller backstop", capacity=4e3, twist_at_capacity=0.1, engaging_angle=b, drag=0.0)
    line.speeds[drum] = 1.5
    motor = line.lead(4.0)
    disc = line.part("friction disc", motor, drum, start=sliding(200.0, 5e4), **ideal_disc(200.0, 5e4))
    r = run(line, 0.9)
    j = 0.6 + 900.0 * 0.15**2
    turns = r.events(stop, ow.HELD)[0]
    assert turns == pytest.approx(j * 1.5 / n_rest, rel=1e-8)
    hit = r.events(stop, ow.DRIVING)[0]
    assert hit - turns == pytest.approx(sqrt(2 * b * j / n_rest), rel=1e-8)
    assert r.peak(stop) == pytest.approx(n_rest + sqrt(n_rest**2 + 2 * n_rest * b * k), rel=1e-8)
    assert set(r.mode(disc)) == {SLIDES}
    run_back = r.angle(drum).max() - r.angle(drum)[-1]
    assert run_back < b + r.peak(stop) / k + 1e-9


def test_the_load_comes_to_rest_in_a_damped_backstop():
    """Held at the static run-back in the end; without a backstop it is gone by L/(2J)*t^2.  Closed form."""
    raw = {"capacity": 1500.0, "engaging_angle": radians(3.0)}
    line, n, e = incline("sprag backstop", relative_damping=1.5, **raw)
    r = run(line, 4.0, w1=60.0)
    assert r.torque(e)[-1] == pytest.approx(-275.347848, rel=1e-4)
    assert r.angle(n)[-1] == pytest.approx(-(radians(3.0) + (275.347848 / 1500.0 - 0.003) * radians(2.0)), rel=1e-4)


def test_overrunning_drag_heats():
    """2 % of 150 N*m at 30 rad/s for 5 s: 450 J.  Closed form."""
    line = Line()
    e = line.part("roller backstop", line.lead(30.0), 0, capacity=150.0, drag=0.02)
    r = run(line, 5.0)
    assert r.heat(e)[-1] == pytest.approx(3.0 * 30.0 * 5.0, rel=1e-10)
    assert r.torque(e)[-1] == pytest.approx(3.0, rel=1e-12)


@dataclass
class Clutch:
    """The law in the driving sense, written anew: stop at ``face``, drag from ``rest``, both angles of s."""

    C: float
    tw: float
    c: float
    D: float
    angle: float
    rho: float = 0.0
    pitch: float = 0.0
    face: float = inf
    rest: float = -inf

    def spring(self, u):
        x = u / self.tw
        return self.C * ((1 - self.rho) * x + self.rho * x * abs(x))

    def torque(self, mode, s, v):
        if mode == "driving":
            return self.spring(s - self.face) + self.c * v
        if mode == "held":
            return self.C / self.tw * (s - self.rest) + self.c * v
        return {"lagging": -self.D, "overrunning": -self.D, "giving": self.C, "sliding": self.C}.get(mode, 0.0)

    def exits(self, mode):
        """Quantities that end the mode when they fall through zero, with what follows."""
        k = self.C / self.tw
        return {
            "overrunning": [(lambda s, v: -v, "held")],
            "held": [(lambda s, v: self.rest - s, "free"),
                     (lambda s, v: self.D + k * (s - self.rest) + self.c * v, "lagging")],
            "lagging": [(lambda s, v: -v, "held"),
                        (lambda s, v: self.D - k * (self.rest - s), "overrunning")],
            "free": [(lambda s, v: self.face - s, "driving"), (lambda s, v: s - self.rest, "held")],
            "driving": [(lambda s, v: self.spring(s - self.face) + self.c * v, "eased"),
                        (lambda s, v: self.C - self.spring(s - self.face) - (0.0 if self.pitch else self.c * v),
                         "giving")],
            "eased": [(lambda s, v: s - self.face, "free"),
                      (lambda s, v: -self.spring(s - self.face) - self.c * v, "driving")],
            "giving": [(lambda s, v: v, "driving"), (lambda s, v: self.C - self.spring(s - self.face), "sliding")],
            "sliding": [(lambda s, v: v, "driving")],
            "broken": [],
        }[mode]  # fmt: skip

    def enter(self, old, new, s):
        """Where face and rest lie from now on; a ratchet's tooth is the next of the grid."""
        if old == "overrunning":
            self.rest = s + self.D * self.tw / self.C
            self.face = s + self.angle
            if self.pitch:
                self.face = np.ceil((s - self.angle) / self.pitch) * self.pitch + self.angle
        if old == "sliding":
            self.face = s - self.tw
            self.rest = self.face - self.angle + self.D * self.tw / self.C
        return "broken" if new == "giving" and self.pitch else new


def first_exit(sol, exits) -> tuple[float, str]:
    """The first quantity that falls through zero in a solution, or is below it from the start."""
    found = [(inf, "")]
    for g, new in exits:
        values = np.array([g(*x) for x in sol.y.T])
        noise = 1e-9 * np.abs(values).max()
        if values[0] < -noise:
            return float(sol.t[0]), new
        start = 1 if values[0] <= noise else 0
        fallen = np.flatnonzero((values[start:-1] > 0.0) & (values[start + 1 :] <= 0.0)) + start
        if fallen.size:
            a, b = sol.t[fallen[0]], sol.t[fallen[0] + 1]
            found.append((brentq(lambda x, g=g: g(*sol.sol(x)), a, b, xtol=1e-14), new))
    return min(found)


def follow(clutch: Clutch, mode: str, j: float, load: float, v: float, t_end: float) -> list[tuple[float, str]]:
    """Instants and modes of one inertia, by scipy with dense output."""
    t, y, out = 0.0, np.array([0.0, v]), []
    while True:
        sol = solve_ivp(lambda _, y, m=mode: (y[1], (load - clutch.torque(m, *y)) / j), (t, t_end), y, rtol=1e-11,
                        atol=1e-13, method="DOP853", dense_output=True, max_step=1e-3)  # fmt: skip
        t, new = first_exit(sol, clutch.exits(mode))
        if t >= t_end:
            return out
        y = sol.sol(t)
        mode = clutch.enter(mode, new, y[0])
        out.append((t, mode))


NAMES = ["driving", "eased", "free", "held", "lagging", "overrunning", "giving", "sliding"]
ENTERED = {
    "wrap spring": {"held", "free", "driving", "giving", "sliding"}, "roller": {"held", "free", "driving", "eased"},
    "sprag": {"held", "free", "driving", "eased"}, "ratchet": {"held", "free", "driving"},
}  # fmt: skip
CASES = {
    "wrap spring": ({"capacity": 60.0}, Clutch(60.0, radians(3), 0.0, 0.9, radians(12))),
    "roller": ({"capacity": 900.0, "drag": 0.01}, Clutch(900.0, radians(1.5), 0.0, 9.0, radians(2))),
    "sprag": (
        {"capacity": 900.0, "progressive": 0.6, "drag": 0.01},
        Clutch(900.0, radians(2), 0.0, 9.0, radians(1), rho=0.6),
    ),
    "ratchet": (
        {"capacity": 3000.0, "teeth": 36.0},
        Clutch(3000.0, radians(0.2), 0.0, 9.0, radians(5) - 0.003 * radians(0.2), pitch=radians(10)),
    ),
    "ratchet, breaks": (
        {"capacity": 1000.0, "teeth": 36.0},
        Clutch(1000.0, radians(0.2), 0.0, 3.0, radians(5) - 0.003 * radians(0.2), pitch=radians(10)),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("begin", ["overrunning", "held"])
def test_against_an_own_solution(name, begin):
    """One inertia of 0.8 kg*m^2 that overruns at 4 rad/s against 40 N*m and is thrown back: every switch to
    1e-6 s.  The same equations in scipy (DOP853 at 1e-11), nothing of the part called."""
    raw, law = CASES[name]
    kind = name.split(",")[0]
    clutch = replace(law, c=0.4 * law.C / law.tw / (2 * pi * 150.0))
    if begin == "held":
        clutch.rest, clutch.face = 0.0, clutch.angle - (0.0 if clutch.pitch else clutch.D * clutch.tw / clutch.C)
    t_end = 0.6 if kind == "wrap spring" else 0.35
    want = follow(clutch, begin, 0.8, 40.0, -4.0, t_end)
    line = Line()
    n = line.mass(0.8, 4.0)
    start = Start(mode=NAMES.index(begin))
    e = line.part(f"{kind} backstop", n, 0, start=start, relative_damping=0.4, **raw)
    pull(line, n, -40.0)
    r = run(line, t_end, w1=150.0)
    got = [(x[0], NAMES[int(x[4])]) for x in r.out.events if x[1] == e and x[3] != x[4]]
    if kind == "ratchet":
        got = [(t, "broken" if m == "giving" else m) for t, m in got]
    assert {m for _, m in want} >= ENTERED[kind]
    assert begin == "overrunning" or want[0][1] == "lagging"
    assert [m for _, m in got] == [m for _, m in want]
    assert [t for t, _ in got] == pytest.approx([t for t, _ in want], abs=1e-6)
    assert r.residual < 1e-8


def test_wrap_spring_slips_a_load_down():
    """Dropped at 2 rad/s onto a spring too weak for the blow it slides until
    C*slip + C^2/(2k) = J*w^2/2 + L*(angle + slip + C/k).  Energy balance, closed form."""
    j, w, load, c, k, b = 0.8, 2.0, 10.0, 40.0, 40.0 / radians(3), radians(12)
    line = Line()
    n = line.mass(j, -w)
    e = line.part("wrap spring backstop", n, 0, start=Start(mode=ow.FREE), capacity=c, engaging_angle=b, drag=0.0)
    pull(line, n, -load)
    r = run(line, 0.3)
    slides, holds = r.events(e, ow.SLIDING)[0], r.events(e, ow.DRIVING)[1]
    slip = (0.5 * j * w * w + load * (b + c / k) - 0.5 * c * c / k) / (c - load)
    assert r.at(slides, r.angle(n)) - r.at(holds, r.angle(n)) == pytest.approx(slip, rel=1e-7)
    assert r.at(holds, r.heat(e)) == pytest.approx(c * slip, rel=1e-7)


def test_thrown_back_after_slipping():
    """The face moves along with the slip: from there it is wind-up and engaging angle back to the drag, and the
    rebound's speed is C/sqrt(k*J).  Geometry and energy balance, closed form."""
    j, c, twist, b, drag = 0.8, 40.0, radians(3), radians(12), 0.01
    line = Line()
    n = line.mass(j, -2.0)
    e = line.part("wrap spring backstop", n, 0, start=Start(mode=ow.FREE), capacity=c, engaging_angle=b, drag=drag)
    r = run(line, 1.0)
    holds, free = r.events(e, ow.DRIVING)[1], r.events(e, ow.FREE)[0]
    caught = next(t for t in r.events(e, ow.HELD) if t > free)
    assert r.at(free, r.speed(n)) == pytest.approx(c / sqrt(c / twist * j), rel=1e-7)
    back = r.at(caught, r.angle(n)) - r.at(holds, r.angle(n))
    assert back == pytest.approx(twist + b - drag * twist, rel=1e-8)
    assert r.mode(e)[-1] == ow.OVERRUNNING
