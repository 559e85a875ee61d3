"""Detents through the kernel: let-go, pulses, reset, phase; energy, mirror, scale; an independent solution."""

from __future__ import annotations

from math import atan, cos, degrees, pi, radians, sin, sqrt, tan

import numpy as np
import pytest
from lines import Line, Run, Start, pull, run, sheet_of
from scipy.integrate import solve_ivp

from simcore.parts import ball_detent as bd
from simcore.solver import arrays as ar

EDGE = {"rollers": 6, "roller_force": 320.0, "pitch_radius": 0.045, "flank": "sharp edge", "roller_radius": 5e-3,
        "pocket_half_width": 4e-3, "spring": "coil", "spring_rate": 60e3, "friction": 0.1, "guide_friction": 0.08,
        "guide_radius": 0.03}  # fmt: skip
DISC = {"rollers": 8, "pitch_radius": 0.05, "lift": 1.5e-3, "disc_outer": 60e-3, "disc_inner": 30.5e-3,
        "disc_thickness": 1e-3, "disc_height": 1.8e-3, "disc_deflection": 0.9e-3, "friction": 0.1}  # fmt: skip
SNAP = DISC | {"disc_height": 3e-3, "disc_deflection": 2.5e-3, "lift": 3e-3}
PULSES = {"after_release": "ratchets", "ratcheting": "torque pulses", "pockets_every": radians(40.0)}
KINDS = {
    "edge": EDGE, "disc": DISC, "snap": SNAP,
    "edge, pulses": EDGE | PULSES, "disc, pulses": DISC | PULSES | {"seat_speed": 6.0},
    "list": EDGE | {"reset": "automatic", "seat_speed": 9.0, "residual": 0.2, "pockets": (0.1, 0.5, 2.6, 3.5)},
    "coil": {"setting": 60.0, "spring": "coil", **PULSES, "seat_speed": 8.0},
}  # fmt: skip


def crash(kind: str, sense: float = 1.0, scale: float = 1.0, psi: float = 0.25, w: float = 14.0) -> Line:
    """Motor, detent, coupling with play, disc; a jam of 0.12 s that is then cleared."""
    line = Line()
    a, b, c = (line.mass(j * scale, sense * w) for j in (0.15, 0.05, 0.2))
    raw = dict(KINDS[kind])
    if "pockets" in raw and sense < 0.0:
        raw["pockets"] = (0.1, *(0.2 + 2.0 * pi - p for p in raw["pockets"][:0:-1]))
    for name in ("setting", "roller_force", "spring_rate"):
        if name in raw:
            raw[name] *= scale
    if scale != 1.0 and "disc_outer" in raw:  # thicker springs of the same shape would change the lift
        raw["setting"] = scale * sheet_of("roller detent", **raw)["setting"]
        del raw["disc_outer"], raw["disc_inner"]
    line.part("constant-torque motor", 0, a, torque=25.0 * scale, speed=sense * w, droop=0.05, inertia=1.0)
    line.part("roller detent", a, b, relative_damping=psi, **raw)
    line.part("flexible coupling", b, c, stiffness=9000.0 * scale, lash=0.01, relative_damping=psi,
              start=Start(mode=0))  # fmt: skip
    line.part("friction load", c, 0, running=6.0 * scale)
    line.part("partial jam", c, 0, drag=400.0 * scale, lasts=0.12)
    return line


HOW = {"w1": 60.0, "rtol": 1e-8}


@pytest.mark.parametrize("kind", KINDS)
def test_energy_balances_and_heat_only_grows(kind):
    r = run(crash(kind), 0.8, **HOW)
    assert {bd.OUT_F} <= set(r.mode(1).tolist()), "nothing let go"
    assert r.residual < 1e-6
    for e in range(5):
        assert np.diff(r.heat(e)).min() > -1e-9 or e == 0
    if "pulses" in kind or kind == "coil":
        assert r.events(1, bd.LAND_F)
    if kind == "list":
        assert r.events(1, bd.SEATED)


@pytest.mark.parametrize("kind", KINDS)
def test_mirrored_and_scaled(kind):
    """Backward the same instants; three times all torques and inertias too.  A list is mirrored with it."""
    there = run(crash(kind), 0.3, **HOW)
    back = run(crash(kind, -1.0), 0.3, **HOW)
    assert there.out.events[:, 0] == pytest.approx(back.out.events[:, 0], abs=1e-10)
    if kind != "list":  # angles added up elsewhere round elsewhere
        assert back.torque(1) == pytest.approx(-there.torque(1), rel=1e-12, abs=1e-9)
    large = run(crash(kind, scale=3.0), 0.3, **HOW)
    assert there.events(1) == pytest.approx(large.events(1), rel=1e-6)


def test_nothing_slips_nothing_is_lost():
    line = Line()
    a, b = line.mass(0.1, 5.0), line.mass(0.1, 5.0)
    pull(line, a, 30.0)
    e = line.part("roller detent", a, b, **EDGE)
    r = run(line, 0.2)
    assert r.events(e) == []
    assert r.heat(e)[-1] == 0.0


@pytest.mark.parametrize("kind", ["edge", "disc", "snap"])
@pytest.mark.parametrize("friction", [0.0, 0.1, 0.3])
@pytest.mark.parametrize("speed", np.linspace(2.4, 7.0, 8).tolist())
def test_turned_back_on_a_curved_flank(kind, friction, speed):
    """Rollers that stop on the flank slide home, stay or go over the crest; energy balances."""
    line = Line()
    n = line.mass(0.5, speed)
    raw = KINDS[kind] | {"friction": friction}
    e = line.part("roller detent", n, 0, **raw)
    r = run(line, 0.3, rtol=1e-8)
    assert r.events(e)
    assert r.residual < 1e-6
    assert np.diff(r.heat(e)).min() > -1e-9


def test_guide_friction_turns_with_the_side_force():
    """Near the crest friction holds the roller, further down the flank pushes it: one event on the way home."""
    line = Line()
    n = line.mass(5.0, -0.5, 0.083)
    e = line.part("roller detent", n, 0, start=Start(mode=bd.FLANK_F, x=(0.083,)), **EDGE)
    r = run(line, 0.4, fast=1.0)
    assert [int(row[4]) for row in r.out.events[:2]] == [bd.BACK_F, bd.BACK_F]
    turns = r.at(r.events(e)[1], r.state(e))
    slope = (4e-3 - 0.045 * turns) / sqrt(25e-6 - (4e-3 - 0.045 * turns) ** 2)
    assert slope == pytest.approx(0.1, rel=1e-8)
    assert r.residual < 1e-8


def resting_angle(speed: float, first: float, **raw: float | str | tuple[float, ...]) -> float:
    """Relative angle [deg] at which a detent that was released turns on and seats itself again."""
    line = Line()
    n = line.mass(0.05, speed)
    start = Start(mode=bd.OUT_F, memory={bd.NEXT_F: first})
    e = line.part("roller detent", n, 0, setting=20.0, relative_damping=1.0, start=start, **raw)
    r = run(line, 6.0, w1=60.0)
    assert r.mode(e)[-1] == bd.SEATED
    return degrees(r.angle(n)[-1])


def test_phase_is_kept_by_a_single_pocket_and_lost_by_several():
    """4.2 rad/s falls by 0.8 rad/s^2 to below 3.5 after 201 degrees; the next pocket is where it comes to rest."""
    how = {"reset": "automatic", "seat_speed": 3.5, "residual": 0.002}
    kept = resting_angle(4.2, 2 * pi, **how)
    lost = resting_angle(4.2, radians(60.0), pockets_every=radians(60.0), **how)
    listed = resting_angle(4.2, radians(50.0), pockets=tuple(map(radians, (20.0, 70.0, 170.0, 255.0))), **how)
    assert kept == pytest.approx(360.0, abs=1.0)
    assert lost == pytest.approx(240.0, abs=1.0)
    assert listed == pytest.approx(235.0, abs=1.0)


def test_longest_wait_is_that_between_the_pockets_farthest_apart():
    """10 rpm are 60 degrees a second; listed pockets leave gaps of 50, 100, 85 and 125 degrees."""
    how = {"reset": "automatic", "seat_speed": 3.5, "crawl_speed": radians(60.0)}
    wait = "longest wait for a pocket at the crawl speed"
    listed = sheet_of("ball detent", setting=100.0, pockets=tuple(map(radians, (20.0, 70.0, 170.0, 255.0))), **how)
    assert listed[wait] == pytest.approx(125.0 / 60.0)
    assert sheet_of("ball detent", setting=100.0, pockets_every=radians(90.0), **how)[wait] == pytest.approx(1.5)


def test_phase_memory():
    """The pocket it sits in less whole turns."""
    from simcore.parts._detent_flank import whole_turn

    assert whole_turn(4 * pi) == pytest.approx(0.0, abs=1e-12)
    assert whole_turn(radians(-300.0)) == pytest.approx(radians(60.0))
    assert whole_turn(radians(700.0)) == pytest.approx(radians(-20.0))


def test_automatic_reset_waits_for_a_slow_pocket():
    """What stays out passes pockets without a pulse while fast, and seats when slow; manual never."""
    raw = {"setting": 50.0, "pockets_every": radians(90.0), "seat_speed": 2.0, "residual": 0.0}
    for reset, speed, seats in (("automatic", 1.999, True), ("automatic", 2.001, False), ("manual", 1.0, False)):
        line = Line()
        start = Start(mode=bd.OUT_F, memory={bd.NEXT_F: radians(90.0)})
        e = line.part("roller detent", line.lead(speed), 0, reset=reset, start=start, **raw)
        r = run(line, 1.0)
        assert bool(r.events(e, bd.SEATED)) is seats
        assert not r.events(e, bd.DROP_F)


def test_pockets_are_counted():
    line = Line()
    start = Start(mode=bd.OUT_F, memory={bd.NEXT_F: radians(40.0)})
    line.part("roller detent", line.lead(10.0), 0, setting=50.0, start=start, **PULSES)
    r = run(line, 6.3 * radians(40.0) / 10.0)
    assert r.meas[0, ar.TALLY] == 6.0
    assert len(r.events(0, bd.LAND_F)) == len(r.events(0, bd.OUT_F)) == 6


def test_turned_while_dropping():
    """A hub that turns round before the rollers land: they rest straight below and the hub slides them home."""
    line = Line()
    n = line.mass(0.5, 1.2)
    start = Start(mode=bd.OUT_F, memory={bd.NEXT_F: radians(0.0), bd.NEXT_B: radians(-40.0)}, row={"drag": 30.0})
    e = line.part("roller detent", n, 0, start=start, **{**PULSES, "seat_speed": 0.5, **EDGE})
    r = run(line, 0.5, fast=1.0)
    seen = [int(row[4]) for row in r.out.events]
    assert seen[0] == bd.DROP_F
    assert bd.LAND_F not in seen
    assert r.residual < 1e-7
    assert np.diff(r.heat(e)).min() > -1e-9


K, C = 3e4, 2.0
J1, J2, MOTOR, SHAFT = 0.3, 0.05, 30.0, 4e4
SEAT = 8.0


class EdgeByHand:
    """A motor at its limit drives an inertia on a roller detent with sharp edges; a shaft holds the far side.

    States: angle and speed of either side, travel on the flank.  Written from the equations alone.
    """

    R, a, r, mu = 0.045, 4e-3, 5e-3, 0.1
    pitch = radians(40.0)

    def __init__(self):
        self.crest = self.a / self.R
        self.lift = self.r - sqrt(self.r**2 - self.a**2)
        self.pocket = self.travel = 0.0
        self.wind = 0.0
        self.log = []

    def climb(self, u):
        d = self.a - self.R * u
        up = tan(atan(d / sqrt(self.r**2 - d * d)) + atan(self.mu))
        force = 6 * (320.0 + 60e3 * (sqrt(self.r**2 - d * d) - sqrt(self.r**2 - self.a**2)))
        return force * self.R / (1.0 / up - 0.08 * self.R / 0.03)

    def torque(self, mode, y):
        nu = y[1] - y[3]
        if mode in ("seated", "landed"):
            return K * (y[0] - y[2] - self.pocket - self.travel) + C * nu
        return self.climb(y[4]) if mode == "climbing" else 0.02 * self.climb(0.0)

    def slopes(self, mode, y):
        T = self.torque(mode, y)
        u = y[1] - y[3] if mode == "climbing" else 0.0
        return [y[1], (MOTOR - T) / J1, y[3], (T - SHAFT * y[2]) / J2, u]

    def guard(self, mode, y):
        phi = y[0] - y[2]
        if mode in ("seated", "landed"):
            return self.climb(self.travel) - self.torque(mode, y)
        if mode == "climbing":
            return self.crest - y[4]
        target = self.pocket + (self.pitch if mode == "out" else self.travel)
        return target - phi

    def next(self, mode, y):
        if mode in ("seated", "landed"):
            y[4] = self.travel
            return "climbing"
        if mode == "climbing":
            return "out"
        if mode == "dropping":
            return "landed"
        self.pocket += self.pitch
        nu = y[1] - y[3]
        if nu <= SEAT:
            self.travel = 0.0
            return "seated"
        height = self.lift * (1.0 - (SEAT / nu) ** 2) + sqrt(self.r**2 - self.a**2)
        self.travel = (self.a - sqrt(self.r**2 - height**2)) / self.R
        return "dropping"

    def run(self, y, t_end):
        t, mode = 0.0, "seated"
        while True:
            event = lambda s, v, m=mode: self.guard(m, v)
            stop = lambda s, v: v[1] - v[3]
            event.terminal = stop.terminal = True
            event.direction = stop.direction = -1.0
            s = solve_ivp(lambda s, v, m=mode: self.slopes(m, v), (t, t_end), y, "DOP853", events=(event, stop),
                          dense_output=True, rtol=1e-11, atol=1e-12)  # fmt: skip
            if s.status == 0:
                return
            t, y = float(s.t[-1]), s.y[:, -1].copy()
            if len(s.t_events[1]):
                self.log.append((t, "turned"))
                return
            mode = self.next(mode, y)
            self.log.append((t, mode))


NAMES = {"climbing": bd.FALL_F, "out": bd.OUT_F, "dropping": bd.DROP_F, "landed": bd.LAND_F, "seated": bd.SEATED}


def test_against_an_independent_solution():
    """Release, pulses at two pockets and more, until it turns: every instant to 1e-6 s."""
    hand = EdgeByHand()
    hand.run(np.array([0.0, 20.0, 0.0, 0.0, 0.0]), 0.6)
    line = Line()
    a, b = line.mass(J1, 20.0), line.mass(J2)
    pull(line, a, MOTOR)
    raw = EDGE | PULSES | {"stiffness": K, "seat_speed": SEAT, "residual": 0.02}
    e = line.part("roller detent", a, b, start=Start(row={"c": C}), **raw)
    line.part("shaft", b, 0, stiffness=SHAFT)
    r: Run = run(line, 0.6)
    seen = [(float(row[0]), int(row[4])) for row in r.out.events if row[1] == e]
    expected = [(t, NAMES[m]) for t, m in hand.log if m in NAMES]
    assert len(expected) >= 9
    assert {m for _, m in expected} >= {bd.DROP_F, bd.LAND_F, bd.OUT_F, bd.FALL_F}
    for (t, mode), (mine, my_mode) in zip(expected, seen, strict=False):
        assert my_mode == mode
        assert mine == pytest.approx(t, abs=1e-6)
    assert r.residual < 1e-8


def test_hand_solution_has_the_right_flank():
    """The solver above starts from the part's own setting, by its own formula."""
    a, rho, m = atan(4.0 / 3.0), atan(0.1), 0.08 * 1.5
    t = sin(a + rho) / cos(a + rho)
    assert EdgeByHand().climb(0.0) == pytest.approx(6 * 320.0 * 0.045 * t / (1.0 - m * t), rel=1e-12)
    assert sheet_of("roller detent", **EDGE)["setting"] >= EdgeByHand().climb(0.0) * (1.0 - 1e-12)
