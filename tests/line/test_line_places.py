"""Inertias as the protection sees them, in words; numbers worked out by hand."""

from __future__ import annotations

import pytest
from line_texts import bare, candidate, fitted, motor, scenario, situation, station

from simcore.line.places import inertias_at_slots, swings
from simcore.measures.cases import Case
from simcore.measures.sides import sides, varying

GEAR = station("gear", "gear", ratio=10, stiffness="2 kN*m/rad", inertia_in="1e-9 kg*m^2", inertia_out="0.1 kg*m^2")
SLOT = station("slot", "slot", hub_in="0.01 kg*m^2", hub_out="0.02 kg*m^2")
SHAFT = station("shaft", "shaft", stiffness="5 kN*m/rad", allowable="400 N*m", allowable_source="own")
CRANK = station("crank", "crank", radius="100 mm", rod="1000 m", mass="20 kg", inertia="0.05 kg*m^2")
DISC = candidate("friction disc", setting="150 N*m")
JAM = situation("jam", "hard stop", stiffness="1 MN*m/rad")


def test_a_crank_is_told_with_the_range_of_its_inertia():
    """A rod without end: from nothing to m r^2 = 0.2 over the crank's own; the rotor counts as 0.02*10^2 = 2."""
    s = scenario(motor(), GEAR, SLOT, SHAFT, CRANK, JAM, DISC)
    assert inertias_at_slots(s) == [
        "Seen at 'slot': 2.11 kg*m^2 before 'friction disc', 0.07 to 0.27 over a turn behind it (motor 2, crank 0.05 "
        "to 0.25 over a turn, gear 0.1, hubs 0.03)."
    ]
    a = fitted(s, "friction disc", "jam")
    case = Case(s, s.candidates["friction disc"], s.situations["jam"], a, a.index("shaft"))
    assert varying(case) == {"inertia varies by 'crank'": pytest.approx(0.2)}
    assert sides([case])["inertia varies by, inertia behind 'friction disc'"] == pytest.approx(0.2)


def test_what_varies_is_told_at_the_shaft_that_is_asked():
    """Before a gear of 10 to 1: 0.2/100."""
    s = scenario(motor(), SLOT, SHAFT, GEAR, CRANK, JAM, DISC)
    a = bare(s)
    assert swings(a, a.index("shaft")) == {"crank": pytest.approx(0.002)}
    assert swings(a, a.index("gear")) == {"crank": pytest.approx(0.2)}
