"""What a run leaves behind in the protection: setting lost, life used, phase lost."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simcore import api
from simcore.cli.jsonout import document
from simcore.results.model import ResultSet, Run
from simcore.results.read import open_result
from simcore.results.write import write
from simcore.scenario.alter import kept
from simcore.shipped import find

DISC = 'candidates["friction disc"].wear'
PINS = 'candidates["shear pins"].fatigue'
CRASH = "tray jams"


def demo(tmp_path: Path, changes: dict[str, str]) -> tuple[ResultSet, ResultSet]:
    result = api.run(api.read(find("bakery_tray_conveyor"), changes), evidence=False)
    write(result, tmp_path / "r.h5")
    return result, open_result(tmp_path / "r.h5")


def of(run: Run) -> dict[str, float]:
    return {x.name: x.value for x in run.left_behind}


def test_what_a_disc_loses_is_its_wear_times_its_heat(tmp_path: Path, kernel: object) -> None:
    """Wear by energy (Archard, cited from memory): 500 %/MJ of the slip heat; kept in file, JSON and on the screen."""
    result, stored = demo(tmp_path, {DISC: "500 %/MJ"})
    run = result.run("friction disc", CRASH)
    lost = 5.0 * run.measures["heat"] / 1e6
    assert of(run) == {"setting lost": pytest.approx(lost, rel=2e-3)}
    assert stored.run("friction disc", CRASH).left_behind == run.left_behind
    said = next(r.text for r in result.remarks if r.label == "Left behind")
    assert f"'friction disc' after '{CRASH}': setting lost {100 * lost:.3g} %" in said
    rows = {(r["candidate"], r["situation"]): r["left_behind"] for r in document(stored)["runs"]}
    assert rows["friction disc", CRASH] == {"setting lost": {"value": run.left_behind[0].value, "unit": "1"}}


def test_nothing_is_said_where_nothing_is_left(tmp_path: Path, kernel: object) -> None:
    """No wear given, no fatigue counted, the detent still out: no numbers, no remark."""
    result, stored = demo(tmp_path, {})
    assert all(not r.left_behind for r in result.runs.values())
    assert "Left behind" not in {r.label for r in result.remarks}
    assert stored.run("ball detent", CRASH).left_behind == ()


def test_life_used_is_the_last_value_of_the_damage(tmp_path: Path, kernel: object) -> None:
    result, stored = demo(tmp_path, {PINS: "true"})
    for situation in result.situations:
        run = result.run("shear pins", situation)
        damage = next(s.values for s in run.own if s.name == "damage")
        assert of(run) == {"life used": pytest.approx(damage[-1])}
        assert of(stored.run("shear pins", situation)) == of(run)


@pytest.mark.parametrize("limit", ["0.5 K", "250 K"])
def test_magnets_once_too_hot_have_lost_field_for_good(tmp_path: Path, limit: str, kernel: object) -> None:
    """Torque goes with the square of the field; 2 % of the field for each kelvin beyond the limit, by hand."""
    magnets = 'candidates["magnet disc"]'
    changes = {f"{magnets}.heat_limit": limit, f"{magnets}.lasting_loss": "2 %/K", f"{magnets}.heat_capacity": "60 J/K",
               f"{magnets}.remanence_fade": "-0.11 %/K"}  # fmt: skip
    result, stored = demo(tmp_path, changes)
    run = result.run("magnet disc", CRASH)
    hottest = max(next(s.values for s in run.own if s.name == "hottest rise"))
    assert hottest > 2.0
    if limit == "250 K":
        assert run.left_behind == ()
        return
    assert of(run) == {"setting lost": pytest.approx(1.0 - (1.0 - 0.02 * (hottest - 0.5)) ** 2)}
    assert of(stored.run("magnet disc", CRASH)) == of(run)


@pytest.mark.parametrize("seat", ["500 rpm", "60 rpm"])
def test_a_detent_that_drops_in_again_sits_pockets_off(seat: str, kernel: object) -> None:
    """Against the twist of the trace, whole turns off; at a lower seat speed it is out still, nothing to say."""
    rubs = "tray rubs, then clears"
    changes = {
        'candidates["ball detent"].reset': "automatic",
        'candidates["ball detent"].pockets_every': "30 deg",
        'candidates["ball detent"].seat_speed': seat,
        f'situations["{rubs}"].drag': "9 kN",
    }
    scenario = api.read(find("bakery_tray_conveyor"), changes)
    result = api.run(kept(scenario, {"candidates": ["ball detent"], "situations": [rubs]}), evidence=False)
    run = result.run("ball detent", rubs)
    if seat == "60 rpm":
        assert run.left_behind == ()
        return
    turned = float(np.degrees(run.twist[-1]))
    assert of(run)["phase lost"] == pytest.approx(np.radians(30.0 * round(turned / 30.0) % 360.0), abs=1e-9)
    assert [r.text for r in result.remarks] == [f"'ball detent' after '{rubs}': phase lost 30 deg."]
