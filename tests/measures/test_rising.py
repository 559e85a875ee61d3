"""A horizon that ends while a torque still rises is told: by hand, of a mass that a constant drag slows down."""

from __future__ import annotations

import numpy as np
import pytest
from measure_texts import fit, sawmill

from simcore.conduct import Settings, conduct
from simcore.measures.rising import still_rising

PINS = fit("pins", part="shear pins", setting="300 N*m", clearance="0 deg")


def jam(horizon: str, expect: str) -> str:
    return (f'[situations."bark"]\nevent = "partial jam"\ndrag = "60 N*m"\nhorizon = "{horizon}"\n'
            f'expect = "{expect}"\n')  # fmt: skip


def told(*tables: str) -> list[str]:
    r = conduct(sawmill(PINS, *tables, allowable=4000.0), Settings(evidence=False))
    return [w for w in r.warnings if "still rises" in w]


@pytest.mark.parametrize(("expect", "who", "so"), [
    ("hold", "pins", "its margin comes out too large"), ("let go", "shaft", "the bare line's peak comes out too small"),
])  # fmt: skip
def test_a_horizon_that_ends_on_the_rise_is_told(kernel: object, expect: str, who: str, so: str) -> None:
    """Rotor and roll swing against each other with sqrt(5000 (1/0.05 + 1/0.51)) = 331 rad/s at most: the first peak
    comes after pi/331 s = 9.5 ms at the latest, and not before half of that."""
    (said,) = told(jam("4 ms", expect))
    assert said.startswith(f"'bark' ends while the torque of '{who}' still rises, at ")
    assert said.endswith(f": {so}.")
    assert told(jam("0.3 s", expect)) == []


class Trace:
    """A run of which only one torque is known."""

    def __init__(self, torque: np.ndarray) -> None:
        self.time, self.torque = np.linspace(-0.01, 1.0, len(torque)), torque[:, None]

    def index(self, name: str) -> int:
        return 0


t = np.linspace(0.0, 1.0, 2001)


@pytest.mark.parametrize(("torque", "rises"), [
    (30.0 * t, True), (-30.0 * t, True), (30.0 * (1.0 - np.exp(-20.0 * t)), False),  # settles
    (30.0 * np.sin(3.0 * np.pi * t), False), (30.0 * t + 20.0 * (np.abs(t - 0.5) < 0.05), False),  # higher before
])  # fmt: skip
def test_only_what_is_at_its_peak_and_rising(torque: np.ndarray, rises: bool) -> None:
    last = still_rising(Trace(torque), "shaft")  # type: ignore[arg-type]
    assert last == abs(torque[-1]) if rises else np.isnan(last)
