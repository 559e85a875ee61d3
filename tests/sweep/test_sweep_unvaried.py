"""A factor that would leave a candidate as it is."""

from __future__ import annotations

import pytest

from simcore.errors import InputError
from simcore.scenario.read import read_text

TIMES = '[sweep]\n[[sweep.factor]]\nname = "f"\npath = "candidates[*].setting"\ntimes = true\n'

GEOMETRY = """
title = "Brick setter"
protect = "shaft"
line = [
  {name = "motor", part = "constant-torque motor", torque = "30 N*m", speed = "100 rad/s", inertia = "0.02 kg*m^2"},
  {name = "slot", part = "slot"},
  {name = "shaft", part = "shaft", stiffness = "5 kN*m/rad", allowable = "400 N*m"},
  {name = "roll", part = "flywheel", inertia = "0.5 kg*m^2"}]
situations.jam = {event = "hard stop", stiffness = "200 kN*m/rad"}
[candidates."by setting"]
part = "friction disc"
setting = "60 N*m"
[candidates."by geometry"]
part = "friction disc"
faces = 2
outer_diameter = "180 mm"
inner_diameter = "120 mm"
clamp_force = "1.5 kN"
friction = 0.3
"""


def test_a_candidate_by_geometry_does_not_stand_still_unnoticed_in_a_sweep_of_settings():
    read_text(GEOMETRY, "brick.toml")
    with pytest.raises(InputError) as refused:
        read_text(GEOMETRY + TIMES + "grid = [0.8, 1, 1.2]\n", "brick.toml")
    told = str(refused.value)
    assert 'candidates["by geometry"].setting has no value in the scenario' in told
    assert "that candidate would not vary" in told
