"""The machines that come along: each runs, its ledger closes, and its lesson stands in the answer."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from simcore import api
from simcore.results.model import ResultSet

FOLDER = Path(__file__).parents[2] / "scenarios"
NAMES = ("sawmill_log_incline", "laundry_bag_lift", "seed_tray_indexer", "film_rewinder", "tank_agitator",
         "straw_shredder", "parcel_carousel")  # fmt: skip


@cache
def result(name: str) -> ResultSet:
    return api.run(FOLDER / f"{name}.toml", evidence=False)


def passing(name: str) -> set[str]:
    return {a.name for a in result(name).answers if a.passed}


@pytest.mark.parametrize("name", NAMES)
def test_it_runs_and_its_ledger_closes(name):
    assert result(name).findings["worst ledger residual"] < 1e-6


def test_what_lets_go_on_an_incline_is_held_by_the_backstop():
    assert passing("sawmill_log_incline") == {"roller detent", "shear pins", "friction disc"}
    labels = [r.label for r in result("sawmill_log_incline").remarks]
    assert "Backstop" in labels
    assert "Stop" in labels
    assert "Runs back" not in labels


def test_the_same_incline_without_its_backstop_runs_back():
    text = (FOLDER / "sawmill_log_incline.toml").read_text()
    head, _, tail = text.partition('[[line]]\nname = "backstop"')
    from simcore.scenario.read import read_text

    r = api.run(read_text(head + tail.partition("\n\n")[2]), evidence=False)
    assert any(x.label == "Runs back" for x in r.remarks)


def test_no_limiter_helps_what_the_table_hits():
    assert passing("seed_tray_indexer") == set()
    assert all(a.worst_limit == "tray stands proud" and a.use > 2.5 for a in result("seed_tray_indexer").answers)


def test_the_magnets_of_the_agitator_hold_a_ramped_start():
    assert "magnet disc" in passing("tank_agitator")


def test_bales_decide_at_the_shredder():
    r = result("straw_shredder")
    assert "tipping sprag" not in passing("straw_shredder")
    for a in r.answers:
        tight = min((m for m in a.margins if m.expect != "let go"), key=lambda m: m.percent)
        assert tight.situation == "wet bale"


def test_the_slow_side_is_the_place_at_the_carousel():
    assert passing("parcel_carousel") == {"friction disc"}


def test_the_lift_is_lifted():
    assert "ball detent" in passing("laundry_bag_lift")
