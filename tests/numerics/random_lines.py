"""Drive lines put together at random, each part within its usual range: machines that nobody has drawn."""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np

CANDIDATES = (
    "friction disc", "ball detent", "roller detent", "shear pins", "magnet disc", "notched-wheel pawl", "tipping sprag",
    "magnetic particle clutch", "magnetic hysteresis clutch", "eddy-current clutch",
)  # fmt: skip


class Lot:
    """One line's numbers, all from its seed: motor, gear, and what follows from them in size."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.power, self.rpm = self.between(0.3, 15.0), self.one(720, 950, 1430, 2850)
        self.ratio = self.one(5, 12, 25, 60)
        self.rated = 1e3 * self.power / (self.rpm * pi / 30.0) * self.ratio
        self.rotor = self.between(6e-4, 3e-3) * self.power * (1430.0 / self.rpm) ** 2
        self.setting = self.rated * self.between(1.3, 2.2)
        self.load = self.rotor * self.ratio**2 * self.between(0.1, 5.0)
        self.running = self.rated * self.between(0.2, 0.8)
        self.stiff = self.setting / self.between(0.002, 0.03)

    def between(self, low: float, high: float) -> float:
        """Evenly in the logarithm, three digits."""
        return float(f"{np.exp(self.rng.uniform(np.log(low), np.log(high))):.3g}")

    def one(self, *choices: Any) -> Any:
        return choices[int(self.rng.integers(len(choices)))]

    def chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)


def station(name: str, part: str, **inputs: object) -> str:
    """One line of the sketch; texts in quotes, numbers bare."""
    return f"  {{name = {_value(name)}, part = {_value(part)}{_more(inputs)}}},"


def event(name: str, kind: str, **inputs: object) -> str:
    return f"situations.{name} = {{event = {_value(kind)}{_more(inputs)}}}"


def _more(inputs: dict[str, object]) -> str:
    return "".join(f", {k} = {_value(v)}" for k, v in inputs.items() if v != "")


def _value(v: object) -> str:
    return f'"{v}"' if isinstance(v, str) else f"{v:.4g}"


def torque(value: float) -> str:
    return f"{value:.4g} N*m"


def stiffness(value: float) -> str:
    return f"{value:.4g} N*m/rad"


def inertia(value: float) -> str:
    return f"{value:.4g} kg*m^2"


def line(seed: int) -> str:
    """Text of a scenario: a line with play here and there, three candidates, jam, drag and start."""
    d = Lot(seed)
    out = ['title = "Line drawn by lot"', 'protect = "main shaft"', "line = [", *_before(d), *_behind(d), "]"]
    for kind in d.rng.choice(CANDIDATES, 3, replace=False):
        out.append(f'candidates."{kind}" = {{part = "{kind}", setting = "{torque(d.setting)}"}}')
    out += [
        event("jam", "hard stop", at="load", stiffness=stiffness(d.stiff * d.between(0.1, 30.0))),
        event("drag", "partial jam", at="load", drag=torque(d.setting * d.between(0.3, 3.0)),
              lasts=f"{d.between(0.02, 1.0)} s", expect="carry", horizon="2 s"),
        event("start", "start", horizon=d.one("2 s", "4 s")),
    ]  # fmt: skip
    if d.chance(0.6):
        out.append('stops.watch = {senses = "slip angle", angle = "20 deg"}')
    return "\n".join(out) + "\n"


def _before(d: Lot) -> list[str]:
    """From the motor to the slot."""
    motor = d.one("converter-fed motor", "induction motor")
    out = [station("motor", motor, rated_power=f"{d.power} kW", rated_speed=f"{d.rpm} rpm", inertia=inertia(d.rotor))]
    if d.chance(0.5):
        k = d.stiff / d.ratio**2 * d.between(1.0, 20.0)
        lash = f"{d.between(0.1, 1.5)} deg" if d.chance(0.4) else ""
        out.append(station("coupling", "flexible coupling", stiffness=stiffness(k), inertia_out=inertia(0.1 * d.rotor),
                           lash=lash))  # fmt: skip
    lash = f"{d.between(0.05, 0.5)} deg" if d.chance(0.5) else ""
    out.append(station("gearbox", "gear", ratio=d.ratio, efficiency=d.rng.uniform(0.85, 0.99),
                       stiffness=stiffness(d.stiff * d.between(1.0, 10.0)), lash=lash))  # fmt: skip
    hub = inertia(d.setting * d.between(2e-5, 1e-4))
    return [*out, station("slot", "slot", hub_in=hub, hub_out=hub)]


def _behind(d: Lot) -> list[str]:
    """From the slot to the load."""
    shaft = d.one("shaft", "flexible coupling")
    breakaway = d.running * d.rng.uniform(1.0, 1.4)
    out = [
        station("main shaft", shaft, stiffness=stiffness(d.stiff), allowable=torque(d.setting * d.between(1.5, 4.0))),
        station("load", "flywheel", inertia=inertia(d.load)),
        station("bearings", "friction load", running=torque(d.running), breakaway=torque(breakaway)),
    ]
    if d.chance(0.3):
        kind = d.one("ratchet backstop", "roller backstop", "sprag backstop")
        teeth = 24 if kind == "ratchet backstop" else ""
        out.append(station("backstop", kind, after="main shaft", capacity=torque(4.0 * d.setting), teeth=teeth))
    return out
