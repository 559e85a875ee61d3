"""Natural frequencies against closed forms of free-free vibration (any vibration text)."""

from __future__ import annotations

from math import sqrt

import pytest
from line_texts import bare, candidate, motor, scenario, situation, station

from simcore.line.assemble import assemble, lowest_mode
from simcore.line.modes import frequencies, local_frequency

SHAFT = station("shaft", "shaft", stiffness="800 N*m/rad", allowable="400 N*m", allowable_source="own")


def modes_of(s):
    a = bare(s)
    g = a.graph
    k = [float(e.part.call("hint", a.rows[i])) if e.part.has("hint") else 0.0 for i, e in enumerate(g.elements)]
    return g, k, frequencies(g.nodes, g.elements, k)


def wheel(name: str, j: str) -> str:
    return station(name, "flywheel", inertia=f"{j} kg*m^2")


def test_two_inertias_free_free():
    """w = sqrt(k (1/J1 + 1/J2)): 800*(1/0.02 + 1/0.08) = 50 000."""
    _, _, w = modes_of(scenario(motor(), SHAFT, wheel("wheel", "0.08")))
    assert w == pytest.approx([sqrt(50_000.0)], rel=1e-12)


def test_two_inertias_behind_a_gear():
    """The rotor counts with the ratio squared, 0.02*25 = 0.5: 800*(1/0.5 + 1/0.08) = 11 600, at either shaft."""
    gear = station("shaft", "gear", ratio=5, stiffness="800 N*m/rad", allowable="400 N*m", allowable_source="own")
    _, _, w = modes_of(scenario(motor(), gear, wheel("wheel", "0.08")))
    assert w == pytest.approx([sqrt(11_600.0)], rel=1e-12)


def test_three_inertias_free_free():
    """w^4 - (k1(J1+J2)/(J1 J2) + k2(J2+J3)/(J2 J3)) w^2 + k1 k2 (J1+J2+J3)/(J1 J2 J3) = 0."""
    j1, j2, j3, k1, k2 = 0.02, 0.08, 0.5, 800.0, 300.0
    back = station("back", "shaft", stiffness="300 N*m/rad")
    _, _, w = modes_of(scenario(motor(), SHAFT, wheel("wheel", "0.08"), back, wheel("table", "0.5")))
    b = k1 * (j1 + j2) / (j1 * j2) + k2 * (j2 + j3) / (j2 * j3)
    c = k1 * k2 * (j1 + j2 + j3) / (j1 * j2 * j3)
    root = sqrt(b * b - 4 * c)
    assert w == pytest.approx([sqrt((b - root) / 2), sqrt((b + root) / 2)], rel=1e-10)


def test_lowest_mode_is_that_of_the_bare_line():
    """The candidate's own elasticity and hubs leave the damping's frequency alone."""
    slot = station("slot", "slot", hub_in="0.01 kg*m^2", hub_out="0.01 kg*m^2")
    s = scenario(motor(), slot, SHAFT, wheel("wheel", "0.08"), candidate("friction disc", setting="60 N*m"))
    assert lowest_mode(s) == pytest.approx(sqrt(800 * (1 / 0.04 + 1 / 0.08)), rel=1e-12)
    assert assemble(s, s.candidates["friction disc"], None).w1 == lowest_mode(s)


def test_damping_loses_its_share_at_the_lowest_mode():
    """c = psi k / (2 pi w1), w1^2 = 50 000."""
    a = bare(scenario(motor(), SHAFT + "relative_damping = 0.2\n", wheel("wheel", "0.08")))
    assert a.rows[a.index("shaft"), 1] == pytest.approx(0.2 * 800 / (2 * 3.141592653589793 * sqrt(50_000)), rel=1e-12)


def test_stiff_joint_is_not_overdamped():
    """No connection damps its own mode, between its two hubs alone, past a quarter of critical."""
    stiff = station("stiff", "shaft", stiffness="500 MN*m/rad")
    a = bare(scenario(motor(), SHAFT, wheel("wheel", "0.08"), stiff, wheel("table", "0.5")))
    i = a.index("stiff")
    k, c = a.rows[i, :2]
    j = 1 / (1 / 0.08 + 1 / 0.5)
    assert c / (2 * sqrt(k * j)) == pytest.approx(0.25, rel=1e-9)


def test_node_between_held_neighbours():
    g, k, _ = modes_of(scenario(motor(), SHAFT, wheel("wheel", "0.08")))
    assert local_frequency(1, g.nodes, g.elements, k) == pytest.approx(sqrt(800 / 0.02))
    assert local_frequency(0, g.nodes, g.elements, k) == 0.0


def test_travel_and_rotation_share_one_mode():
    """Mass on a belt over a drum: k r^2 (1/J + 1/(m r^2)) with r = 0.1 m, stiff shaft in front left out."""
    soft = station("belt", "belt or chain", stiffness="20 kN/m", allowable="9 kN", allowable_source="own")
    drum = station("drum", "drum", radius="0.1 m")
    s = scenario(motor(), drum, soft, station("linen", "moving mass", mass="8 kg"),
                 situation("jam", "hard stop", stiffness="1 MN/m"), protect="belt")  # fmt: skip
    assert lowest_mode(s) == pytest.approx(sqrt(20e3 * 0.01 * (1 / 0.02 + 1 / 0.08)), rel=1e-12)
