"""A part's own numbers: settings reached, closed forms met, both limits at a jump, directions and loops."""

from __future__ import annotations

from dataclasses import replace
from math import exp, nan, pi, radians
from typing import Any

import numpy as np
import pytest
from toy_kinds import TOYS, always_slips, by_current, one_way, slider

from simcore.character import Character, Curve, character, given, slipping_torque
from simcore.contract import BROKEN, OPEN, SLIPPING, Part
from simcore.errors import InputError
from simcore.line.graph import list_inputs, raw_inputs
from simcore.parts import REGISTRY
from simcore.scenario.model import Item
from simcore.scenario.models import read_table
from simcore.specimen import charted, example, specimen


def drawn(name: str) -> Part:
    """The kind; a protection that declares no character is turned slowly."""
    part = REGISTRY[name]
    if part.kind.family == "protection" and not part.kind.character:
        return replace(part, kind=replace(part.kind, character="twist"))
    return part


DRAWN = [n for n, p in REGISTRY.items() if p.kind.character or p.kind.family == "protection"]
TWISTED = [n for n in DRAWN if drawn(n).kind.character == "twist"]


def curve_of(name: str, **changes: str) -> Curve:
    return specimen(drawn(name), changes).curves[0]


def raw_of(part: Part) -> tuple[dict[str, float], dict[str, tuple[float, ...]]]:
    values, wrong = read_table("it", part.kind.params, example(part.kind), ())
    assert not wrong
    item = Item("it", part.kind.name, "", values, frozenset())
    return raw_inputs(item, part), list_inputs(item)


@pytest.mark.parametrize("name", TWISTED)
def test_turned_slowly_it_reaches_its_setting(name: str) -> None:
    c = specimen(drawn(name))
    top = next(c.sheet[n][0] for n in ("setting", "capacity", "rated torque") if n in c.sheet)
    highest = float(np.abs(c.curves[0].y).max())
    if c.part.kind.family == "transmission" and "capacity" not in c.sheet:  # nothing gives way
        assert 1.2 * top <= highest < 1.21 * top
    else:
        assert highest == pytest.approx(top, rel=1e-3)


@pytest.mark.parametrize("name", DRAWN)
def test_curves_are_finite_and_in_order(name: str) -> None:
    c = specimen(drawn(name))
    assert c.curves
    for u in c.curves:
        assert np.isfinite(u.x).all()
        assert np.isfinite(u.y).all()
        assert len(u.x) == len(u.y) == len(u.klass) > 50
        assert all(abs(u.x[i] - u.x[i - 1]) <= 1e-7 * np.ptp(u.x) for i in u.jumps)
        assert u.returns or (np.diff(u.x) >= -1e-12).all()


def test_disc_gives_its_setting_at_the_reference_slip_speed() -> None:
    part = REGISTRY["friction disc"]
    raw, lists = raw_of(part)
    torque, klass = slipping_torque(given(part, raw, lists), raw["reference_slip"])
    assert torque == pytest.approx(150.0, rel=1e-6)
    assert klass == SLIPPING


def test_disc_follows_the_stribeck_curve() -> None:
    """Armstrong-Helouvry's exponential form, with breakaway 1.15, 1 rad/s and 0.05 %/(rad/s)."""

    def g(v: float) -> float:
        return 1.0 + 0.15 * exp(-v) + 5e-4 * v

    u = curve_of("friction disc")
    assert u.y == pytest.approx([150.0 * g(v) / g(5.0) for v in u.x], rel=1e-9)
    assert (u.x[0], u.x[-1]) == pytest.approx((0.03, 100.0))


def test_magnets_pull_by_the_sine() -> None:
    u = curve_of("magnet disc", pole_pairs="4")
    assert u.y == pytest.approx(150.0 * np.sin(4.0 * u.x), abs=1e-6)
    slips = u.x[np.argmax(u.klass == SLIPPING)]
    assert slips == pytest.approx(pi / 4.0, rel=1e-6)
    assert u.x[-1] > 2.0 * slips


def test_balls_fall_to_the_crest_and_let_go_there() -> None:
    u = curve_of("ball detent", release_twist="5 deg", twist_at_setting="0.5 deg")
    out = int(np.argmax(u.klass == OPEN))
    assert out in u.jumps
    assert u.x[out] == pytest.approx(radians(5.5), rel=1e-6)
    assert u.y[out - 1] == pytest.approx(0.35 * 150.0, rel=1e-6)
    assert u.y[out] == pytest.approx(0.015 * 150.0)
    assert u.x[-1] == pytest.approx(1.6 * u.x[out], rel=0.01)


def test_ratcheting_shows_the_second_letting_go() -> None:
    u = curve_of("ball detent", after_release="ratchets", pockets_every="20 deg")
    goes = np.flatnonzero((u.klass[1:] == OPEN) & (u.klass[:-1] < OPEN)) + 1
    assert len(goes) == 2
    assert u.x[goes[1]] - u.x[goes[0]] == pytest.approx(radians(20.0), rel=1e-6)
    assert u.y[: goes[0]].max() == pytest.approx(u.y[goes[0] :].max()) == pytest.approx(150.0)
    assert u.x[-1] < 1.06 * u.x[goes[1]]


def test_a_distant_pocket_does_not_stretch_the_chart() -> None:
    u = curve_of("ball detent", after_release="ratchets")
    assert u.x[-1] < radians(8.0)


@pytest.mark.parametrize(("setting", "twist"), [("0.4 N*m", "0.05 deg"), ("40 kN*m", "30 deg")])
def test_any_size_lets_go_on_the_chart(setting: str, twist: str) -> None:
    u = curve_of("shear pins", setting=setting, twist_to_fracture=twist)
    assert (u.klass == BROKEN).any()
    assert u.y[-1] == 0.0


def test_pins_lose_the_work_under_their_curve() -> None:
    c = specimen(drawn("shear pins"))
    work = float(np.trapezoid(c.curves[0].y, c.curves[0].x))
    assert work == pytest.approx(c.sheet["energy to break"][0], rel=1e-5)


def test_lash_is_crossed_at_no_torque_both_ways() -> None:
    u = curve_of("flexible coupling", rated_torque="90 N*m", twist_at_rated="1 deg", progression="1", lash="2 deg")
    free = np.abs(u.x) < radians(1.0) - 1e-6  # a flank that moves so slowly parts by 0.4 urad late
    k = 90.0 / radians(1.0)
    assert np.all(u.y[free] == 0.0)
    assert u.y[~free] == pytest.approx(k * (u.x[~free] - np.sign(u.x[~free]) * radians(1.0)), abs=0.01)
    assert u.x[0] == pytest.approx(-radians(2.2), rel=0.01)
    assert u.y[0] < -107.0


def test_a_progressive_spring_is_drawn_to_past_its_rated_torque() -> None:
    u = curve_of("flexible coupling", lash="0 deg")
    assert np.interp(radians(1.0), u.x, u.y) == pytest.approx(90.0, rel=1e-4)
    assert np.interp(radians(0.5), u.x, u.y) == pytest.approx(90.0 * 0.75 * 0.5 * (1.0 + 0.25 / 3.0), rel=1e-4)


def test_dampers_carry_nothing_when_turned_slowly() -> None:
    u = curve_of("rigid coupling", relative_damping="3")
    assert u.y == pytest.approx(120.0 * u.x / radians(0.03), abs=1e-6)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_one_way_parts_are_turned_both_ways(side: float) -> None:
    u = specimen(one_way(side)).curves[0]
    assert u.returns
    assert (side * u.y).max() == pytest.approx(150.0, rel=1e-3)
    assert (side * u.y).min() == pytest.approx(-1.5)
    assert (side * u.x).min() < -radians(0.4)
    assert side * u.x[-1] > 0.01 + radians(0.5)
    assert u.klass[-1] == SLIPPING


def test_the_loop_closes_and_loses_what_dry_friction_loses() -> None:
    """Jenkin's element: 4 S (A - S/k) a cycle, textbook; the inner loop is closed and lies within."""
    full, inner = specimen(slider()).curves
    last = int(np.argmax(full.x))
    area = -float(np.trapezoid(full.y[last:], full.x[last:]))
    unit = radians(0.5)
    assert -area == pytest.approx(4.0 * 150.0 * (3.0 * unit - unit), rel=1e-3)
    assert inner.y[0] == pytest.approx(inner.y[-1], abs=1e-3)
    assert np.abs(inner.x).max() < full.x.max()
    assert np.all(np.diff(full.x[: last // 2]) >= 0.0)


def test_current_is_set_whatever_is_held() -> None:
    c = specimen(by_current(), {"current": "0.2 A"})
    assert c.curves[0].x[-1] == pytest.approx(3.0)
    assert c.curves[0].y == pytest.approx(150.0 * c.curves[0].x / 1.5)


def test_a_part_that_always_slips_needs_no_twist() -> None:
    u = specimen(always_slips()).curves[0]
    assert u.y.max() == pytest.approx(150.0, rel=1e-3)
    assert u.x[np.argmax(u.y)] == pytest.approx(40.0, rel=0.05)


def test_inputs_told_and_examples_give_way() -> None:
    disc = REGISTRY["friction disc"]
    assert specimen(disc).inputs == "setting 150 N*m, all else default"
    told = specimen(disc, {"setting": '"190 N*m"', "breakaway": "1.3"})
    assert told.inputs == "setting 190 N*m, breakaway 1.3, all else default"
    assert told.tolerance == pytest.approx(0.1)
    by_geometry = {"faces": "2", "outer_diameter": "200 mm", "inner_diameter": "120 mm", "clamp_force": "4 kN"}
    assert "setting" not in specimen(disc, by_geometry).inputs


def test_lists_reach_the_part() -> None:
    seen: list[Any] = []
    part = by_current()
    call = dict(part.functions) | {"resolve": lambda r, w1: seen.append(r) or (r.setting, 1.0, 1.0)}
    character(replace(part, functions=call), {"setting": 5.0}, {"current": (1.0, 2.0)})
    assert seen[0].current == 1.0


def test_what_has_no_character_says_which_have() -> None:
    with pytest.raises(ValueError, match="'gear' has no character"):
        character(REGISTRY["gear"], {}, {})
    with pytest.raises(InputError, match=r"gear: has no chart of its own \(these have one: friction disc, .*"):
        specimen(REGISTRY["gear"])
    assert "friction disc" in charted(REGISTRY.values())
    assert "gear" not in charted(REGISTRY.values())


@pytest.mark.parametrize("name", TOYS)
def test_toys_have_curves(name: str) -> None:
    c: Character = specimen(TOYS[name])
    assert np.isfinite(np.concatenate([u.y for u in c.curves])).all()
    assert c.tolerance is nan or c.tolerance != c.tolerance
