"""Ball and roller detents by geometry, their springs and pockets, against closed forms.  Kernel runs at 1e-10."""

from __future__ import annotations

from math import atan, cos, pi, radians, sin, sqrt, tan

import pytest
from lines import Line, Start, raw_of, row_of, run, sheet_of
from scipy.integrate import quad
from scipy.optimize import brentq

from simcore.parts import REGISTRY
from simcore.parts import _detent_flank as fl
from simcore.parts import ball_detent as bd
from simcore.parts._detent_row import disc_force, snaps_at

SIX_BALLS = {"balls": 6, "ball_force": 320.0, "pitch_radius": 0.045, "flank_angle": radians(50.0), "friction": 0.08,
             "spring": "coil", "crest_torque": 1.0}  # fmt: skip
ON_EDGES = {"balls": 6, "ball_force": 320.0, "pitch_radius": 0.045, "flank": "sharp edge", "ball_radius": 5e-3,
            "pocket_half_width": 4e-3, "spring": "coil", "spring_rate": 60e3, "friction": 0.0}  # fmt: skip


@pytest.mark.parametrize(
    ("guide", "radius", "torque"), [(0.0, None, 121.459493), (0.1, None, 141.326973), (0.1, 0.025, 162.605217)]
)
def test_torque_with_guide_friction(guide, radius, torque):
    """n*F*R/(cot(alpha + rho) - mu_g*R/r_g), guide at the pitch radius or at 25 mm.  Force balance of the plunger,
    as in Niemann and Winter, Maschinenelemente 1 (cited from memory)."""
    more = {} if radius is None else {"guide_radius": radius}
    s = sheet_of("ball detent", guide_friction=guide, **more, **SIX_BALLS)
    assert s["setting"] == pytest.approx(torque, rel=1e-8)
    ratio = 0.045 / (radius or 0.045)
    cot = 1.0 / tan(radians(50.0) - atan(0.08))
    assert s["torque returned while sliding home"] == pytest.approx(86.4 / (cot + guide * ratio), rel=1e-12)


def test_guide_jams():
    """The bracket cot(alpha + rho) - mu_g*R/r_g goes to zero at mu_g = 86.4/121.459493 (R = r_g).  Closed form."""
    limit = 1.0 / tan(radians(50.0) + atan(0.08))
    assert limit == pytest.approx(86.4 / 121.459493, rel=1e-8)
    part = REGISTRY["ball detent"]
    for share, jams in ((1.0 + 1e-9, True), (1.0 - 1e-9, False)):
        raw = part.raw_lists(raw_of(part, guide_friction=limit * share, **SIX_BALLS))
        assert any("guide jams" in s for s in part.call("refuse", raw)) is jams
    near = sheet_of("ball detent", guide_friction=0.99 * limit, **SIX_BALLS)["setting"]
    assert near == pytest.approx(100.0 * 121.459493, rel=1e-6)


@pytest.mark.parametrize(("share", "setting"), [(1.0, 121.459493), (1.5, 80.9729953), (6.0, 20.2432488)])
def test_first_element_carries_more(share, setting):
    """Only n over the factor climb at a time; the first then carries setting/R/(n/factor).  Own model."""
    s = sheet_of("ball detent", first_carries=share, **SIX_BALLS)
    assert s["setting"] == pytest.approx(setting, rel=1e-8)
    assert s["side force on the first element"] == pytest.approx(121.459493 / 0.045 / 6, rel=1e-8)


def test_dry_flanks_raise_a_stated_setting():
    """tan(alpha + rho) over its greased value, 45 degrees: +20.3 %; common practice says 20 to 40 %, no source."""
    given = {"setting": 100.0, "setting_friction": 0.11}
    s = sheet_of("ball detent", friction=0.2, **given)
    assert s["setting"] == pytest.approx(100.0 * (1.2 / 0.8) / (1.11 / 0.89), rel=1e-12)
    assert 1.2 < s["setting"] / 100.0 < 1.4
    assert sheet_of("ball detent", friction=0.11, **given)["setting"] == 100.0


def test_drift_with_releases():
    """-10 % in 1000 at full speed, common practice, no source: 1500 releases leave 85 %."""
    s = sheet_of("ball detent", setting=200.0, drift_per_1000=-0.1, releases_done=1500)
    assert s["setting"] == pytest.approx(170.0, rel=1e-12)
    assert sheet_of("ball detent", setting=200.0, releases_done=1500)["setting"] == 200.0


@pytest.mark.parametrize(("travel", "torque"), [(0.0, 115.2), (1e-3, 76.95), (4e-3, 0.0)])
def test_ball_on_a_sharp_edge(travel, torque):
    """n*F*R*(a - x)/sqrt(r^2 - (a - x)^2), 320 N + 60 N/mm, no friction.  Geometry of the circle (closed form)."""
    row = row_of("ball detent", **ON_EDGES)
    assert fl.out(row, travel / 0.045) == pytest.approx(torque, rel=1e-8, abs=1e-9)
    s = sheet_of("ball detent", **ON_EDGES)
    assert s["lift"] == pytest.approx(2e-3, rel=1e-9)
    assert s["release twist"] == pytest.approx(radians(5.09295818), rel=1e-8)
    assert s["energy in the springs at the crest"] == pytest.approx(4.56, rel=1e-9)
    assert s["energy in the springs at the crest"] == pytest.approx(quad(lambda u: fl.out(row, u), 0, row[2])[0])


@pytest.mark.parametrize("mu", [0.05, 0.15])
def test_edge_with_friction(mu):
    """tan(atan(slope) +- rho): at the crest +-mu*n*F*R.  Inclined flank; the springs' energy has no friction."""
    row = row_of("ball detent", **{**ON_EDGES, "friction": mu})
    crest = 6 * (320.0 + 60e3 * 2e-3) * 0.045 * mu
    assert fl.out(row, row[fl.CREST]) == pytest.approx(crest, rel=1e-9)
    assert fl.back(row, row[fl.CREST], -1.0) == pytest.approx(-crest, rel=1e-9)
    u = 1e-3 / 0.045
    alpha = atan(3.0 / 4.0)
    force = 6 * (320.0 + 60e3 * (4e-3 - 3e-3)) * 0.045
    assert fl.out(row, u) == pytest.approx(force * tan(alpha + atan(mu)), rel=1e-9)
    assert fl.back(row, u, 1.0) == pytest.approx(force * tan(alpha - atan(mu)), rel=1e-9)
    assert fl.lifted(row, row[fl.CREST]) == pytest.approx(4.56, rel=1e-9)


@pytest.mark.parametrize(("share", "passes"), [(1 - 1e-6, False), (1 + 1e-6, True)])
def test_speed_that_passes_the_edge(share, passes):
    """sqrt(2*4.56/0.02) = 21.3541565 rad/s for a rigid seat.  Energy (closed form), through the kernel."""
    line = Line()
    raw = ON_EDGES | {"stiffness": 4e10, "residual": 0.0}
    n = line.mass(0.02, 21.3541565 * share, 115.2 / 4e10)
    e = line.part("ball detent", n, 0, start=Start(mode=bd.FALL_F), **raw)
    r = run(line, 0.05)
    assert bool(r.events(e, bd.OUT_F)) is passes
    if passes:
        assert 0.01 * (r.speed(n)[0] ** 2 - r.speed(n)[-1] ** 2) == pytest.approx(4.56, rel=1e-8)


DISCS = [
    (50e-3, 25.4e-3, 3e-3, 4.1e-3, 11976.4504, 12000.0), (50e-3, 25.4e-3, 2e-3, 3.4e-3, 4762.11902, 4760.0),
    (50e-3, 25.4e-3, 1.25e-3, 2.85e-3, 1550.18181, 1550.0), (25e-3, 12.2e-3, 1.5e-3, 2.05e-3, 2926.03937, 2910.0),
    (100e-3, 51e-3, 6e-3, 8.2e-3, 48021.6513, 48000.0), (100e-3, 51e-3, 2.7e-3, 6.2e-3, 8608.8141, 8610.0),
]  # fmt: skip


@pytest.mark.parametrize(("outer", "inner", "t", "free", "load", "listed"), DISCS)
def test_disc_spring_load(outer, inner, t, free, load, listed):
    """Load at 0.75 h0.  Almen and Laszlo as in EN 16984, DIN 2092; loads listed in EN 16983 (from memory)."""
    h = free - t
    F = disc_force(outer, inner, t, h, 0.75 * h)
    assert pytest.approx(load, rel=1e-8) == F
    assert pytest.approx(listed, rel=6e-3) == F


def test_disc_spring_falls_past_its_peak():
    """60/30.5, t 1, h0 1.8 mm: 755.732772 N at 1.15708995 mm, 658.515361 N flat.  Same source; turning points
    h0 -+ sqrt((h0^2 - 2 t^2)/3), so it only falls where h0/t is above sqrt(2)."""
    load = lambda s: disc_force(60e-3, 30.5e-3, 1e-3, 1.8e-3, s)
    assert load(1.15708995e-3) == pytest.approx(755.732772, rel=1e-8)
    assert load(1.8e-3) == pytest.approx(658.515361, rel=1e-8)
    assert load(2.44291005e-3) == pytest.approx(561.297950, rel=1e-8)
    rising = lambda h: all(
        disc_force(60e-3, 30.5e-3, 1e-3, h, s * 1e-6) < disc_force(60e-3, 30.5e-3, 1e-3, h, s * 1e-6 + 1e-6)
        for s in range(1, 3000, 10)
    )
    assert rising(1.413e-3)
    assert not rising(1.43e-3)


def test_disc_spring_snaps_through():
    """The load reaches zero only where h0/t is above 2*sqrt(2).  Same source, own root of the cubic."""
    assert snaps_at(2.8284) > 1e100
    for h in (2.83, 3.0, 3.5):
        zero = brentq(lambda x, h=h: (h - x) * (h - 0.5 * x) + 1.0, 1e-6, 1.5 * h)
        assert snaps_at(h) == pytest.approx(zero, rel=1e-9)


DISC = {"balls": 8, "pitch_radius": 0.05, "lift": 1.5e-3, "disc_outer": 60e-3, "disc_inner": 30.5e-3,
        "disc_thickness": 1e-3, "disc_height": 1.8e-3, "friction": 0.1}  # fmt: skip


@pytest.mark.parametrize("seated", [0.9e-3, 1.3e-3])
def test_detent_on_a_disc_spring(seated):
    """Setting: the spring's peak if seated before it, else at the seat; at the crest its load there."""
    s = sheet_of("ball detent", disc_deflection=seated, **DISC)
    up = 0.05 * tan(radians(45.0) + atan(0.1))
    load = lambda x: disc_force(60e-3, 30.5e-3, 1e-3, 1.8e-3, x)
    assert s["setting"] == pytest.approx((755.732772 if seated < 1.1e-3 else load(seated)) * up, rel=1e-8)
    assert s["torque at the crest"] == pytest.approx(load(seated + 1.5e-3) * up, rel=1e-9)
    assert s["energy in the springs at the crest"] == pytest.approx(quad(load, seated, seated + 1.5e-3)[0], rel=1e-9)
    two = sheet_of("ball detent", disc_deflection=seated, discs_in_series=2, **DISC)
    assert two["torque at the crest"] == pytest.approx(load(seated + 0.75e-3) * up, rel=1e-9)


def test_disc_spring_that_snaps_through_sets_the_crest():
    """h0/t = 3, seated at 2.5 t: the balls are out where no load is left, by the root of the load."""
    raw = DISC | {"disc_height": 3e-3, "disc_deflection": 2.5e-3, "lift": 3e-3}
    s = sheet_of("ball detent", **raw)
    zero = brentq(lambda x: (3.0 - x) * (3.0 - 0.5 * x) + 1.0, 2.5, 4.49)
    assert s["release twist"] == pytest.approx((zero - 2.5) * 1e-3 / 0.05, rel=1e-9)
    assert s["torque at the crest"] == pytest.approx(0.0, abs=1e-6)


SEAT = {"balls": 1, "ball_force": 900.0, "pitch_radius": 0.05, "lift": 2e-3, "spring": "coil", "crest_torque": 1.0,
        "moving_mass": 0.25, "pocket_width": 6e-3 / 0.05, "residual": 0.0, "after_release": "ratchets",
        "pockets_every": radians(60.0)}  # fmt: skip


@pytest.mark.parametrize(("share", "seats"), [(1 - 1e-7, True), (1 + 1e-7, False)])
def test_time_to_drop_in(share, seats):
    """900 N, 0.25 kg, 2 mm deep, 6 mm wide, radius 50 mm: full depth below 113.841996 rad/s.  (F/m)*tau^2/2
    (closed form); an order of magnitude.  Both sides, through the kernel."""
    limit = 113.841996
    assert sheet_of("ball detent", **SEAT)["drops in below"] == pytest.approx(limit, rel=1e-8)
    line = Line()
    n = line.lead(sqrt(0.006**2 / 0.05**2 * 900.0 / 0.25 / 0.004) * share)
    e = line.part("ball detent", n, 0, start=Start(mode=bd.OUT_F, memory={bd.NEXT_F: radians(60.0)}), **SEAT)
    assert bool(run(line, 0.012).events(e, bd.SEATED)) is seats


def test_dial_drops_sooner_by_mass():
    """The speed goes with the root of the force.  Same closed form."""
    row = row_of("ball detent", **SEAT)
    assert bd.dial(row, 1.44)[bd.SEAT_SPEED] == pytest.approx(1.2 * row[bd.SEAT_SPEED], rel=1e-12)
    stated = row_of("ball detent", setting=100.0, after_release="ratchets")
    assert bd.dial(stated, 1.44)[bd.SEAT_SPEED] == stated[bd.SEAT_SPEED]


@pytest.mark.parametrize(("friction", "stays"), [(1.001, True), (0.999, False)])
def test_stays_on_a_flank_flatter_than_the_friction_angle(friction, stays):
    """Held on the flank at alpha = 20 degrees and let go of: alpha <= rho returns nothing.
    Inclined flank, textbook."""
    mu = friction * tan(radians(20.0))
    line = Line()
    n = line.mass(0.05, 0.0, radians(2.0))
    e = line.part("ball detent", n, 0, setting=100.0, flank_angle=radians(20.0), friction=mu,
                  start=Start(mode=bd.FLANK_F, x=(radians(2.0),)))  # fmt: skip
    r = run(line, 0.2, fast=1.0)
    assert r.events(e) == [] if stays else bool(r.events(e, bd.BACK_F))
    assert bool(abs(r.speed(n)[-1]) < 1e-12) is stays
    s = sheet_of("ball detent", setting=100.0, flank_angle=radians(20.0), friction=mu)
    assert (s["torque returned while sliding home"] <= 0.0) is stays


J = 0.2
RATCHET = {"setting": 120.0, "spring": "coil", "crest_torque": 1.2, "release_twist": radians(4.0), "stiffness": 2e4,
           "after_release": "ratchets", "pockets_every": radians(30.0), "residual": 0.0}  # fmt: skip


@pytest.mark.parametrize(("share", "passes"), [(1 - 1e-6, False), (1 + 1e-6, True)])
@pytest.mark.parametrize("depth", [1.0, 0.64])
def test_energy_that_ratchets_on(depth, share, passes):
    """Dropped by ``depth`` of the lift it passes on if J*w^2/2 exceeds the wind-up T^2/(2k) to the torque where it
    landed and the rest of the climb.  Energy (closed form); depth (seat speed over speed)^2."""
    crest, k, t1, t2 = radians(4.0), 2e4, 100.0, 120.0
    u = crest * (1.0 - depth)
    landed = t1 + (t2 - t1) * u / crest
    w = sqrt(2.0 / J * (landed**2 / (2.0 * k) + 0.5 * (landed + t2) * (crest - u)))
    line = Line()
    n = line.mass(J, w * share)
    e = line.part("ball detent", n, 0, seat_speed=w * sqrt(depth) * max(1.0, share), ratcheting="torque pulses",
                  start=Start(mode=bd.OUT_F, memory={bd.NEXT_F: radians(30.0)}), **RATCHET)  # fmt: skip
    r = run(line, 0.3)
    assert bool(r.events(e, bd.LAND_F)) is (depth < 1.0)
    assert bool(r.events(e, bd.SEATED)) or depth < 1.0
    assert bool(r.events(e, bd.OUT_F)) is passes


PLACES = (10.0, 55.0, 130.0, 250.0)


def passed(sense: float, turns: float) -> list[float]:
    """Angles [deg] of the pockets met by a led hub that has just left the first of PLACES, or its mirror image."""
    line = Line()
    n = line.lead(sense)
    places = PLACES if sense > 0.0 else (10.0, 130.0, 250.0, 325.0)
    next_f, next_b = (45.0, 0.0) if sense > 0.0 else (0.0, -45.0)
    memory = {bd.NEXT_F: radians(next_f), bd.NEXT_B: radians(next_b), bd.PLACE: 0.0 if sense > 0.0 else -1.0}
    mode = bd.OUT_F if sense > 0.0 else bd.OUT_B
    e = line.part("ball detent", n, 0, setting=100.0, seat_speed=0.0, after_release="ratchets",
                  pockets=tuple(radians(p) for p in places), start=Start(mode=mode, memory=memory))  # fmt: skip
    r = run(line, turns * 2 * pi, h_max=0.05)
    return [t * 180.0 / pi for t in r.events(e, mode)]


def test_pockets_of_a_list_in_order_and_mirrored():
    """45, 75, 120 and 120 degrees apart, over and over.  Closed form."""
    steps = [45.0, 120.0, 240.0, 360.0, 405.0, 480.0, 600.0, 720.0]
    assert passed(1.0, 2.05) == pytest.approx(steps, rel=1e-9)
    assert passed(-1.0, 2.05) == pytest.approx(steps, rel=1e-9)


def test_longest_wait_for_a_pocket():
    """60 degrees at 2 rpm: 5 s; with a list of pockets at most a turn: 30 s.  Closed form."""
    given = {"setting": 100.0, "reset": "automatic", "crawl_speed": 2 * pi / 30.0}
    name = "longest wait for a pocket at the crawl speed"
    assert sheet_of("roller detent", pockets_every=radians(60.0), **given)[name] == pytest.approx(5.0)
    assert sheet_of("roller detent", **given)[name] == pytest.approx(30.0)


def test_roller_by_geometry():
    """12 rollers, 900 N, radius 80 mm, 50 degrees, 0.11: n*F*R*tan(alpha + rho) by the sum of angles."""
    s = sheet_of("roller detent", rollers=12, roller_force=900.0, pitch_radius=0.08, friction=0.11)
    a, rho = radians(50.0), atan(0.11)
    assert s["setting"] == pytest.approx(12 * 900.0 * 0.08 * sin(a + rho) / cos(a + rho), rel=1e-12)
    assert s["resetting torque"] == pytest.approx(0.03 * s["setting"], rel=1e-12)
