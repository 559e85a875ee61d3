"""Slow loading through the kernel: every protection reaches its stated setting, both ways, and loses nothing
before anything slips."""

from __future__ import annotations

from math import pi, radians

import numpy as np
import pytest
from lines import Line, Run, Start, run, sheet_of
from states import REGISTRY

CREEP = 1e-3
EDGE = {"setting": 150.0, "flank": "sharp edge", "pitch_radius": 0.045, "pocket_half_width": 0.004,
        "guide_friction": 0.1, "spring": "coil"}  # fmt: skip
DISC = {"lift": 0.0015, "disc_height": 0.0018, "disc_thickness": 0.001, "disc_deflection": 0.0009}
LOADED = {
    "friction disc": (
        {"setting": 150.0, "stribeck_speed": 0.0, "rise": 0.0, "breakaway": 1.2, "dwell_growth": 0.0}, 0.02),
    "friction disc by speed": (
        {"setting": 150.0, "breakaway": 1.2, "reference_slip": 0.0, "dwell_growth": 0.0}, 0.02),
    "friction disc by its nut": ({"faces": 2, "outer_diameter": 0.2, "inner_diameter": 0.12, "friction": 0.3,
                                  "spring_rate": 5e5, "nut_pitch": 2e-3, "nut_turns": 6.25 * pi,
                                  "stribeck_speed": 0.0, "rise": 0.0, "breakaway": 1.2, "dwell_growth": 0.0}, 0.02),
    "ball detent, disc spring": ({"setting": 150.0}, 0.1),
    "ball detent, coil spring": ({"setting": 150.0, "spring": "coil"}, 0.1),
    "ball detent, sharp edge": (EDGE | {"ball_radius": 0.005}, 0.12),
    "ball detent, disc by size": ({"setting": 150.0, **DISC}, 0.12),
    "roller detent": ({"setting": 150.0}, 0.12),
    "roller detent, greased and guided": ({"setting": 150.0, "spring": "coil", "guide_friction": 0.1}, 0.12),
    "roller detent, sharp edge": (EDGE | {"roller_radius": 0.005}, 0.12),
    "roller detent, disc by size": ({"setting": 150.0, **DISC}, 0.12),
    "shear pins": ({"setting": 150.0, "clearance": radians(0.1)}, 0.05),
    "shear pins, unequal": (
        {
            "setting": 150.0,
            "pins": 3,
            "clearance": radians(0.1),
            "scatter_strength": 0.08,
            "scatter_clearance": radians(0.04),
        },
        0.05,
    ),
    "magnet disc": ({"setting": 150.0}, 0.5),
    "magnet disc that weakens": ({"setting": 150.0, "remanence_fade": -0.0011}, 0.5),
    "notched-wheel pawl, spring": ({"setting": 150.0}, 0.2),
    "notched-wheel pawl, air": ({"setting": 150.0, "loading": "pneumatic"}, 0.2),
    "tipping sprag": ({"setting": 150.0}, 0.1),
    "slipping belt": ({"setting": 150.0}, 0.1),
    "magnetic particle clutch": ({"setting": 150.0}, 0.02),
    "magnetic particle clutch, requested": ({"setting": 250.0, "requested_torque": 150.0}, 0.02),
    "magnetic hysteresis clutch": ({"setting": 150.0}, 0.2),
}  # fmt: skip

LOSES_AT_ONCE = ("magnetic hysteresis clutch",)
"""Kinds whose own hysteresis takes the place of a damper."""


def kind_of(name: str) -> str:
    return next(k for k in REGISTRY if name.startswith(k))


def loaded(name: str, sense: float = 1.0, psi: float = 0.25) -> Run:
    raw, twist = LOADED[name]
    line = Line()
    if kind_of(name) not in LOSES_AT_ONCE:
        raw = raw | {"relative_damping": psi * 1e-3}
    line.part(kind_of(name), line.lead(sense * CREEP), 0, **raw)
    return run(line, twist / CREEP, w1=60.0, h_max=0.2, fast=CREEP)


@pytest.mark.parametrize("name", LOADED)
def test_reaches_its_setting(name):
    """Largest torque of slow loading = setting times the declared band, to 1e-4."""
    kind = kind_of(name)
    part, (raw, _) = REGISTRY[kind], LOADED[name]
    band = raw.get("breakaway", 1.0)
    s = sheet_of(kind, **raw)
    top = s.get("breakaway", s["setting"])
    assert s["setting"] == pytest.approx(150.0, rel=1e-9)
    assert top == pytest.approx(150.0 * band, rel=1e-9)
    r = loaded(name)
    assert r.peak(0) == pytest.approx(top, rel=1e-4)
    assert {int(r.a.klass[0, m]) for m in r.mode(0)} - {0}, "nothing let go"
    assert part.kind.name == kind


@pytest.mark.parametrize("name", LOADED)
def test_runs_mirrored(name):
    there, back = loaded(name), loaded(name, -1.0)
    n = min(len(there.t), len(back.t))
    assert np.array_equal(there.t[:n], back.t[:n])
    assert back.torque(0)[:n] == pytest.approx(-there.torque(0)[:n], rel=1e-12, abs=1e-9)


@pytest.mark.parametrize("name", [n for n in LOADED if kind_of(n) not in LOSES_AT_ONCE])
def test_loses_nothing_before_it_slips(name):
    r = loaded(name, psi=0.0)
    seated = r.mode(0) == r.mode(0)[0]
    first = int(np.argmin(seated)) if not seated.all() else len(seated)
    if kind_of(name) == "shear pins":  # the play is crossed first
        first = int(np.argmax(np.isin(r.mode(0), (7, 11))))
    assert r.torque(0)[first - 1] > 100.0
    assert r.heat(0)[first - 1] == pytest.approx(0.0, abs=1e-12)


def test_friction_disc_slides_at_its_setting():
    """At the reference slip speed, cold."""
    line = Line()
    line.part("friction disc", line.lead(5.0), 0, setting=150.0, fade=0.0)
    r = run(line, 0.3, w1=60.0, fast=5.0)
    assert r.torque(0)[-1] == pytest.approx(150.0, rel=1e-9)


def test_magnet_slips_pole_by_pole_and_counts():
    line = Line()
    line.part("magnet disc", line.lead(1.0), 0, setting=150.0, pole_pairs=4)
    r = run(line, 6.4, w1=60.0)
    assert len(r.events(0, 3)) == 4
    assert r.meas[0, 26] == 4.0


def test_pins_stay_broken():
    r = loaded("shear pins")
    assert r.mode(0)[-1] == 9
    assert r.torque(0)[-1] == 0.0
    assert r.meas[0, 26] == 1.0


@pytest.mark.parametrize("spring", ["disc", "coil"])
@pytest.mark.parametrize("friction", [0.0, 0.11, 0.3])
@pytest.mark.parametrize("speed", np.linspace(1.5, 6.5, 11).tolist())
def test_detent_turned_back_on_its_flank(spring, friction, speed):
    """Balls that stop on the flank slide home or over the crest; energy balances and heat only grows."""
    line = Line()
    n = line.mass(0.5, speed)
    line.part("ball detent", n, 0, setting=180.0, friction=friction, spring=spring)
    r = run(line, 0.3, rtol=1e-8)
    assert r.residual < 1e-6
    assert np.diff(r.heat(0)).min() > -1e-9


@pytest.mark.parametrize("breakaway", [1.0, 1.2])
@pytest.mark.parametrize("w", [15.0, 25.0, 40.0])
def test_disc_without_damping_comes_to_rest(breakaway, w):
    """Breakaway equal to running torque is no endless chain of sticking and slipping."""
    line = Line()
    a, b, c = (line.mass(j, w) for j in (0.3, 0.1, 0.2))
    line.part("constant-torque motor", 0, a, torque=90.0, speed=w, inertia=1.0)
    line.part("friction disc", a, b, setting=100.0, breakaway=breakaway, stribeck_speed=0.0, rise=0.0)
    line.part("shaft", b, c, stiffness=8000.0)
    line.part("partial jam", c, 0, drag=200.0, lasts=0.2)
    r = run(line, 1.0, rtol=1e-7)
    assert r.residual < 1e-5
    assert r.events(1)


@pytest.mark.parametrize("w", [10.0, 20.0, 30.0])
@pytest.mark.parametrize("clearance", [0.0, 0.003])
def test_pins_that_stretch_but_hold(w, clearance):
    """Yielding pins that are unloaded again hold on at their lasting twist, undamped."""
    line = Line()
    n = line.mass(0.05, w)
    start = Start(mode=0) if clearance else None
    line.part("shear pins", n, 0, setting=150.0, clearance=clearance, twist_to_fracture=0.5, start=start)
    r = run(line, 0.2, rtol=1e-8)
    assert r.events(0, 7)
    assert r.meas[0, 26] == 0.0
    assert r.residual < 1e-7
