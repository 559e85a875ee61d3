"""Numbers of the charts against numbers reckoned by hand."""

from __future__ import annotations

from dataclasses import replace
from math import isnan, nan, pi

import numpy as np
import pytest
from chart_hand import TIMES, hand_answer, hand_run, hand_set
from chart_samples import NAMES, many_set, result_set

from simcore.charts import base
from simcore.charts.crash_data import crash_data
from simcore.charts.energy_data import DRIVE, KEPT, PROTECTION, energy_data
from simcore.charts.instants_data import SLIPS, Row, _title, instants_data
from simcore.charts.limits_data import limits_data
from simcore.charts.motion_data import motion_data
from simcore.charts.service_data import service_data
from simcore.results.model import BARE, Margin


def test_crash_curves_are_in_ms_and_the_shown_unit():
    data = crash_data(hand_set(unit="kN*m"))
    disc = data.curves[0]
    assert disc.long[0] == pytest.approx(1e3 * TIMES)
    assert disc.long[1] == pytest.approx([0.1, 0.1, 0.35, 0.3, 0.3])
    assert disc.peak == pytest.approx(0.35)
    assert disc.trigger == pytest.approx((10.0, 0.35))
    assert isnan(disc.disconnect.time)
    assert data.allowable == pytest.approx(0.6)
    assert data.axis == "torque at head shaft (kN·m)"


def test_crash_title_says_who_keeps_the_limit():
    assert crash_data(hand_set()).frame.title == (
        "Disc keeps the head shaft below 600\u00a0N·m; without protection it sees 800"
    )
    assert "does not keep" in crash_data(hand_set(allowable=300.0)).frame.title
    assert "even without protection" in crash_data(hand_set(allowable=900.0)).frame.title
    assert "Lowest peak" in crash_data(hand_set(allowable=nan)).frame.title
    four = crash_data(result_set(4)).frame.title
    assert four.startswith("All 4 keep")


def test_crash_level_is_the_setting_with_its_band_at_the_protected_shaft():
    (level,) = crash_data(hand_set()).levels
    assert (level.value, level.low, level.high) == pytest.approx((340.0, 306.0, 374.0))
    assert level.text == "setting 340\u00a0N·m ±10\u00a0%"
    geared = hand_set(answers=(hand_answer(setting=17.0, to_protected=20.0),))
    (level,) = crash_data(geared).levels
    assert level.value == pytest.approx(340.0)
    assert level.text.endswith("(own shaft 17\u00a0N·m)")


def test_many_different_settings_become_one_range():
    result = result_set(8)
    answers = tuple(replace(a, setting=300.0 + 10 * i, tolerance=0.1) for i, a in enumerate(result.answers))
    (level,) = crash_data(replace(result, answers=answers)).levels
    assert (level.low, level.high) == pytest.approx((270.0, 407.0))
    assert "300 to 370" in level.text


def test_crash_turns_a_line_that_runs_backward_the_right_way_up():
    run, bare = hand_run(torque=(-100, -100, -350, -300, -300)), hand_run(BARE, (-100, -100, -400, -800, 0))
    data = crash_data(hand_set({("disc", "tray jams"): run, (BARE, "tray jams"): bare}))
    assert max(data.curves[1].long[1]) == pytest.approx(800.0)


def test_instants_in_ms_and_never_as_nan():
    (row,) = instants_data(hand_set()).rows
    assert (row.trigger, row.lets_go, row.peak) == pytest.approx((10.0, 10.0, 10.0))
    assert isnan(row.disconnect)
    assert row.words == "slips, does not disconnect"
    data = instants_data(result_set(4))
    assert [r.words for r in data.rows] == [
        "slips, does not disconnect",
        "",
        "",
        "slips, does not disconnect",
    ]
    assert data.frame.title.startswith("Disconnects first: shear pins") or "ball detent" in data.frame.title
    assert "2 of 4 slip and never disconnect" in data.frame.title


def test_what_lets_go_without_slipping_is_not_said_to_slip():
    """A ratchet is open and still in touch: it lets go, it does not slip."""
    words = ("lets go, does not disconnect", "slips, does not disconnect")
    rows = [Row(f"r{i}", i, 1.0, 2.0, nan, nan, 1.0, w) for i, w in enumerate(words)]
    assert _title([*rows, Row("off", 2, 1.0, 2.0, 3.0, nan, 1.0, "")]).endswith("2 of 3 let go and never disconnect")


def test_what_slips_by_intent_did_not_let_go_at_the_contact():
    rows = [Row(n, i, 0.0, 0.0, nan, nan, 1.0, SLIPS) for i, n in enumerate(("one", "other"))]
    assert _title(rows) == "All slip before contact already; nothing disconnects"
    assert _title([*rows, Row("late", 2, 1.0, 2.0, nan, nan, 1.0, SLIPS)]).startswith("2 of 3 slip before contact")
    assert _title(rows[:1]) == "one slips before contact already; nothing disconnects"


def test_instants_far_apart_get_a_logarithmic_axis():
    result = hand_set()
    runs = dict(result.runs)
    runs["slow", "tray jams"] = hand_run("slow", measures={"trigger": 0.9, "lets_go": 1.0, "disconnect": 1.2})
    data = instants_data(replace(result, runs=runs))
    assert data.log
    assert data.start > 0
    assert not instants_data(result).log


def test_motion_speeds_twist_and_modes():
    data = motion_data(hand_set())
    (panel,) = data.panels
    assert panel.drive[1][0] == pytest.approx(60.0)  # 2 pi rad/s is one turn a second
    assert panel.load[1][-1] == pytest.approx(0.0)
    assert data.twist_unit == "°"
    assert panel.twist[1][3] == pytest.approx(1.0)
    assert [s.klass for s in panel.spans] == ["engaged", "slipping"]
    assert panel.spans[1].start == pytest.approx(10.0)
    assert panel.words == "keeps turning"


def test_large_twist_is_shown_in_turns():
    run = hand_run(twist=np.array([0, 0, 6 * pi, 8 * pi, 20 * pi]))
    data = motion_data(hand_set({("disc", "tray jams"): run}))
    assert data.twist_unit == "turns"
    assert data.panels[0].twist[1][2] == pytest.approx(3.0)


def test_energy_sums_to_what_was_turned_over():
    data = energy_data(hand_set())
    bar = data.bars[0]
    by = dict(zip(data.entries, bar.energies, strict=True))
    assert by[PROTECTION] == 30.0
    assert by["hard stop"] == 15.0
    assert by[DRIVE] == pytest.approx(4.0)  # 54 J given, 50 J net
    assert by[KEPT] == 20.0
    assert sum(bar.energies) == pytest.approx(104.0)
    assert bar.total == 114.0
    assert bar.residual == pytest.approx(1e-3 / 114.0)


def test_small_parts_are_summed_and_none_is_lost():
    lost = np.array([-50.0, 0.1, 30.0, 0.2, 0.3, 20.0, 15.0])
    data = energy_data(hand_set({("disc", "tray jams"): hand_run(lost=lost)}))
    assert "other parts" in data.entries
    by = dict(zip(data.entries, data.bars[0].energies, strict=True))
    assert by["other parts"] == pytest.approx(0.6)
    assert sum(data.bars[0].energies) == pytest.approx(65.6 + 4.0 + 20.0)


def test_limits_take_the_largest_peak_of_all_situations():
    result = hand_set()
    runs = dict(result.runs)
    other = hand_run(torque=(100, 100, 480, 300, 300), situation="full start")
    runs["disc", "full start"] = other
    data = limits_data(replace(result, runs=runs))
    column = [c.name for c in data.columns].index("head shaft")
    assert data.columns[column].protected
    assert data.lines[0].cells[column].use == pytest.approx(0.8)
    assert data.lines[0].cells[column].situation == "full start"
    assert data.lines[-1].cells[column].use == pytest.approx(800 / 600)
    assert data.frame.title == (
        "No limit is exceeded: at most 80\u00a0% at head shaft (disc); without protection 133\u00a0%"
    )


def test_limits_title_counts_the_band_end_too():
    data = limits_data(hand_set(answers=(hand_answer(worst_limit="gearbox"),)))
    assert "at most 70\u00a0% at gearbox" in data.frame.title
    over = limits_data(hand_set(answers=(replace(hand_answer(), use=1.04),)))
    assert over.frame.title.startswith("1 of 1 exceeds a limit within the band of setting: up to 104\u00a0%")


def test_service_margins_at_the_protected_shaft():
    data = service_data(hand_set(answers=(hand_answer(setting=340.0, to_protected=20.0),)))
    assert [s.situation for s in data.services] == ["full start", "tray rubs"]
    item = data.services[0].items[0]
    assert (item.asks, item.setting, item.low, item.high) == pytest.approx((4000.0, 6800.0, 6120.0, 7480.0))
    assert item.words.replace("\u00a0", " ") == "low end +2120 N·m, +53 %"
    assert item.brief == "+53\u00a0%"
    failed = data.services[1].items[0]
    assert isnan(failed.asks)
    assert failed.words == "fails even at 4 times the setting"
    assert failed.brief == "fails"
    assert data.frame.title == "Not fit for “tray rubs”: disc"
    assert data.names[0][2] == "6800\u00a0N·m ±10\u00a0%, own shaft 340\u00a0N·m"


def test_service_margins_at_nominal_and_both_ends_of_the_band():
    """340 N*m within 10 %, 200 asked: 306, 340 and 374 less 200."""
    item = service_data(hand_set(answers=(hand_answer(setting=340.0),))).services[0].items[0]
    texts = [item.words, *(long for long, _ in item.more), *(short for _, short in item.more)]
    assert [t.replace("\u00a0", " ") for t in texts] == [
        "low end +106 N·m, +53 %", "nominal +140 N·m, +70 %", "high end +174 N·m, +87 %",
        "nominal +70 %", "high end +87 %",
    ]  # fmt: skip


def test_service_band_is_that_of_the_situation_s_corner():
    """A disc worn from 340 to 300 N*m holds 270 to 330, whatever it held when new."""
    answer = hand_answer(setting=340.0)
    worn = Margin("worn start", "hold", True, 200.0, 270.0, 70.0, 35.0, "")
    data = service_data(hand_set(answers=(replace(answer, margins=(*answer.margins, worn)),)))
    item = next(s for s in data.services if s.situation == "worn start").items[0]
    assert (item.setting, item.low, item.high) == pytest.approx((300.0, 270.0, 330.0))
    texts = [item.words, *(long for long, _ in item.more)]
    assert [t.replace("\u00a0", " ") for t in texts] == [
        "low end +70 N·m, +35 %", "nominal +100 N·m, +50 %", "high end +130 N·m, +65 %",
    ]  # fmt: skip


def test_corner_names_setting_jam_and_version():
    text = base.corner(result_set(4), "tray jams").replace("\u00a0", " ")
    assert text == "setting 340 N·m ±5 to 10 %  |  tray jams (hard stop)  |  simcore 0.1.0"


def test_a_candidate_keeps_its_place_in_every_chart():
    result = result_set(8)
    want = {n: i for i, n in enumerate(NAMES)}
    assert {c.name: c.place for c in crash_data(result).curves if c.place >= 0} == want
    assert {r.name: r.place for r in instants_data(result).rows} == want
    assert {p.name: p.place for p in motion_data(result).panels} == want
    assert {b.name: b.place for b in energy_data(result).bars if b.place >= 0} == want
    assert {x.name: x.place for x in limits_data(result).lines if x.place >= 0} == want
    assert {n: p for n, p, _ in service_data(result).names} == want


@pytest.mark.parametrize("count", [9, 16, 20])
def test_many_candidates_stand_in_the_order_of_their_rank_in_every_chart(count):
    result = many_set(count)
    want = {a.name: a.rank - 1 for a in result.answers}
    assert {c.name: c.place for c in crash_data(result).curves if c.place >= 0} == want
    assert {r.name: r.place for r in instants_data(result).rows} == want
    assert {p.name: p.place for p in motion_data(result).panels} == want
    assert {b.name: b.place for b in energy_data(result).bars if b.place >= 0} == want
    assert {x.name: x.place for x in limits_data(result).lines if x.place >= 0} == want
    assert {n: p for n, p, _ in service_data(result).names} == want
    assert [r.place for r in instants_data(result).rows] == list(range(count))


def test_verdicts_stand_in_for_looks_only_where_looks_run_out():
    assert crash_data(result_set(8)).frame.verdicts == ()
    result = many_set(9)
    passed = {a.name: a.passed for a in result.answers}
    verdicts = crash_data(result).frame.verdicts
    assert verdicts == tuple(passed[n] for n in base.shown_candidates(result))
    assert verdicts == tuple(sorted(verdicts, reverse=True))
    assert {True, False} == set(verdicts)
    assert base.verdicts(replace(result, answers=())) == (None,) * 9


def test_each_of_many_carries_its_own_setting():
    result = many_set(16)
    settings = {a.name: a.setting for a in result.answers}
    for c in crash_data(result).curves:
        if c.place >= 0:
            assert c.level.value == pytest.approx(settings[c.name])
        else:
            assert c.level is None


def test_service_takes_the_tightest_situations_that_have_room():
    data = service_data(many_set(9), 2)
    assert [s.situation for s in data.services] == ["full start", "tray rubs, then clears"]
    assert "the tightest 2 of 3 situations" in data.frame.subtitle


@pytest.mark.parametrize(
    ("share", "text"), [(0.719, "72 %"), (0.0123, "1.2 %"), (1.33, "133 %"), (0.0, "0 %"), (nan, "n/a")]
)
def test_percent(share, text):
    assert base.percent(share).replace("\u00a0", " ") == text


@pytest.mark.parametrize(("energy", "text"), [(1234.0, "1.23 kJ"), (0.0456, "45.6 mJ"), (0.0, "0 J"), (999.9, "1 kJ")])
def test_joules(energy, text):
    assert base.joules(energy).replace("\u00a0", " ") == text
