"""Lines in which something else than the candidate may let go: an invented bag hoist, napkin folder and chip screw.

CAPACITY, SETTING and PRETENSION are to be filled in.
"""

HOIST = """
title = "Bag hoist"
protect = "drum shaft"
line = [
  {name = "motor", part="converter-fed motor", rated_power="1.5 kW", rated_speed="1420 rpm", inertia="34 kg*cm^2"},
  {name = "gearbox", part = "gear", ratio = 40, rated_torque="400 N*m"},
  {name = "slot", part = "slot", hub_in = "0.012 kg*m^2", hub_out = "0.01 kg*m^2"},
  {name = "drum shaft", part = "shaft", stiffness="20 kN*m/rad", allowable = "600 N*m"},
  {name = "drum", part = "drum", radius="120 mm", inertia = "0.05 kg*m^2"},
  {name = "rope", part = "belt or chain", stiffness="299 kN/m"},
  {name = "bag", part = "hoisted mass", mass = "110 kg"},
  {name = "stopper", part = "ratchet backstop", after="drum shaft", capacity="CAPACITY", teeth=24}]
candidates."ball detent" = {setting = "300 N*m"}
candidates."disc" = {part="friction disc", setting="300 N*m"}
situations.jam = {event = "hard stop", stiffness = "60 kN/m"}
"""

FOLDER = """
title = "Napkin folder"
protect = "shaft"
line = [
  {name = "motor", part="converter-fed motor", rated_power="1.5 kW", rated_speed="1420 rpm", inertia="34 kg*cm^2"},
  {name = "gearbox", part = "gear", ratio = 20, rated_torque="200 N*m"},
  {name = "slot", part = "slot", hub_in = "0.01 kg*m^2", hub_out = "0.01 kg*m^2"},
  {name = "second", part = "shear pins", setting="SETTING"},
  {name = "shaft", part = "shaft", stiffness="20 kN*m/rad", allowable = "600 N*m"},
  {name = "table", part = "flywheel", inertia = "1.3 kg*m^2"},
  {name = "bearings", part = "friction load", running = "60 N*m"}]
candidates."ball detent" = {setting = "300 N*m"}
candidates."disc" = {part="friction disc", setting="300 N*m"}
situations.jam = {event = "hard stop", stiffness = "600 kN*m/rad"}
situations.start = {event = "start"}
"""

SCREW = """
title = "Chip screw"
protect = "screw shaft"
line = [
  {name = "motor", part = "constant-torque motor", torque = "100 N*m", speed = "1450 rpm", inertia = "0.06 kg*m^2"},
  {name = "belts", part = "V-belt", radius_in="80 mm", radius_out="160 mm", centre_distance="0.5 m", PRETENSION},
  {name = "pulley", part = "flywheel", inertia = "0.09 kg*m^2"},
  {name = "gearbox", part = "gear", ratio = 10, efficiency = 1, stiffness = "400 kN*m/rad"},
  {name = "slot", part = "slot", hub_in = "0.15 kg*m^2", hub_out = "0.12 kg*m^2"},
  {name = "screw shaft", part = "shaft", stiffness = "450 kN*m/rad", allowable = "9 kN*m"},
  {name = "screw", part = "flywheel", inertia = "3.2 kg*m^2"},
  {name = "chips", part = "friction load", running = "800 N*m"}]
candidates."detent" = {part = "ball detent", setting = "SETTING"}
situations.stone = {event = "hard stop", stiffness = "900 kN*m/rad"}
situations."branch sticks" = {event = "partial jam", drag = "600 N*m", lasts = "0.5 s", horizon = "0.55 s"}
"""
