"""Pages of parts, measures and warnings."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import simcore
from simcore.catalogue import explain, input_text, part
from simcore.definitions import MEASURES, WARNINGS
from simcore.errors import InputError
from simcore.file_tables import TABLES
from simcore.near import nearest_hint
from simcore.parts import REGISTRY
from simcore.scenario.models import example
from simcore.scenario.words import SCATTERS, TOP
from simcore.shipped import find, scenarios, title
from simcore.trade_words import TRADE_WORDS

NEVER = set("\\{}$`\x01\x02\x03")
"""What no printed page holds: leftovers of TeX and of markup."""


@pytest.mark.parametrize("name", list(REGISTRY))
def test_page_tells_every_input(name: str) -> None:
    """Names, bounds, defaults, ranges and where they come from; no TeX, no line past 110 columns."""
    text = part(name)
    flat = " ".join(text.split())
    kind = REGISTRY[name].kind
    for p in kind.params:
        assert f"\n  {p.name} " in text
        assert p.source in flat or (p.default is None and p.usual is None)
        assert all(str(u) in flat for u in p.usual or ())
    for words in (kind.lets_go, kind.leaves, kind.runs_again, *kind.cautions, *kind.sources):
        assert " ".join(words.split()) in flat
    assert not NEVER & set(text)
    assert max(map(len, text.splitlines())) <= 110
    assert ":mod:" not in text
    assert not re.search(r"\b_coil", text)


def test_words_of_the_file_stand_on_the_pages() -> None:
    """What an engineer writes beside a part's own inputs was told by the schema alone."""
    stop, jam, disc, drum = part("stop chain"), part("hard stop"), part("friction disc"), part("drum")
    assert all(f"\n  {w} " in stop for w in ("of", "to", "fitted_to"))
    assert all(f"\n  {w} " in jam for w in ("at", "corner", "expect", "horizon", "lead", "then"))
    assert all(f"\n  {w} " in disc for w in ("slot", "after", "joins", "allowable"))
    assert "\n  joins " in drum
    assert "allowable" not in drum
    assert all(f"\n  {w} " in part("Slot") for w in ("hub_in", "hub_out", "allowable"))


def test_page_holds_the_laws_it_shares_with_others() -> None:
    text = part("magnetic particle clutch")
    assert "see [coil]" in " ".join(text.split())
    assert "  [coil]:\n  A coil and the torque it excites." in text
    assert 'as in simcore parts "roller freewheel"' in " ".join(part("roller backstop").split())


def test_overview_has_every_part() -> None:
    text = part()
    assert all(f"\n  {n} " in text for n in REGISTRY)


@pytest.mark.parametrize("typed", ["bal detent", "Ball_detnt"])
def test_a_typo_gets_the_nearest_name(typed: str) -> None:
    with pytest.raises(InputError, match="nearest: ball detent"):
        part(typed)


def test_units_of_stations_that_turn_and_that_travel() -> None:
    """A place, a drag or a stiffness may be on either; both sorts of units are told."""
    distance = input_text(REGISTRY["hard stop"].kind.param("distance"))
    assert "[turning: rad, mrad, deg, arcmin, ...; travelling: m, mm, cm, um, ...]" in distance
    for kind in REGISTRY.values():
        for p in kind.kind.params:
            both = p.kind in ("effort", "any_stiffness", "travel", "any_damping", "any_inertia")
            assert ("travelling: " in input_text(p)) == both
    assert example(REGISTRY["load step"].kind.param("extra")) == 'extra = "... N*m", or "... N" where it travels'


def test_units_bounds_and_default_in_a_sentence() -> None:
    text = input_text(REGISTRY["friction disc"].kind.param("heat_capacity"))
    assert "[J/K, kJ/K, MJ/K]" in text
    assert "above 0 J/K; default 700 J/K" in text
    pins = REGISTRY["shear pins"].kind
    assert "[no unit, %]" in input_text(pins.param("shear_ratio"))
    assert "at most 1e+09" in input_text(pins.param("starts_done"))
    assert "default false" in input_text(pins.param("fatigue"))


@pytest.mark.parametrize("name", [*MEASURES, *WARNINGS])
def test_everything_is_explained(name: str) -> None:
    text = " ".join(explain(name).split())
    told = MEASURES[name].meaning if name in MEASURES else WARNINGS[name].meaning
    assert " ".join(told.split()) in text
    assert not NEVER & set(text)
    assert name in " ".join(explain().split())


def test_every_table_of_the_file_has_a_page() -> None:
    """Each word that the schema knows stands on the page of its table."""
    properties = simcore.schema()["properties"]
    top = {p.name for p in TOP}
    assert set(TABLES) == {"scenario", "sweep.factor", *(w for w in properties if w not in top)}
    for name in ("display", "solver", "sweep"):
        assert all(f"\n  {w} " in explain(f"[{name}]") for w in properties[name]["properties"] if w != "factor")
    factor = properties["sweep"]["properties"]["factor"]["items"]["properties"]
    page = explain("[[sweep.factor]]")
    assert all(f"\n  {w}" in page for w in [*factor, *(f"scatter.{s}" for s in SCATTERS), "grid.spacing"])
    assert explain("situations.NAME") == explain("situations")
    assert "sweep.factor" in explain()


def test_every_warning_the_program_gives_is_explained() -> None:
    """The names are read off the source, so a new warning fails here until it is explained."""
    folder = Path(simcore.__file__).parent
    trees = [
        ast.parse(p.read_text(encoding="utf-8")) for room in ("line", "measures") for p in (folder / room).glob("*.py")
    ]
    nodes = [n for tree in trees for n in ast.walk(tree)]
    calls = [n for n in nodes if isinstance(n, ast.Call) and getattr(n.func, "id", "") == "Caution"]
    names = {c.args[0].value for c in calls if isinstance(c.args[0], ast.Constant)}
    assert len(names) >= 25
    assert names <= set(WARNINGS)
    assert all(w.advice and w.rule and w.meaning for w in WARNINGS.values())


@pytest.mark.parametrize(
    ("word", "here"),
    [("slip clutch", "friction disc"), ("Torque_Limiters", "friction disc, ball detent, shear pins or magnet disc"),
     ("one way clutch", "roller freewheel"), ("AC motor", "induction motor"), ("jaw coupling", "flexible coupling"),
     ("pulley", "drum"), ("sprockets", "drum")],
)  # fmt: skip
def test_a_word_of_the_trade_is_told_what_it_is_called_here(word: str, here: str) -> None:
    """Words of general use, from memory; they name no part, so the page is not shown but told."""
    with pytest.raises(InputError, match=f"here: {here}"):
        part(word)


def test_words_of_the_trade_lead_to_kinds_that_are_there() -> None:
    for word, kinds in TRADE_WORDS.items():
        assert word not in REGISTRY, word
        assert set(kinds) <= set(REGISTRY), word


def test_a_source_is_told_of_an_input_without_a_value_too() -> None:
    flat = " ".join(part("gear").split())
    assert "from: 2 % to 4 % of the rated torque there" in flat
    assert "V-belt (transmission)" in part("v_belt")


def test_unknown_measure() -> None:
    with pytest.raises(InputError, match="nearest: overshoot"):
        simcore.explain("overshot")
    assert nearest_hint("zzzz", ["abc"], "none") == "none"


def test_a_name_that_was_typed_whole_is_nearer_than_one_alike_in_letters() -> None:
    with pytest.raises(InputError, match=r"nearest: cam\)"):
        part("cam load")


def test_shipped_scenarios() -> None:
    found = scenarios()
    assert "bakery_tray_conveyor" in found
    assert all(title(f) for f in found.values())
    assert find("bakery_tray_conveyor") == find("bakery_tray_conveyor.toml") == found["bakery_tray_conveyor"]
    assert find("elsewhere/bakery_tray_conveyor.toml") == Path("elsewhere/bakery_tray_conveyor.toml")
    with pytest.raises(InputError, match="nearest: bakery_tray_conveyor"):
        find("bakery_tray_conveyer")
