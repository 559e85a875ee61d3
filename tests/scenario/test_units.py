"""Quantities: every spelling against pint, refusals in words, printing."""

from __future__ import annotations

import math
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simcore import units
from simcore.units import factors

UREG = pint.UnitRegistry()

TRADE = [
    ("190 N*m", "torque", 190.0),
    ("190 Nm", "torque", 190.0),
    ("190 N·m", "torque", 190.0),
    ("190 N m", "torque", 190.0),
    ("190 N.m", "torque", 190.0),
    ("190Nm", "torque", 190.0),
    ("0.19 kN·m", "torque", 190.0),
    ("190 N-m", "torque", 190.0),
    ("−190 N*m", "torque", -190.0),
    ("0.012 kg·m²", "inertia", 0.012),
    ("0.012 kgm2", "inertia", 0.012),
    ("0.012 kg m^2", "inertia", 0.012),
    ("0.012 kg m**2", "inertia", 0.012),
    ("120 kg·cm²", "inertia", 0.012),
    ("5 µm", "length", 5e-6),
    ("5 μm", "length", 5e-6),
    ("5 um", "length", 5e-6),
    ("3°", "angle", math.pi / 60),
    ("3 deg", "angle", math.pi / 60),
    ("180 arcmin", "angle", math.pi / 60),
    ("60 rpm", "speed", 2 * math.pi),
    ("60 1/min", "speed", 2 * math.pi),
    ("60 min⁻¹", "speed", 2 * math.pi),
    ("60 min-1", "speed", 2 * math.pi),
    ("60 r/min", "speed", 2 * math.pi),
    ("1 rev/s", "speed", 2 * math.pi),
    ("60 rpm/s", "acceleration", 2 * math.pi),
    ("1 rad/s²", "acceleration", 1.0),
    ("1 rad/s2", "acceleration", 1.0),
    ("2 Nm/rad", "stiffness", 2.0),
    ("2 N m / rad", "stiffness", 2.0),
    ("1 Nm/deg", "stiffness", 180 / math.pi),
    ("3 Nms/rad", "damping", 3.0),
    ("3 N*m/(rad/s)", "damping", 3.0),
    ("3 Ns/m", "linear_damping", 3.0),
    ("0.1 %/K", "fade", 0.001),
    ("1 %/(rad/s)", "inverse_speed", 0.01),
    ("10 %", "ratio", 0.1),
    ("10%", "ratio", 0.1),
    ("3 kN", "effort", 3000.0),
    ("2 MN/m", "any_stiffness", 2e6),
    ("4 mm", "travel", 0.004),
    ("3 K", "temperature_difference", 3.0),
]

# pound-force, inch and foot exact by definition: 0.45359237 kg x 9.80665 m/s^2, 25.4 mm (international
# yard and pound agreement of 1959; NIST SP 811, appendix B, gives the same factors)
LBF = Fraction("0.45359237") * Fraction("9.80665")
INCH = Fraction("0.0254")


@pytest.mark.parametrize(("text", "kind", "si"), TRADE)
def test_trade_spellings(text, kind, si):
    assert units.parse(text, kind).si == pytest.approx(si, rel=1e-15)


@pytest.mark.parametrize("kind", [k for k in units.kinds() if k != "count"])
def test_every_unit_converts_as_pint_says(kind):
    for unit in units.units_of(kind):
        quantity = units.parse(f"3.7 {unit}", kind)
        text = {"PS": "metric_horsepower", "": "dimensionless"}.get(unit, unit).replace("rev", "turn")
        by_pint = UREG.Quantity(3.7, text).to(units.si_unit(quantity.kind).replace("1/K", "1/kelvin"))
        assert quantity.si == pytest.approx(by_pint.magnitude, rel=1e-12), unit
        assert units.to_unit(quantity.si, kind, unit) == pytest.approx(3.7, rel=1e-14)


def test_conversion_is_the_nearest_double():
    assert units.parse("100 lbf·in", "torque").si == float(100 * LBF * INCH)
    assert units.parse("7 ft-lb", "torque").si == float(7 * LBF * 12 * INCH)
    assert units.parse("0.1 mm", "length").si == 1e-4
    assert units.parse("4.7 N*mm", "torque").si == 0.0047


def test_no_spelling_has_two_meanings_within_a_kind_and_its_look_alikes():
    for kind in units.kinds():
        for spelling in units.spellings_of(kind):
            assert units.canonical(spelling, kind) in units.units_of(kind)
    with pytest.raises(units.UnitFault):
        units.parse("5 m s", "time")
    with pytest.raises(units.UnitFault):
        units.parse("5 m N", "force")


@pytest.mark.parametrize("kind", units.kinds())
def test_si_units_are_read_alike_by_udunits(kind):
    cf_units = pytest.importorskip("cf_units")
    text = units.si_unit(kind)
    base = UREG.Quantity(1.0, text).to_base_units()
    assert base.magnitude == pytest.approx(1.0, rel=1e-15)
    spelled = "1" if base.dimensionless and "rad" not in text else f"{base.units:D}"
    spelled = spelled.replace(" ** ", "^").replace(" * ", " ").replace(" / ", "/") if spelled != "1" else "1"
    first, *rest = spelled.split("/")
    spelled = first + ("".join(f" ({r})^-1" for r in rest))
    assert cf_units.Unit(text).convert(1.0, cf_units.Unit(spelled)) == pytest.approx(1.0, rel=1e-15)


REFUSED = [
    ("1,5 N*m", "torque", "decimal comma", "1.5"),
    ("1.000,5 N*m", "torque", "decimal comma", "1000.5"),
    ("1,000 N*m", "torque", "thousands marks", "write 1000"),
    ("1 000 N*m", "torque", "thousands marks", "write 1000"),
    ("1'000 N*m", "torque", "thousands marks", "write 1000"),
    ("1_000 N*m", "torque", "thousands marks", "write 1000"),
    ("2*95 N*m", "torque", "expressions are not computed", ""),
    ("190 N*m + 5", "torque", "expressions are not computed", ""),
    ("1e3 * N", "force", "expressions are not computed", ""),
    ("(3) N", "force", "expressions are not computed", ""),
    ("3·10^5 N", "force", "expressions are not computed", ""),
    ("190 N*m 200 N*m", "torque", "several numbers", ""),
    ("190 ± 5 N*m", "torque", "several numbers", ""),
    ("190 to 200 N*m", "torque", "several numbers", ""),
    ("inf N*m", "torque", "finite", ""),
    ("nan", "ratio", "finite", ""),
    (float("inf"), "ratio", "finite", ""),
    ("1e999 N*m", "torque", "overflow", ""),
    ("1e-999 N*m", "torque", "underflow", ""),
    (10**500, "count", "overflow", ""),
    ("5 J", "torque", "J is an energy, a torque is needed", "N*m"),
    ("5 Nm", "energy", "is a torque, an energy is needed", "J"),
    ("5 N*m", "stiffness", "a torsional stiffness is needed: the angle must be named", "N*m/rad"),
    ("5 Nms", "damping", "does not name the angle", "N*m*s/rad"),
    ("5 N*m/rad", "torque", "is a torsional stiffness, a torque is needed", "N*m"),
    ("50 Hz", "speed", "turns or radians", "rpm"),
    ("50 1/s", "speed", "turns or radians", "rpm"),
    ("5'", "angle", "minutes of arc", "arcmin"),
    ('5"', "angle", "minutes of arc", "arcsec"),
    ("5 m", "torque", "m is a length, a torque is needed", "N*m"),
    ("5 kg", "inertia", "is a mass, a moment of inertia is needed", ""),
    ("5 rpm", "velocity", "is a rotational speed, a velocity is needed", ""),
    ("5 m/s^2", "acceleration", "a linear acceleration", ""),
    ("5 nm", "torque", '"nm" is not a known unit of torque', "N*m"),
    ("5 Kw", "power", "not a known unit", "kW"),
    ("5", "torque", "has no unit, a torque is needed", "N*m"),
    (5, "torque", "has no unit", "N*m"),
    ("N*m", "torque", "has a unit but no number", ""),
    ("about 5 N*m", "torque", "must begin with a number", ""),
    ("", "torque", "is empty", ""),
    ("20 degC", "temperature_difference", "point on a scale", "K"),
    ("20 °C", "temperature_difference", "point on a scale", "K"),
    ("5 kW", "ratio", "is a power, a ratio is needed", ""),
    ("6.5", "count", "whole number", ""),
    ("6 %", "count", "a count is needed", ""),
    (True, "torque", "must be a torque", ""),
    ([5], "torque", "must be a torque", ""),
    ("5 N\u200b*m", "torque", "invisible", ""),
    ("9" * 200 + " N", "force", "too long", ""),
]


@pytest.mark.parametrize(("value", "kind", "rule", "hint"), REFUSED)
def test_refused_with_its_own_reason(value, kind, rule, hint):
    with pytest.raises(units.UnitFault) as caught:
        units.parse(value, kind)
    assert rule in caught.value.rule
    assert hint in caught.value.hint
    assert "\n" not in str(caught.value)


@given(st.text(max_size=30), st.sampled_from(units.kinds()))
def test_any_text_gives_a_number_or_a_sentence(text, kind):
    try:
        si, sentence = units.parse(text, kind).si, "fine"
    except units.UnitFault as fault:
        si, sentence = 0.0, str(fault)
    assert math.isfinite(si)
    assert sentence.isprintable()


@given(st.floats(-1e12, 1e12).filter(lambda x: x == 0 or abs(x) > 1e-12), st.sampled_from(units.kinds()))
def test_written_values_come_back(x, kind):
    if kind == "count":
        x = float(round(x))
    unit = units.units_of(kind)[-1]
    si = units.parse(f"{x!r} {unit}", kind).si
    home = units.parse(f"1 {unit}", kind).kind
    assert units.to_unit(si, home, unit) == pytest.approx(x, rel=1e-14)


@pytest.mark.parametrize(
    ("si", "kind", "text"),
    [
        (7747.2, "torque", "7750 N*m"),
        (340.0, "torque", "340 N*m"),
        (16300.0, "torque", "16.3 kN*m"),
        (0.024, "time", "24 ms"),
        (0.0523598, "angle", "3 deg"),
        (20.0, "ratio", "20"),
        (0.0, "torque", "0 N*m"),
        (2.7e5, "stiffness", "270 kN*m/rad"),
        (0.00012345, "inertia", "0.000123 kg*m^2"),
        (-0.001, "fade", "-0.1 %/K"),
        (float("nan"), "torque", "n/a N*m"),
        (9999.7, "torque", "10 kN*m"),
    ],
)
def test_show(si, kind, text):
    assert units.show(si, kind) == text


def test_show_in_a_unit():
    assert units.show(340, "torque", "lbf*in") == "3010 lbf*in"
    assert units.show(0.05, "ratio", "%") == "5 %"
    assert units.show(340, "torque", "kN·m", digits=2) == "0.34 kN·m"
    assert units.typeset("kg*m^2") == "kg·m²"
    with pytest.raises(units.UnitFault, match="is a length"):
        units.show(340, "torque", "mm")


def test_what_pint_says_is_kept_and_made_anew_when_damaged(tmp_path, monkeypatch):
    monkeypatch.setattr(factors, "_cache_folder", lambda: tmp_path)
    factors._all.cache_clear()
    try:
        fresh = factors.asked_of_pint()
        assert fresh["inertia: kg*cm^2"] == Fraction(1, 10_000)
        assert factors._all() == fresh
        (kept,) = tmp_path.glob("factors-*.json")
        whole = kept.read_text()
        assert factors.read(kept) == fresh
        for wrong in (whole.replace("1/10000", "1/1000", 1), whole[:-40], "", "[]", '{"sum": 1, "factors": 2}'):
            kept.write_text(wrong)
            assert factors.read(kept) is None
        monkeypatch.setattr(factors, "asked_of_pint", lambda: {"nothing": Fraction(1)})
        factors._all.cache_clear()
        assert factors._all() == {"nothing": Fraction(1)}
        monkeypatch.setattr(factors, "_cache_folder", lambda: None)
        factors._all.cache_clear()
        assert factors._all() == {"nothing": Fraction(1)}
    finally:
        monkeypatch.undo()
        factors._all.cache_clear()


def test_one_registry_and_an_unknown_kind():
    assert factors.registry() is factors.registry()
    with pytest.raises(KeyError):
        units.parse("5 N", "weight")
