"""Measures that the kernel takes, on lines small enough for closed forms: what is let through, standstill, first peak.

Closed forms: textbook mechanics of one mass, made here.
"""

from __future__ import annotations

from math import asin, cos, nan, sqrt

import numpy as np
import pytest
from lines import Line, Run, ideal_disc, run

from simcore.measures.extract import scalars
from simcore.solver import arrays as ar

S, K = 40.0, 8e3


def measures_of(r: Run, protected: int) -> dict[str, float]:
    return scalars(r.a, r.meas, protected)


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("rb", [1.0, 2.5])
def test_impulse_and_energy_to_the_horizon(sense: float, rb: float) -> None:
    """Hubs led at constant speeds wind the disc up to S, which it then holds: S t and S w_b t from there on.

    w_b is that of the driven hub at the disc, behind a ratio too.
    """
    wa, wb, end = 30.0, 18.0, 0.2
    line = Line()
    a, b = line.lead(sense * wa), line.lead(sense * wb / rb)
    e = line.part("friction disc", a, b, rb=rb, role="candidate", **ideal_disc(S, K))
    m = measures_of(run(line, end, fast=wa), e)
    slips = S / (K * (wa - wb))
    assert m["trigger"] == pytest.approx(slips, rel=1e-8)
    assert (m["disconnect"], m["standstill"]) == pytest.approx((nan, nan), nan_ok=True)
    assert m["impulse"] == pytest.approx(S * (end - slips), rel=1e-8)
    assert m["energy"] == pytest.approx(S * wb * (end - slips), rel=1e-8)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_standstill_and_what_is_let_through_until_then(sense: float) -> None:
    """A mass against a hub that is led backward: it winds the disc up by a quarter swing, J v'' = -k v, to S, and is
    then slowed evenly at S/J through standstill, past which the measures no longer count."""
    j, w, back = 0.05, 20.0, -4.0
    line = Line()
    a, b = line.mass(j, sense * w), line.lead(sense * back)
    e = line.part("friction disc", a, b, role="candidate", **ideal_disc(S, K))
    r = run(line, 0.035, fast=w)
    m = measures_of(r, e)
    shake = sqrt(K / j)
    slips = asin(S * shake / (K * (w - back))) / shake
    stands = slips + (back + (w - back) * cos(shake * slips)) * j / S
    assert r.end > stands + 1e-3
    assert sense * r.speed(a)[-1] < -1.0
    assert m["trigger"] == pytest.approx(slips, rel=1e-7)
    assert m["standstill"] == pytest.approx(stands, rel=1e-7)
    assert m["impulse"] == pytest.approx(S * (stands - slips), rel=1e-7)
    assert m["energy"] == pytest.approx(S * back * (stands - slips), rel=1e-7)


def test_no_standstill_before_the_trigger_counts() -> None:
    """A mass thrown against a disc that holds: it comes to rest and back."""
    line = Line()
    a = line.mass(0.05, 0.5 * S / sqrt(K * 0.05))
    e = line.part("friction disc", a, 0, role="candidate", **ideal_disc(S, K))
    r = run(line, 0.05)
    assert r.speed(a).min() < 0.0
    m = measures_of(r, e)
    assert [m[n] for n in ("trigger", "standstill", "impulse", "energy")] == pytest.approx([nan] * 4, nan_ok=True)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_impulse_and_energy_from_trigger_to_disconnect(sense: float) -> None:
    """Two unequal pins on hubs led apart: the weak one breaks, then the strong one, which has more play, carries alone:
    from the end of its play a triangle up to its strength, then the plastic twist at that strength."""
    wa, wb, plastic, play = 25.0, 15.0, 0.002, 0.02
    weak, strong, k = 30.0, 50.0, 0.5 * K
    line = Line()
    a, b = line.lead(sense * wa), line.lead(sense * wb)
    e = line.part("shear pins", a, b, role="candidate", setting=80.0, stiffness=K, pins=2, pin_strengths=(0.75, 1.25),
                  clearances=(0.0, play), twist_to_fracture=plastic)  # fmt: skip
    m = measures_of(run(line, 0.02, fast=wa), e)
    dv = wa - wb
    assert m["trigger"] == pytest.approx((weak / k + plastic) / dv, rel=1e-7)
    assert 0.5 * play > weak / k + plastic
    assert m["disconnect"] == pytest.approx((0.5 * play + strong / k + plastic) / dv, rel=1e-7)
    area = 0.5 * strong * strong / k + strong * plastic
    assert m["impulse"] == pytest.approx(area / dv, rel=1e-6)
    assert m["energy"] == pytest.approx(wb * area / dv, rel=1e-6)


P, RATE, J = 50.0, 60.0, 0.02
"""Load at the start, its rise a second, and a mass whose swings on the spring K take some 10 ms."""


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize(("trough", "over"), [(0.48, True), (0.52, False)])
def test_the_first_impact_is_over_at_half_its_peak(trough: float, over: bool, sense: float) -> None:
    """A spring led at constant speed draws a mass against P + r t: T = P + r t + (T0 - P) cos wt - r/w sin wt.

    T0 is such that it falls to the share ``trough`` of its first peak; every later swing is higher.
    """
    w, lead, end = sqrt(K / J), 10.0, 0.05
    t = np.linspace(0.0, end, 500_001)

    def course(swing: float) -> np.ndarray:
        return np.asarray(P + RATE * t - swing * np.cos(w * t) - RATE / w * np.sin(w * t))

    def peak_and_trough(swing: float) -> tuple[float, float]:
        T = course(swing)
        first = int(np.argmax(T[w * t < 4.7]))
        return float(T[first]), float(T[first:][w * (t[first:] - t[first]) < 4.7].min())

    low, high = 0.0, P
    for _ in range(60):
        swing = 0.5 * (low + high)
        peak, least = peak_and_trough(swing)
        low, high = (swing, high) if least > trough * peak else (low, swing)
    line = Line()
    a, n = line.lead(sense * lead, angle=sense * (P - swing) / K), line.mass(J, sense * lead)
    e = line.part("shaft", a, n, stiffness=K)
    line.part("tabled load", n, 0, times=(0.0, 1.0), loads=(P, P + RATE))
    r = run(line, end, fast=lead)
    m = measures_of(r, e)
    whole = course(swing).max()
    assert whole > 1.02 * peak
    assert m["peak"] == pytest.approx(whole, rel=1e-6)
    assert m["first_peak"] == pytest.approx(peak if over else whole, rel=1e-6)
    assert r.meas[e, ar.T_FIRST] == pytest.approx(t[np.argmax(course(swing)[w * t < 4.7])] if over else m["peak_time"],
                                                  abs=2e-6)  # fmt: skip
