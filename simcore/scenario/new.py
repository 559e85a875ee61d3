"""A starter scenario, commented, for ``simcore new``."""

from __future__ import annotations

from typing import Final

_TEMPLATE: Final = """\
#:schema ./simcore.schema.json
# The line above lets an editor complete and check this file; make the schema once with
#   simcore schema > simcore.schema.json
#
# Quantities are text: one number with a decimal point and one unit, "340 N*m" or "340 Nm".
# Ratios and counts are bare numbers.  What is left out takes its default.

title = "Folding table of a laundry"
question = "What protects the table's shaft when a folding arm meets the frame?"
protect = "coupling"                  # the station whose allowable decides

[display]
torque = "N*m"                        # or kN*m, lbf*in, lbf*ft

# The drive line, one [[line]] for each station, in order from the motor to the load.

[[line]]
name = "motor"
part = "torque-speed motor"           # all from the data plate
rated_power = "0.55 kW"
rated_speed = "1395 rpm"
inertia = "0.0012 kg*m^2"             # rotor, with brake and fan
limit = 1.5                           # converter's torque limit over rated; left out: direct on line
ramp = "0.2 s"

[[line]]
name = "gearbox"
part = "gear"
ratio = 25                            # turns of the motor for one of the output
rated_torque = "110 N*m"
efficiency = 0.95

[[line]]
name = "slot behind the gearbox"
part = "slot"                         # here the candidates below are tried, one after the other
hub_in = "0.006 kg*m^2"
hub_out = "0.005 kg*m^2"

[[line]]
name = "coupling"
part = "flexible coupling"
stiffness = "4 kN*m/rad"
allowable = "260 N*m"                 # what the connection may bear, and who says so
allowable_source = "the machine's own strength sheet"

[[line]]
name = "drum"
part = "drum"                         # rotation becomes travel
radius = "80 mm"
inertia = "0.02 kg*m^2"

[[line]]
name = "table belt"
part = "moving mass"
mass = "60 kg"                        # belt, folding arms and cloth

[[line]]
name = "belt friction"
part = "friction load"
running = "560 N"

# The protections to compare; the name may be free if the kind is given with part = "...".

[candidates."ball detent"]
setting = "150 N*m"

[candidates."friction disc"]
setting = "150 N*m"

# What the axis meets.  expect = "let go", "hold" or "carry" says what the protection ought to do.

[situations."arm against the frame"]
event = "hard stop"
at = "table belt"
stiffness = "0.5 MN/m"
horizon = "0.5 s"

[situations."folded twice"]
event = "partial jam"                 # it clears, so the axis ought to carry on
at = "table belt"
drag = "400 N"
lasts = "0.4 s"

[situations."start with a full table"]
event = "start"
"""


def template() -> str:
    """TOML text of a commented starter scenario."""
    return _TEMPLATE
