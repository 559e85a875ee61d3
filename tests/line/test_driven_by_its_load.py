"""Lines that their load drives in steady running: every flank with play is the other one."""

from __future__ import annotations

import pytest
from line_texts import bare, candidate, fitted, motor, scenario, situation, station
from lines import Run

NONE = {"relative_damping": 0}


def hoist(lash: float, weight: float, ratio: float, slot: str = "", *more: str):
    """A hook is let down: motor, gear, coupling, drum of 0.1 m; efficiencies 0.9 and, driven, 2 - 1/0.9."""
    play = f"{lash} arcmin"
    gear = station("gear", "gear", ratio=ratio, efficiency=0.9, stiffness="20 kN*m/rad", lash=play, **NONE)
    hub = station("hub", "flywheel", inertia="0.1 kg*m^2")
    own = station("coupling", "flexible coupling", stiffness="10 kN*m/rad", lash=play,
                  inertia_out="0.02 kg*m^2", **NONE)  # fmt: skip
    shaft = station("shaft", "shaft", stiffness="20 kN*m/rad", allowable="900 N*m", allowable_source="own", **NONE)
    drum = station("wheel", "flywheel", inertia="0.1 kg*m^2") + station("drum", "drum", radius="0.1 m")
    hook = station("hook", "hoisted mass", mass=f"{weight / 9.81} kg", lifts="backward")
    jam = situation("jam", "hard stop", at="wheel", stiffness="100 kN*m/rad", horizon="0.1 s", **NONE)
    drive = motor(torque="60 N*m", speed="150 rad/s", droop=0.03)
    return scenario(drive, gear, hub, slot, own, shaft, drum, hook, jam, *more)


@pytest.mark.parametrize("lash", [0, 15, 60])
@pytest.mark.parametrize("ratio", [5, 20])
@pytest.mark.parametrize("weight", [20.0, 100.0, 700.0])
def test_the_motor_brakes_what_comes_down(lash, ratio, weight):
    """The shaft carries G r backward, the motor brakes with G r (2 - 1/0.9)/i and runs past its speed by the droop's
    slope, 4.5 rad/s at 60 N*m.  Statics, textbook."""
    r = Run(bare(hoist(lash, weight, ratio), "jam"))
    before = r.t < 0.0
    back = 0.1 * weight * (2.0 - 1.0 / 0.9) / ratio
    assert r.torque(r.a.index("shaft"))[before] == pytest.approx(-0.1 * weight, rel=1e-6)
    assert r.torque(r.a.index("motor"))[before] == pytest.approx(-back, rel=1e-6)
    assert r.speed(1)[before] == pytest.approx(150.0 + 4.5 * back / 60.0, rel=1e-9)
    assert r.residual < 1e-6


def test_pins_with_clearance_stand_on_their_other_side():
    pins = candidate("shear pins", setting="120 N*m", clearance="0.15 deg")
    s = hoist(15, 300.0, 20, station("slot", "slot", hub_in="0.01 kg*m^2", hub_out="0.01 kg*m^2"), pins)
    r = Run(fitted(s, "shear pins", "jam"))
    before = r.t < 0.0
    assert r.torque(r.a.index("shear pins"))[before] == pytest.approx(-30.0, rel=1e-6)
