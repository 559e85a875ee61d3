"""Face temperature, faces and clamping of the friction disc against closed forms of textbooks."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from lines import Line, Run, Start, ideal_disc, row_of, run, sheet_of, sliding
from scipy.integrate import quad
from scipy.linalg import expm

from simcore.parts import friction_disc as fd

D, AREA = 4e-3, 17e-3
CONDUCTIVITY, DENSITY, HEAT = 50.0, 7850.0, 460.0  # steel, from memory
DIFFUSIVITY = CONDUCTIVITY / (DENSITY * HEAT)
PLATE = DENSITY * HEAT * AREA * D
N = np.arange(1.0, 3000.0)
LEAD = D / (3.0 * CONDUCTIVITY * AREA)
SHARES = 6.0 / (pi * N) ** 2
LAGS = D * D / ((pi * N) ** 2 * DIFFUSIVITY)
WITHIN = 0.06
STEEL = {"facing_area": AREA, "half_thickness": D}


def slab(t: float) -> float:
    """Rise of the surface [K/W] after 1 W from t = 0.  Carslaw and Jaeger, slab with constant flux and its other
    face closed (cited from memory)."""
    return t / PLATE + LEAD * (1.0 - float(SHARES @ np.exp(-t / LAGS))) if t > 0.0 else 0.0


def layers(t: float) -> float:
    """The same by the part's row: bulk without cooling and two layers."""
    p = row_of("friction disc", setting=150.0, **STEEL)
    lead = sum(p[r] * (1.0 - np.exp(-t / p[tau])) for r, tau in ((fd.R_1, fd.TAU_1), (fd.R_2, fd.TAU_2)))
    return t / PLATE + float(lead) if t > 0.0 else 0.0


def warmed(w: float, seconds: float, **more: float) -> tuple[Run, int]:
    """Led at ``w`` against a disc of 50 N*m that keeps its torque."""
    line = Line()
    a = line.lead(w)
    inputs = ideal_disc(50.0, 5200.0) | {"heat_capacity": PLATE, "cooling": 0.0, **STEEL, **more}
    disc = line.part("friction disc", a, 0, start=sliding(50.0, 5200.0), **inputs)
    return run(line, seconds), disc


def surface(r: Run, disc: int) -> np.ndarray:
    return r.state(disc, fd.TEMP) + r.state(disc, fd.SKIN_1) + r.state(disc, fd.SKIN_2)


def test_slab_begins_as_a_half_space():
    """2*q*sqrt(a*t/pi)/k while the heat has not crossed the plate: the series is the right one.  Carslaw and
    Jaeger (cited from memory)."""
    t = 2e-3
    assert slab(t) == pytest.approx(2.0 * sqrt(DIFFUSIVITY * t / pi) / (CONDUCTIVITY * AREA), rel=1e-3)


def test_lags_and_leads_of_a_plate():
    p = row_of("friction disc", setting=150.0, **STEEL)
    assert p[fd.TAU_1] == pytest.approx(1.28e-3, rel=2e-3)
    assert p[fd.TAU_2] == pytest.approx(51.5e-3, rel=2e-3)
    assert p[fd.R_1] == pytest.approx(0.145 * LEAD, rel=1e-9)
    assert p[fd.R_2] == pytest.approx(0.738 * LEAD, rel=1e-9)


def test_size_rule_and_faces_give_the_area():
    """17000 mm^2 at 150 N*m, as the torque to the power 2/3; or all faces by their diameters."""
    by_size = row_of("friction disc", setting=150.0 * 8.0)
    assert by_size[fd.R_1] == pytest.approx(0.145 * LEAD / 4.0, rel=1e-9)
    own = row_of("friction disc", setting=150.0, faces=2, outer_diameter=0.2, inner_diameter=0.12)
    ring = 2 * pi / 4 * (0.2**2 - 0.12**2)
    assert own[fd.R_2] == pytest.approx(0.738 * LEAD * AREA / ring, rel=1e-9)


@pytest.mark.parametrize("t", np.geomspace(1e-3, 10.0, 30))
def test_surface_of_a_plate(t):
    """Step of power, within 6 % of the exact slab from 1 ms on."""
    assert layers(t) == pytest.approx(slab(t), rel=WITHIN)


def test_without_layers_the_plate_would_be_too_cold():
    """The comparison can fail: at 10 ms the bulk alone is off by more than half."""
    assert 0.5 * slab(0.01) > 0.01 / PLATE


@pytest.mark.parametrize(("on", "off"), [(5e-3, 5e-3), (20e-3, 80e-3), (0.1, 0.4), (0.5, 0.1)])
def test_pulse_trains(on, off):
    """Twenty pulses of slip: surface at the end of each within 6 % of the superposed slab."""

    def train(step: object, i: int) -> float:
        t = i * (on + off) + on
        return sum(step(t - j * (on + off)) - step(t - j * (on + off) - on) for j in range(i + 1))  # type: ignore[operator]

    for i in range(20):
        assert train(layers, i) == pytest.approx(train(slab, i), rel=WITHIN)


def test_surface_through_the_kernel():
    """250 W from the start: trace against the slab, and against the layers to the tolerance."""
    r, disc = warmed(5.0, 1.0)
    t, top = r.t, surface(r, disc)
    i = np.flatnonzero(t > 1e-3)
    exact = np.array([250.0 * slab(x) for x in t[i]])
    assert np.abs(top[i] / exact - 1.0).max() < WITHIN
    assert top[i] == pytest.approx([250.0 * layers(x) for x in t[i]], rel=1e-7, abs=3e-6)


def test_swinging_disc_against_the_slab():
    """Slip back and forth, 8 Hz: power from the trace into the exact slab, mode by mode."""
    line = Line()
    n = line.mass(1e12, 0.0, 0.1)
    line.part("shaft", n, 0, stiffness=1e12 * (2 * pi * 8.0) ** 2)
    inputs = ideal_disc(1000.0, 4e5) | {"heat_capacity": PLATE, "cooling": 0.0, **STEEL}
    disc = line.part("friction disc", n, 0, start=Start(x=(0.1,)), **inputs)
    r = run(line, 0.5, fast=5.0, h_max=5e-4)
    power = np.where(r.mode(disc) == 0, 0.0, r.torque(disc) * r.speed(n))
    v = np.zeros_like(N)
    bulk, worst, hottest = 0.0, 0.0, 0.0
    for i in np.flatnonzero(np.diff(r.t) > 0.0):
        h, p0, p1 = r.t[i + 1] - r.t[i], power[i], power[i + 1]
        decay, slope = np.exp(-h / LAGS), (p1 - p0) / h
        v = v * decay + LEAD * SHARES * (p0 * (1.0 - decay) + slope * (h - LAGS * (1.0 - decay)))
        bulk += 0.5 * h * (p0 + p1) / PLATE
        exact, mine = bulk + v.sum(), surface(r, disc)[i + 1]
        hottest = max(hottest, exact)
        worst = max(worst, abs(mine - exact))
    assert len(r.events(disc, 0)) >= 7
    assert hottest > 10.0
    assert worst < WITHIN * hottest


def test_hub_fed_by_the_disc():
    """Two lumps with a conductance between, 250 W: matrix exponential (textbook, linear system)."""
    r, disc = warmed(5.0, 60.0, cooling=3.5, hub_conductance=8.0, hub_capacity=900.0)
    a = np.zeros((3, 3))
    a[0] = [-(3.5 + 8.0) / PLATE, 8.0 / PLATE, 250.0 / PLATE]
    a[1, :2] = [8.0 / 900.0, -8.0 / 900.0]
    want = expm(60.0 * a) @ [0.0, 0.0, 1.0]
    assert r.state(disc, fd.TEMP)[-1] == pytest.approx(want[0], rel=1e-8)
    assert r.state(disc, fd.HUB)[-1] == pytest.approx(want[1], rel=1e-7)
    given_off = r.heat(disc)[-1] - PLATE * want[0] - 900.0 * want[1]
    assert given_off > 0.0


FACE = {"faces": 2, "outer_diameter": 0.2, "inner_diameter": 0.12, "friction": 0.3}


@pytest.mark.parametrize(
    ("law", "setting", "pressure", "shape"),
    [("uniform wear", 192.0, 265258.238, lambda p, r: p * 0.06 / r),
     ("uniform pressure", 196.0, 198943.679, lambda p, r: p)],
)  # fmt: skip
def test_uniform_wear_and_uniform_pressure(law, setting, pressure, shape):
    """200/120 mm, 4 kN, 0.3, two faces.  Shigley (from memory); force and torque again by integrating the pressure
    over the face."""
    s = sheet_of("friction disc", clamp_force=4e3, pressure_law=law, **FACE)
    assert s["setting"] == pytest.approx(setting, rel=1e-9)
    assert s["largest face pressure"] == pytest.approx(pressure, rel=1e-8)
    over = lambda f: quad(f, 0.06, 0.1, epsabs=0.0, epsrel=1e-12)[0]
    assert over(lambda r: 2 * pi * r * shape(pressure, r)) == pytest.approx(4e3, rel=1e-8)
    assert 2 * 0.3 * over(lambda r: 2 * pi * r * r * shape(pressure, r)) == pytest.approx(setting, rel=1e-8)


def test_nut_and_spring():
    """Four springs of 100 N/mm, pitch 2 mm, 5 turns: 10 mm, 4000 N, 192 N*m.  Linear spring (textbook)."""
    nut = {"spring_rate": 1e5, "springs": 4, "nut_pitch": 2e-3}
    s = sheet_of("friction disc", nut_turns=10.0 * pi, **nut, **FACE)
    assert s["clamp force"] == pytest.approx(4e3, rel=1e-12)
    assert s["setting"] == pytest.approx(192.0, rel=1e-12)
    back = sheet_of("friction disc", setting=192.0, **nut, **FACE)
    assert back["nut from free"] == pytest.approx(10.0 * pi, rel=1e-12)
    assert back["clamp force"] == pytest.approx(4e3, rel=1e-12)


def test_dial_turns_the_nut():
    """Setting, force, turns and pressure together; lost torque per energy, stiffness and area stay."""
    nut = {"spring_rate": 4e5, "nut_pitch": 2e-3, "nut_turns": 10.0 * pi, "wear": 2e-8}
    p = row_of("friction disc", **nut, **FACE)
    q = fd.dial(p, 1.25)
    one, other = fd.sheet(p), fd.sheet(q)
    for name in ("setting", "breakaway", "clamp force", "nut from free", "largest face pressure"):
        assert other[name][0] == pytest.approx(1.25 * one[name][0], rel=1e-12)
    assert q[fd.S] * q[fd.WEAR] == pytest.approx(p[fd.S] * p[fd.WEAR], rel=1e-12)
    assert len(q) == len(p) == len(fd.KIND.row)
    assert [q[i] for i in (fd.K, fd.C, fd.R_1, fd.TAU_2, fd.LIMIT)] == [
        p[i] for i in (fd.K, fd.C, fd.R_1, fd.TAU_2, fd.LIMIT)
    ]
