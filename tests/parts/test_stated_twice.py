"""What may be stated in two ways: what is missing of one is named, and ways that part company are refused."""

from __future__ import annotations

from math import isnan, nan
from typing import Any

import pytest

from simcore.parts import REGISTRY
from simcore.parts._elastic import TWISTS
from simcore.scenario.models import read_table, refusals

WHOLE: dict[str, dict[str, str | float]] = {
    "friction disc": {"faces": 2, "outer_diameter": "200 mm", "inner_diameter": "120 mm", "clamp_force": "4 kN"},
    "ball detent": {"balls": 6, "ball_force": "300 N", "pitch_radius": "50 mm"},
    "roller detent": {"rollers": 6, "roller_force": "300 N", "pitch_radius": "50 mm"},
    "shear pins": {"pin_diameter": "6 mm", "radius": "50 mm", "shear_strength": "300 MPa"},
    "magnet disc": {"gap": "3 mm", "remanence": "1.2 T", "outer_radius": "60 mm", "inner_radius": "40 mm",
                    "magnet_thickness": "6 mm"},
    "eddy-current clutch": {"poles": 8, "pole_diameter": "40 mm", "pole_radius": "100 mm", "disc_radius": "140 mm",
                            "air_gap": "8 mm", "flux_density": "0.8 T"},
    "magnetic hysteresis clutch": {"loop_energy": "40 kJ/m^3", "ring_diameter": "100 mm", "ring_width": "20 mm",
                                   "ring_thickness": "5 mm"},
    "notched-wheel pawl": {"wheel_radius": "80 mm", "lever_ratio": 2.25, "spring_force": "600 N"},
    "tipping sprag": {"sprags": 18, "inner_radius": "30 mm", "contact_length": "12 mm", "outer_radius": "38.3 mm",
                      "cam_angle": "12 deg"},
    "slipping belt": {"pretension": "500 N", "pulley_radius": "100 mm"},
    "wrap spring freewheel": {"energising_moment": "0.5 N*m", "wrap_angle": "720 deg"},
    "roller freewheel": {"rollers": 8, "race_radius": "30 mm", "roller_diameter": "8 mm", "roller_length": "12 mm"},
    "sprag freewheel": {"sprags": 16, "inner_radius": "30 mm", "sprag_radius": "8 mm", "sprag_length": "12 mm"},
    "ratchet freewheel": {"tooth_load": "2 kN", "pitch_radius": "40 mm"},
}  # fmt: skip
"""Every kind that takes its setting or capacity by geometry, with a geometry that is complete."""

BESIDE: dict[str, dict[str, str | float]] = {"ratchet freewheel": {"teeth": 24}}
"""What a kind asks for besides."""


def said(kind: str, **table: Any) -> list[str]:
    """What is wrong with inputs as one writes them in a scenario."""
    part, table = REGISTRY[kind], BESIDE.get(kind, {}) | table
    values, wrong = read_table("it", part.kind.params, table, ())
    assert not wrong, wrong
    return [f.rule for f in refusals(part, values, (), table)]


def torque_input(kind: str) -> str:
    return "capacity" if "freewheel" in kind else "setting"


def resolved(kind: str, **table: Any) -> float:
    """Torque at which it lets go, as the part's own sheet states it [N*m]."""
    part, table = REGISTRY[kind], BESIDE.get(kind, {}) | table
    values, _ = read_table("it", part.kind.params, table, ())
    raw = {p.name: getattr(values[p.name], "si", nan) for p in part.kind.params if p.name in values}
    raw |= {p.name: float(p.choices.index(values[p.name])) for p in part.kind.params if p.choices and p.name in values}
    raw |= {p.name: float(values[p.name]) for p in part.kind.params if isinstance(values.get(p.name), bool)}
    row = part.call("resolve", part.raw(raw), 100.0)
    return float(part.described("sheet", row)[torque_input(kind)][0])


def test_every_kind_with_a_geometry_is_here() -> None:
    open_kinds = [n for n, p in REGISTRY.items() if n in BESIDE or not any(q.required for q in p.kind.params)]
    both = {
        n for n in open_kinds if any(t.startswith(("give the setting, or", "give the capacity, or")) for t in said(n))
    }
    assert {n.replace("backstop", "freewheel") for n in both} == set(WHOLE)


@pytest.mark.parametrize("kind", WHOLE)
def test_a_whole_geometry_will_do(kind: str) -> None:
    assert said(kind, **WHOLE[kind]) == []
    assert resolved(kind, **WHOLE[kind]) > 0.0


@pytest.mark.parametrize(("kind", "absent"), [(k, n) for k, g in WHOLE.items() for n in g])
def test_what_a_geometry_lacks_is_named(kind: str, absent: str) -> None:
    (sentence,) = (s for s in said(kind, **{n: v for n, v in WHOLE[kind].items() if n != absent}) if "lacks" in s)
    assert sentence == f"the geometry lacks {absent}: give it too, or the {torque_input(kind)}"


def test_two_that_are_missing_are_both_named() -> None:
    assert said("friction disc", faces=2, outer_diameter="200 mm") == [
        "the geometry lacks inner_diameter and clamp_force: give them too, or the setting"]  # fmt: skip
    nut = said("friction disc", faces=2, outer_diameter="0.2 m", inner_diameter="0.1 m", nut_pitch="2 mm")
    assert nut == ["the geometry lacks nut_turns and spring_rate: give them too, or the setting"]
    assert said("shear pins", pin_diameter="6 mm", tensile_strength="500 MPa") == [
        "the geometry lacks radius: give it too, or the setting"]  # fmt: skip


@pytest.mark.parametrize("kind", WHOLE)
def test_a_setting_that_contradicts_the_geometry_is_refused_with_both_values(kind: str) -> None:
    name, torque = torque_input(kind), resolved(kind, **WHOLE[kind])
    for share in (0.95, 1.05):
        (sentence,) = said(kind, **WHOLE[kind], **{name: f"{share * torque:.6f} N*m"})
        assert "contradicts the geometry" in sentence
        assert "leave one of them out" in sentence
        assert all(f"{t:.4g} N*m" in sentence for t in (share * torque, torque))


@pytest.mark.parametrize("kind", WHOLE)
def test_where_setting_and_geometry_agree_the_setting_holds(kind: str) -> None:
    name, torque = torque_input(kind), 1.015 * resolved(kind, **WHOLE[kind])
    both = WHOLE[kind] | {name: f"{torque:.9f} N*m"}
    assert said(kind, **both) == []
    assert resolved(kind, **both) == pytest.approx(torque, rel=1e-6)


TWISTED = {n: t for n, p in REGISTRY.items() for t in TWISTS if {t, "stiffness"} <= {q.name for q in p.kind.params}}
"""Kinds that take a stiffness or the twist at a torque."""
ASKED: dict[str, dict[str, str | float]] = {
    "gear": {"ratio": 20}, "worm gear": {"ratio": 20}, "planetary gear": {"ratio": 5},
    "universal joint": {"joint_angle": "15 deg"},
}  # fmt: skip


def test_kinds_with_both_are_found() -> None:
    assert len(TWISTED) >= 14
    assert {"gear", "worm gear", "planetary gear", "rigid coupling", "universal joint", "friction disc"} <= set(TWISTED)


@pytest.mark.parametrize("kind", TWISTED)
def test_stiffness_against_the_twist_at_a_torque(kind: str) -> None:
    """100 N*m over half a degree is 11.46 kN*m/rad; the default of the twist contradicts nothing."""
    own = ASKED.get(kind, {})
    torque = TWISTS[TWISTED[kind]]
    stated = {torque: "100 N*m", TWISTED[kind]: "0.5 deg"}
    (sentence,) = said(kind, **own, **stated, stiffness="12 kN*m/rad")
    assert "contradicts" in sentence
    assert "1.2e+04" in sentence
    assert "1.146e+04" in sentence
    assert said(kind, **own, **stated, stiffness="11.5 kN*m/rad") == []
    assert said(kind, **own, **{torque: "100 N*m"}, stiffness="12 kN*m/rad") == []


def test_the_stiffness_holds_where_both_agree() -> None:
    part = REGISTRY["gear"]
    raw = {p.name: p.default for p in part.kind.params if isinstance(p.default, int | float)}
    row = part.call("resolve", part.raw({**raw, "ratio": 20.0, "stiffness": 11.5e3, "rated_torque": 100.0, "lash": 0.0,
                                         "twist_at_rated": 0.0087266}), 100.0)  # fmt: skip
    assert row[0] == 11.5e3
    assert not isnan(row[1])
