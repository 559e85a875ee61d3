"""Warning on a three-phase motor that is known by two of its three points only."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from simcore.line.assemble import Assembly
from simcore.line.caution import Caution
from simcore.parts import REGISTRY
from simcore.units import parse, show

OFF = 0.2
"""Error of the torque at standstill past which it is worth a word."""
BY_ONE_CURVE = {
    "torque-speed motor": "torque at standstill by this curve", "induction motor": "torque at standstill",
}  # fmt: skip
"""Kinds whose torque at standstill may follow from one curve, and what their sheet calls it."""


def usual_plate() -> tuple[float, float]:
    """Locked-rotor torque over rated torque as plates usually have it (from memory)."""
    param = next(p for p in REGISTRY["induction motor"].kind.params if p.name == "locked_rotor")
    low, high = param.usual or (0.0, inf)
    return parse(low, param.kind).si, parse(high, param.kind).si


def one_curve(a: Assembly) -> Iterator[Caution]:
    """Motors on the mains whose torque at standstill one curve through two points gives, far off a usual plate."""
    low, high = usual_plate()
    for i, e in enumerate(a.graph.elements):
        kind = e.part.kind
        if kind.name not in BY_ONE_CURVE or "locked_rotor" in e.raw or "limit" in e.raw:
            continue
        sheet = e.part.call("sheet", a.rows[i])
        rated, still = sheet["rated torque"][0], sheet[BY_ONE_CURVE[kind.name]][0]
        volts = e.raw.get("voltage", 1.0) ** 2
        usual = min(max(still, low * rated * volts), high * rated * volts)
        if abs(still - usual) <= OFF * usual:
            continue
        given = kind.name == "induction motor"
        how = "give locked_rotor" if given else "an induction motor with locked_rotor has it"
        plates = [show(f * rated * volts, "torque") for f in (low, high)]
        yield Caution(
            "one curve for the motor", e.path,
            f"'{e.name}' is known by its rated and breakdown point only: that curve gives {show(still, 'torque')} at "
            f"standstill, plates mostly say {plates[0]} to {plates[1]}; starts and stalls come out wrong ({how})",
        )  # fmt: skip
