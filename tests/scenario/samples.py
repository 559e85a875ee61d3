"""A small registry of invented parts and a scenario that uses every word of the format."""

from __future__ import annotations

from types import ModuleType
from typing import Any

from simcore.contract import Family, Kind, Param, Part, registry_of

EXPECTED: dict[str, Any] = {
    "hard stop": {"expect": "let go"},
    "partial jam": {"expect": "let go", "expect_cleared": "carry"},
}


def _part(name: str, family: Family, *params: Param, hubs: int = 1, refuse: Any = None) -> ModuleType:
    module = ModuleType(name.replace(" ", "_"))
    module.KIND = Kind(name, family, f"{name} for tests", params, hubs=hubs, **EXPECTED.get(name, {}))  # type: ignore[attr-defined]
    if refuse is not None:
        module.refuse = refuse  # type: ignore[attr-defined]
    return module


def _refuse(r: Any) -> list[str]:
    return ["the release twist must be larger than the lash"] if r.twist <= r.lash else []


def _divide(r: Any) -> list[str]:
    return ["no such gear"] if 1.0 / (r.ratio - 13.0) == 0.0 else []


REGISTRY: dict[str, Part] = registry_of(
    [
        _part(
            "motor",
            "drive",
            Param("rated_power", "power", "rated power", required=True, above="0 W"),
            Param("inertia", "inertia", "rotor inertia", required=True, above=0),
            Param("direct", "flag", "direct on line", default="false"),
        ),
        _part(
            "gear",
            "transmission",
            Param("ratio", "ratio", "turns in for one out", required=True, above=0, usual=(1, 300)),
            Param("efficiency", "ratio", "efficiency", default=0.95, above=0, high=1),
            Param("lash", "angle", "play at the output", default="10 arcmin", low="0 deg", high="5 deg"),
            hubs=2,
            refuse=_divide,
        ),
        _part("shaft", "transmission", Param("stiffness", "stiffness", "stiffness", required=True), hubs=2),
        _part("carriage", "body", Param("mass", "mass", "mass that travels", required=True, above="0 kg")),
        _part(
            "drag",
            "load",
            Param("running", "effort", "dry friction", required=True, low=0),
            Param("viscous", "any_damping", "viscous drag", default=0, low=0),
        ),
        _part(
            "detent",
            "protection",
            Param("setting", "torque", "setting", required=True, above="0 N*m"),
            Param("balls", "count", "balls", default=6, low=1, high=100),
            Param("twist", "angle", "release twist", default="4 deg", above="0 deg"),
            Param("lash", "angle", "play", default="0 deg", low="0 deg"),
            Param("spring", "choice", "sort of spring", default="disc", choices=("disc", "coil")),
            Param("ratchets", "flag", "goes on into the next pocket", default=False),
            Param("fade", "fade", "change with temperature"),
            hubs=2,
            refuse=_refuse,
        ),
        _part("hard stop", "event", Param("stiffness", "any_stiffness", "stiffness", required=True, above=0),
              Param("after", "time", "steady running before", low="0 s")),
        _part("partial jam", "event", Param("drag", "effort", "extra drag", required=True, above=0),
              Param("lasts", "time", "time until it clears", above="0 s")),
        _part("start", "event", Param("ramp", "time", "torque ramp", low="0 s"), hubs=0),
        _part("load step", "event", Param("extra", "effort", "extra load", required=True)),
    ]
)  # fmt: skip

GOOD = """\
title = "Dough divider of a bakery"
question = "What protects the divider?"
protect = "head shaft"

[display]
torque = "Nm"

[solver]
relative_tolerance = 1e-7

[[line]]
part = "motor"
rated_power = "1.5 kW"
inertia = "0.0034 kg*m^2"

[[line]]
name = "gearbox"
part = "gear"
ratio = 20
allowable = "600 N*m"
allowable_source = "sheet"

[[line]]
name = "output slot"
part = "slot"
hub_in = "0.012 kg*m^2"
hub_out = "0.010 kg m²"

[[line]]
name = "head shaft"
part = "shaft"
stiffness = "9 kN*m/rad"
allowable = "500 N*m"

[[line]]
name = "divider"
part = "carriage"
mass = "180 kg"

[[line]]
part = "drag"
running = "1.1 kN"

[[line]]
name = "fan"
part = "drag"
after = "gearbox"
running = "3 N*m"

[[line]]
name = "creep motor"
part = "motor"
rated_power = "0.2 kW"
inertia = "0.0004 kg*m^2"

[[line]]
name = "creep shaft"
part = "shaft"
stiffness = "2 kN*m/rad"
joins = "gearbox"

[candidates.detent]
setting = "340 N*m"

[candidates."detent, coil spring"]
part = "detent"
slot = "output slot"
setting = "3000 lbf·in"
spring = "coil"
balls = 8
ratchets = true
fade = "-0.1 %/K"

[situations."blade against the frame"]
event = "hard stop"
at = "divider"
stiffness = "2 MN/m"
horizon = "0.5 s"
lead = "20 ms"

[situations."stiff dough"]
event = "partial jam"
drag = "900 N"
lasts = "0.5 s"

[situations.clogged]
event = "partial jam"
drag = "900 N"
expect = "hold"

[situations.start]
event = "start"

[situations.batch]
event = "load step"
extra = "100 N"
"""
