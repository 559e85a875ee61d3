"""Pawls and tipping sprags in motion: an independent solution, mirror, scale, ledger, and what turns back."""

from __future__ import annotations

from math import atan, radians, tan

import numpy as np
import pytest
from lines import Line, Run, Start, run
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from simcore.parts import notched_wheel_pawl as pw
from simcore.parts import tipping_sprag as ts

VENT = {"loading": "pneumatic", "pressure_times": (0.0, 0.004, 0.03, 0.03), "pressures": (5e5, 5e5, 4e5, 0.0)}
CASES: dict[str, tuple[str, dict]] = {
    "pawl, spring": ("notched-wheel pawl", {"setting": 150.0}),
    "pawl, air": ("notched-wheel pawl", {"setting": 150.0, "loading": "pneumatic", "pressure": 3e5}),
    "pawl, vented": ("notched-wheel pawl", {"setting": 400.0, **VENT}),
    "sprag, point": ("tipping sprag", {"setting": 150.0}),
    "sprag, line": ("tipping sprag", {"setting": 150.0, "exponent": 10 / 9, "twist_at_setting": 0.04}),
}
J1, J2, K_SHAFT, PUSH, SPEED, PSI = 0.4, 0.05, 6000.0, 30.0, 9.0, 0.25


def crash(name: str, sense: float = 1.0, f: float = 1.0, rtol: float = 1e-10, t_end: float = 0.12) -> Run:
    """Inertia pushed on, the protection, a second inertia, a shaft whose far end stands."""
    kind, raw = CASES[name]
    line = Line()
    a, b = line.mass(f * J1, sense * SPEED), line.mass(f * J2, sense * SPEED)
    line.part(kind, a, b, relative_damping=PSI, **(raw | {"setting": f * raw["setting"]}))
    line.part("shaft", b, 0, stiffness=f * K_SHAFT)
    line.part("constant-torque motor", 0, a, start=Start(mode=2), torque=f * PUSH, speed=sense * 1e9, inertia=1.0)
    return run(line, t_end, rtol=rtol, w1=60.0)


class Alone:
    """The same crash until it lets go, in plain scipy: DOP853 at 1e-11, stages ended by its own events.

    Stages: in, climb, held, home, out; the side of the flank counts apart.  States: angles, speeds, way of the
    nose along the flank, pressure.
    """

    def __init__(self, name: str) -> None:
        kind, raw = CASES[name]
        self.sprag, self.air = kind == "tipping sprag", raw.get("loading") == "pneumatic"
        self.s, self.raw = raw["setting"], raw
        self.n, self.tip = raw.get("exponent", 1.5), raw.get("twist_at_setting", radians(4.0))
        self.k = self.s / (self.tip if self.sprag else radians(0.3))
        self.c = PSI * self.k / (2 * np.pi * 60.0)
        self.back = tan(radians(55.0) - atan(0.1)) / tan(radians(55.0) + atan(0.1))
        self.slope = 0.0 if self.air else -0.65 * self.s / radians(8.0)
        self.stage, self.side, self.jumped = "in", 1.0, False
        self.events: list[float] = []

    def wanted(self, t: float) -> float:
        """Set pressure; the times end with a jump."""
        if "pressures" not in self.raw:
            return self.raw.get("pressure", 4e5)
        return 0.0 if self.jumped else float(np.interp(t, self.raw["pressure_times"][:3], self.raw["pressures"][:3]))

    def climb(self, u: float, p: float) -> float:
        return (self.s + self.slope * u) * ((p - 0.3e5) / 3.7e5 if self.air else 1.0)

    def torque(self, y) -> float:
        phi, nu = y[0] - y[1], y[2] - y[3]
        if self.sprag:
            return self.s * np.sign(phi) * (abs(phi) / self.tip) ** self.n + self.c * nu
        if self.stage in ("in", "held"):
            return self.k * (phi - y[4]) + self.c * nu
        share = self.back if self.stage == "home" else 1.0
        return self.side * share * self.climb(self.side * y[4], y[5])

    def slopes(self, t: float, y):
        T = self.torque(y)
        air = (self.wanted(t) - y[5]) / 0.03 if self.air else 0.0
        moves = y[2] - y[3] if self.stage in ("climb", "home") else 0.0
        return [y[2], y[3], (PUSH - T) / J1, (T - K_SHAFT * y[1]) / J2, moves, air]

    def guards(self, t: float, y) -> tuple[float, float]:
        phi, nu, s = y[0] - y[1], y[2] - y[3], self.side
        if self.sprag:
            return self.tip - phi, self.tip + phi
        top, T = self.climb(s * y[4], y[5]), self.torque(y)
        return {
            "in": (top - T, top + T),
            "climb": (radians(8.0) - s * y[4], s * nu),
            "held": (top - s * T, s * T - self.back * top),
            "home": (s * y[4], -s * nu),
        }[self.stage]

    def switch(self, i: int, y) -> None:
        if self.sprag or (self.stage == "climb" and i == 0):
            self.stage = "out"
        elif self.stage == "in":
            self.stage, self.side = "climb", (1.0, -1.0)[i]
        elif self.stage == "held":
            self.stage = ("climb", "home")[i]
        elif self.stage == "home" and i == 0:
            self.stage, y[4] = "in", 0.0
        else:
            self.rest(y)

    def rest(self, y) -> None:
        """At rest the wind-up is brought between the two limits of the flank, a hair inside."""
        s = self.side
        phi, u = s * (y[0] - y[1]), s * y[4]
        self.stage = "held"
        for share, hair in ((1.0, -1e-9), (self.back, 1e-9)):
            left = lambda w, share=share, hair=hair: self.k * (phi - w) - share * self.climb(w, y[5]) - hair * self.s
            if (left(u) > 0.0) if share == 1.0 else (left(u) < 0.0):
                ends = (u, radians(8.0)) if share == 1.0 else (0.0, u)
                if left(ends[0]) * left(ends[1]) > 0.0:
                    self.stage, y[4] = ("out", y[4]) if share == 1.0 else ("in", 0.0)
                else:
                    y[4] = s * brentq(left, *ends, xtol=1e-15, rtol=1e-14)

    def due(self, t: float, y) -> int | None:
        """A guard that is below zero, or at it and falling."""
        soon = self.guards(t + 1e-9, y + 1e-9 * np.array(self.slopes(t, y)))
        pairs = zip(self.guards(t, y), soon, (self.s, self.s) if self.stage in ("in", "held") else (1, 1), strict=True)
        return next((i for i, (g, h, size) in enumerate(pairs) if g < 1e-11 * size and h < g), None)

    def solve(self) -> None:
        t, y = 0.0, np.array([0.0, 0.0, SPEED, SPEED, 0.0, self.wanted(0.0) if self.air else 0.0])
        corners = [x for x in self.raw.get("pressure_times", ()) if x > 0.0]
        while self.stage != "out" and t < 0.12:
            self.jumped = bool(corners) and t >= corners[-1]
            goal = min([x for x in corners if x > t + 1e-12] + [0.12])
            ends = [lambda s, z, i=i: self.guards(s, z)[i] for i in (0, 1)]
            for end in ends:
                end.terminal, end.direction = True, -1.0
            part = solve_ivp(self.slopes, (t, goal), y, method="DOP853", rtol=1e-11, atol=1e-13, events=ends,
                             max_step=1e-3)  # fmt: skip
            t, y = float(part.t[-1]), part.y[:, -1]
            i = next((i for i, at in enumerate(part.t_events) if at.size), None)
            while i is not None:
                self.switch(i, y)
                self.events.append(t)
                i = None if self.stage == "out" else self.due(t, y)
        self.t, self.y = t, y


@pytest.mark.parametrize("name", CASES)
def test_against_an_independent_solution(name):
    """All instants up to letting go to 1e-6 s, and the speeds then."""
    alone = Alone(name)
    alone.solve()
    r = crash(name)
    own = [float(v[0]) for v in r.out.events if v[1] == 0 and v[3] != v[4]]
    last = 1 + next(i for i, v in enumerate(own) if r.a.klass[0, int(r.at(v, r.mode(0)))] == 3)
    assert own[:last] == pytest.approx(alone.events, abs=1e-6)
    assert [r.at(own[last - 1], r.speed(n)) for n in (1, 2)] == pytest.approx(alone.y[2:4].tolist(), abs=1e-5)
    assert last >= {"pawl, air": 6, "pawl, vented": 12}.get(name, 1)


@pytest.mark.parametrize("name", CASES)
def test_mirrored_and_scaled(name):
    r, back, big = crash(name), crash(name, -1.0), crash(name, f=8.0)
    assert np.array_equal(r.t, back.t)
    assert back.torque(0) == pytest.approx(-r.torque(0), rel=1e-12, abs=1e-9)
    assert big.out.events[:, 0] == pytest.approx(r.out.events[:, 0], abs=1e-9)
    assert big.peak(1) == pytest.approx(8.0 * r.peak(1), rel=1e-8)


@pytest.mark.parametrize("rtol", [1e-8, 1e-6])
@pytest.mark.parametrize("name", CASES)
def test_energy_through_a_let_go(name, rtol):
    r = crash(name, rtol=rtol)
    assert r.a.klass[0, r.mode(0)[-1]] == 3
    assert r.residual < 1e-6
    falls = np.diff(r.heat(0)).min()
    assert falls > -1e-9
    assert r.heat(0)[-1] > 1.0


@pytest.mark.parametrize("name", CASES)
def test_nothing_lost_while_it_holds(name):
    """Undamped and wound up to half its setting: no heat."""
    kind, raw = CASES[name]
    line = Line()
    n = line.mass(0.1, 0.0, 0.002)
    line.part(kind, n, 0, **({k: v for k, v in raw.items() if not k.startswith("pressure")} | {"setting": 400.0}))
    r = run(line, 0.1, fast=1.0)
    assert not r.mode(0).any()
    assert r.heat(0)[-1] == 0.0


@pytest.mark.parametrize("loading", ["spring", "pneumatic"])
@pytest.mark.parametrize("friction", [0.0, 0.1, 0.3])
@pytest.mark.parametrize("speed", np.linspace(1.5, 9.5, 9).tolist())
def test_pawl_turned_back_on_its_flank(loading, friction, speed):
    """A nose that stops on the flank slides home or over dead centre; energy balances and heat only grows."""
    line = Line()
    n = line.mass(0.5, speed)
    line.part("notched-wheel pawl", n, 0, setting=180.0, friction=friction, loading=loading)
    r = run(line, 0.3, rtol=1e-8)
    assert r.residual < 1e-6
    assert np.diff(r.heat(0)).min() > -1e-9


def on_the_flank(torque: float) -> tuple[Line, int]:
    """A nose at rest 4 degrees up a flank of 60 N*m at 4 bar, held at ``torque``."""
    line = Line()
    up = radians(4.0)
    n = line.mass(3.0, 0.0, up + torque / 4e4)
    raw = {"setting": 60.0, "loading": "pneumatic", "stiffness": 4e4, "friction": 0.1}
    start = Start(mode=pw.FLANK_F, x=(up, 4e5))
    e = line.part("notched-wheel pawl", n, 0, start=start, **raw)
    line.part("constant-torque motor", 0, n, start=Start(mode=2), torque=torque, speed=1e9, inertia=1.0)
    return line, e


HOME = 60.0 * tan(radians(55.0) - atan(0.1)) / tan(radians(55.0) + atan(0.1))


@pytest.mark.parametrize(
    ("torque", "to"),
    [(60.0 * 1.0001, pw.CLIMB_F), (60.0 * 0.9999, None), (HOME * 1.0001, None), (HOME * 0.9999, pw.BACK_F)],
)
def test_holds_between_out_and_in(torque, to):
    """On the flank anything between tan(alpha - rho) and tan(alpha + rho) stays.  Friction cone, textbook."""
    line, e = on_the_flank(torque)
    r = run(line, 0.01, fast=1.0)
    assert r.mode(e)[-1] == (pw.FLANK_F if to is None else to)


def test_rising_pressure_works_on_a_nose_on_its_flank():
    """From 4 to 5 bar at 4 degrees of travel: the air gives the difference of what it holds.  Closed form."""
    line, e = on_the_flank(50.0)
    line.elements[e].lists.update(pressure_times=(0.0, 0.0), pressures=(4e5, 4.2e5))
    r = run(line, 1.0, fast=1.0, rtol=1e-9)
    assert r.mode(e)[-1] == pw.FLANK_F
    free = tan(radians(55.0)) / tan(radians(55.0) + atan(0.1))
    assert r.heat(e)[-1] == pytest.approx(-free * 60.0 * radians(4.0) * 0.2 / 3.7, rel=1e-6)
    assert r.residual < 1e-6


@pytest.mark.parametrize("kind", ["notched-wheel pawl", "tipping sprag"])
def test_stays_out(kind):
    """Once out it turns on, stops, turns back and passes its notch with its drag alone."""
    line = Line()
    n = line.mass(0.5, 20.0)
    line.part(kind, n, 0, setting=100.0, residual=0.02)
    line.part("shaft", n, 0, stiffness=5.0)
    r = run(line, 4.0, rtol=1e-8)
    out = pw.OUT if kind == "notched-wheel pawl" else ts.OUT
    first = int(np.argmax(r.mode(0) >= out))
    assert first > 0
    assert (r.mode(0)[first:] >= out).all()
    assert {out, out + 1} <= set(r.mode(0)[first:].tolist())
    assert abs(r.torque(0)[first:]).max() <= 2.0 + 1e-6
    assert r.angle(n).min() < -1.0
    assert r.residual < 1e-6
    assert r.meas[0, 26] == 1.0


def test_air_that_comes_back_does_not_bring_the_pawl_in():
    line = Line()
    raw = {"pressure_times": (0.0, 0.01, 0.01, 0.3, 0.3), "pressures": (4e5, 4e5, 0.0, 0.0, 4e5)}
    line.part("notched-wheel pawl", line.lead(0.5), 0, setting=5000.0, loading="pneumatic", **raw)
    r = run(line, 1.0, fast=0.5)
    assert r.state(0, pw.PRESSURE)[-1] == pytest.approx(4e5, rel=1e-6)
    assert r.mode(0)[-1] == pw.OUT


@pytest.mark.parametrize("f", [0.5, 2.0])
@pytest.mark.parametrize("name", ["pawl, spring", "pawl, air", "sprag, point"])
def test_dialled_setting_is_met(name, f):
    kind, raw = CASES[name]
    line = Line()
    line.part(kind, line.lead(1e-3), 0, **(raw | {"pressure": None}) if "air" in name else raw)
    a = line.assembly(220.0, fast=1e-3, h_max=0.5)
    new = a.graph.elements[0].part.call("dial", a.rows[0], f)
    a.rows[0, : len(new)] = new
    assert Run(a).peak(0) == pytest.approx(f * 150.0, rel=1e-5)


@pytest.mark.parametrize("load", [0.0, 0.5, 60.0])
@pytest.mark.parametrize("name", CASES)
def test_steady_running_before_the_event(name, load):
    """The seat carries the load before t = 0, whatever the pressure is to do later; nothing switches there."""
    kind, raw = CASES[name]
    line = Line()
    a, b = line.mass(J1, SPEED), line.mass(J2, SPEED)
    e = line.part(kind, a, b, relative_damping=PSI, **raw)
    line.part("constant-torque motor", 0, a, start=Start(mode=1), torque=90.0, speed=SPEED, inertia=1.0)
    line.part("friction load", b, 0, running=load)
    r = run(line, 0.2, t0=-0.05, steady=True, w1=60.0, rtol=1e-8)
    before = r.t < 0.0
    assert not r.mode(e)[before].any()
    assert r.torque(e)[before] == pytest.approx(load, abs=1e-5)
    if name == "pawl, vented":
        assert r.state(e, pw.PRESSURE)[before] == pytest.approx(5e5)
        assert r.mode(e)[-1] >= pw.OUT
        assert r.residual < 1e-6
    else:
        assert not r.mode(e).any()
