"""What charts say: true of what they draw, ties told as ties, words kept clear of what they lie on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from chart_boxes import outside, overlaps, words_of
from chart_hand import TIMES, hand_run, hand_set
from chart_samples import NAMES, result_set
from chart_timed import JAM, timed_set
from mates import SCREW
from matplotlib.figure import Figure

from simcore.api import run
from simcore.charts import base, limits
from simcore.charts.crash_data import crash_data
from simcore.charts.draw import SIZES, figure
from simcore.charts.energy_data import PROTECTION
from simcore.charts.energy_data import Bar as Share
from simcore.charts.energy_data import _title as energy_title
from simcore.charts.instants_data import Row, instants_data
from simcore.charts.instants_data import _title as instants_title
from simcore.charts.levels import dots_of, place_words
from simcore.charts.limits_data import limits_data
from simcore.charts.metrics import width
from simcore.charts.motion_data import motion_data
from simcore.charts.placement_data import placement_data
from simcore.charts.service_data import service_data
from simcore.charts.style import read_style
from simcore.charts.timeline import middle_of
from simcore.charts.timeline_data import Bar, timeline_data
from simcore.results.model import Margin, ResultSet
from simcore.scenario.read import read_text

FOUR = timed_set(4)
NEVER = float("nan")


@pytest.fixture(autouse=True)
def _styled():
    with read_style().active():
        yield


def _said(result: ResultSet, kind: str, size: str = "page") -> str:
    """All words of a chart, none of them over another or off the paper."""
    drawn = figure(result, kind, size=size)
    words = words_of(drawn)
    assert overlaps(drawn, words) == []
    assert outside(drawn, words) == []
    return " ".join(t for t, _ in words).replace("\u00a0", " ")


def elsewhere() -> ResultSet:
    """Four candidates, the last judged by another crash, where its peak is twice as high."""
    four = result_set(4)
    runs = dict(four.runs)
    for name in four.candidates:
        crash = four.runs[name, "tray jams"]
        factor = 2.0 if name == "magnet disc" else 0.5
        runs[name, "tray jams, empty"] = replace(
            crash, situation="tray jams, empty", peak=factor * crash.peak, torque=factor * crash.torque
        )
    last = four.answers[3]
    judged = replace(last, crash="tray jams, empty", lets_go=0.0523, peak=2.0 * last.peak)
    return replace(four, runs=runs, answers=(*four.answers[:3], judged))


ELSEWHERE = elsewhere()


@pytest.mark.parametrize("size", SIZES)
def test_a_number_from_another_situation_than_the_corner_s_names_it(size):
    said = {kind: _said(ELSEWHERE, kind, size) for kind in ("limits", "instants", "crash")}
    assert "tray jams (hard stop) unless" in said["limits"]
    assert "judged in \u201ctray jams, empty" in said["instants"]
    assert "more in \u201ctray jams, empty\u201d: " in said["crash"]
    starred = "*" in said["limits"]
    assert starred or "in \u201ctray jams, empty\u201d" in said["limits"]
    assert ("*: another" in said["limits"]) == starred


def test_small_cells_have_a_star_for_their_situation():
    data = limits_data(ELSEWHERE)
    cell = next(c for c in data.lines[3].cells if c.named)
    style = read_style()
    assert limits.cell_words(cell, (200.0, 20.0), style)[0].endswith("*")
    head, below = limits.cell_words(cell, (200.0, 30.0), style)
    assert not head.endswith("*")
    assert below[0].endswith("in \u201ctray jams, empty\u201d")
    assert limits.cell_words(cell, (70.0, 50.0), style)[1][1].startswith("in \u201ctray")
    assert limits.cell_words(cell, (30.0, 50.0), style)[1][0].endswith("*")


def band_elsewhere() -> ResultSet:
    """Four candidates, the worse end of the first one's band in another situation than all the rest."""
    four = result_set(4)
    first = replace(four.answers[0], worst_limit="tray chain", worst_situation="start with full trays")
    return replace(four, answers=(first, *(replace(a, worst_situation="tray jams") for a in four.answers[1:])))


@pytest.mark.parametrize("size", SIZES)
def test_the_worse_end_of_the_band_names_its_situation(size):
    said = _said(band_elsewhere(), "limits", size)
    assert "tray jams (hard stop) unless" in said
    starred = "*" in said
    assert starred or ("in \u201cstart with full trays\u201d" if size == "page" else "in \u201cstart w\u2026") in said
    assert ("*: another" in said) == starred


def test_low_rows_have_a_star_for_the_situation_of_the_band_s_end():
    first, second, *_ = limits_data(band_elsewhere()).lines
    assert (first.worst_in, second.worst_in) == ("start with full trays", "")
    style = read_style()
    assert limits.worst_words(first, (90.0, 15.0), style)[0].endswith("*")
    assert limits.worst_words(first, (90.0, 30.0), style)[1] == ["tray chain*"]
    assert limits.worst_words(first, (150.0, 50.0), style)[1] == ["tray chain", "in \u201cstart with full trays\u201d"]
    assert not any("*" in t for t in limits.worst_words(second, (90.0, 30.0), style)[1])


def test_long_names_of_motion_panels_go_on_a_second_line():
    names = ("magnetic hysteresis clutch", *NAMES[1:4])
    drawn = figure(result_set(4, names=names), "motion")
    said = [t for t, _ in words_of(drawn)]
    assert "clutch" in said
    assert not [t for t in said if t.endswith("\u2026")]


def test_words_at_a_level_break_before_they_cross_a_curve():
    """A curve that leaves room for half the words on either side: in two lines they fit, in one they would not."""
    ax = Figure(figsize=(3.0, 3.0)).add_axes((0.0, 0.0, 1.0, 1.0))
    ax.set_xlim(0.0, 1.0)
    ax.set_ylim(0.0, 1.0)
    text, x = "setting 3000 N·m ±6 to 10 %", (0.0, 0.3, 0.305, 0.7, 0.705, 1.0)
    curve = (np.array(x), np.array([0.0, 0.0, 1.0, 1.0, 0.0, 0.0]))
    place_words(ax, dots_of(ax, [curve]), [(text, 0.5)], read_style())
    (words,) = (t for t in ax.texts if t.get_text())
    assert words.get_text().replace("\u00a0", " ") == "setting 3000 N·m\n±6 to 10 %"
    assert words.get_path_effects()
    free = Figure(figsize=(3.0, 3.0)).add_axes((0.0, 0.0, 1.0, 1.0))
    place_words(free, np.zeros((0, 3)), [(text, 0.5)], read_style())
    assert [t.get_text().replace("\u00a0", " ") for t in free.texts] == [text]


def test_words_on_a_bar_keep_clear_of_instants():
    bar = Bar(0.0, 10.0, "on its curve", "works")
    assert middle_of(bar, 2.0, []) == middle_of(bar, 2.0, [1.0, 9.0]) == (5.0, False)
    assert middle_of(bar, 2.0, [4.5]) == (7.25, False)
    assert middle_of(bar, 4.0, [4.0, 6.5]) == (2.0, False)
    assert middle_of(bar, 4.0, [3.0, 6.5]) == (5.0, True)


def test_no_instant_strikes_through_the_words_of_a_bar():
    """Lines at the restart lie beside the words of the bars they cross."""
    drawn = figure(FOUR, "timeline")
    names = {b.words for lane in timeline_data(FOUR).lanes for row in lane.rows for b in row.bars}
    for ax in drawn.axes:
        at = {line.get_xdata()[0] for line in ax.lines if line.get_linestyle() == ":"}
        lines = [ax.transData.transform((x, 0.0))[0] for x in at]
        boxes = [b for t, b in words_of(drawn) if t in names and ax.bbox.x0 <= b[0] <= ax.bbox.x1]
        assert not [b for b in boxes for x in lines if b[0] < x < b[2]]


def test_a_bar_from_another_crash_than_the_corner_s_names_it():
    """Its peak is what the verdict rests on; the others are those of the corner."""
    other = {(c, "heavy batch"): r for (c, s), r in FOUR.runs.items() if s == JAM}
    answers = (*FOUR.answers[:3], replace(FOUR.answers[3], crash="heavy batch"))
    moved = replace(FOUR, answers=answers, runs={**FOUR.runs, **other})
    data = placement_data(moved)
    assert [s.where for s in data.stands] == ["", "", "", "heavy batch"]
    assert "hard stop) unless named" in data.frame.corner.replace("\u00a0", " ")
    assert "unless" not in placement_data(FOUR).frame.corner
    for size in SIZES:
        text = " ".join(t for t, _ in words_of(figure(moved, "placement", size=size)))
        assert "\u201cheavy batch\u201d" in text


def moved(speeds, off=None, broken=False):
    """What the motion chart says of five instants' speeds of the motor side; ``off``: record at which power goes."""
    run = hand_run()
    mode = run.mode.copy()
    mode[:, 0] = 1
    if off is not None:
        mode[off:, 0] = 0
    modes = ("off", "on its curve")
    motor = replace(run.connections[0], modes=modes, classes=("engaged", "engaged"))
    parts = [replace(c, classes=("engaged", "open")) if c.role == "candidate" and broken else c
             for c in run.connections[1:]]  # fmt: skip
    hub = np.column_stack([np.array(speeds, dtype=float), np.zeros(len(TIMES))])
    changed = replace(run, connections=(motor, *parts), mode=mode, hub_speed=hub)
    return motion_data(hand_set({("disc", "tray jams"): changed})).panels[0].words


def test_the_motion_chart_says_what_moves_the_motor_side():
    assert moved((6, 6, 6, 6, 6)) == "keeps turning"
    assert moved((6, 6, 6, 6, 6), broken=True) == "runs free"
    assert moved((6, 6, 6, 5, 4), off=2) == "coasts"
    assert moved((6, 6, 6, 5, 4), off=2, broken=True) == "coasts"
    assert moved((-6, -6, -6, -5, -4), off=2) == "coasts"
    assert moved((6, 6, 6, 2, -1), off=2) == "turns back"
    assert moved((6, 6, 2, -1, -1)) == "turns back"
    assert moved((6, 6, 2, -2, 2), off=2) == "swings to and fro"
    assert moved((6, 6, 6, 2, 0.1), off=2) == "stands"


def test_panels_of_other_shafts_have_their_own_scale():
    result = result_set(2)
    assert not motion_data(result).apart
    name = result.candidates[1]
    run = result.runs[name, "tray jams"]
    fast = replace(result, runs={**result.runs, (name, "tray jams"): replace(run, hub_speed=16.0 * run.hub_speed)})
    data = motion_data(fast)
    assert data.apart
    assert data.frame.subtitle.endswith("each with its own scale")
    slow, quick = data.panels
    assert slow.speeds[1] == pytest.approx(1.08 * 7.43 * 30 / np.pi, rel=0.02)
    assert quick.speeds[1] == pytest.approx(16.0 * slow.speeds[1], rel=0.05)
    for size in SIZES:
        _said(fast, "motion", size)


def rows(*disconnects):
    return [Row(n, i, 1.0, x, x, NEVER, 1.0, "") for i, (n, x) in enumerate(zip("abcd", disconnects, strict=False))]


def test_instants_title_names_all_that_are_first_to_the_digits_shown():
    told = {t: instants_title(r).replace("\u00a0", " ") for t, r in {
        "one": rows(16.4, 17.0), "two": rows(16.42, 29.0, 16.44), "all": rows(16.4, 16.4, 16.4),
    }.items()}  # fmt: skip
    assert told["one"] == "Disconnects first: a, 16.4 ms after contact"
    assert told["two"] == "Disconnect first: a and c, 16.4 ms after contact"
    assert told["all"] == "All 3 disconnect 16.4 ms after contact"
    slips = [r._replace(disconnect=NEVER) for r in rows(4.192, 4.188, 8.0)]
    assert instants_title(slips).replace("\u00a0", " ") == "Nothing disconnects; first to let go: a and b, at 4.19 ms"
    assert instants_title(slips[:2]).replace("\u00a0", " ") == "Nothing disconnects; both let go at 4.19 ms"


def test_energy_title_names_ties():
    def told(*heats):
        bars = [Share(n, i, (x,), 2 * x, 0.0) for i, (n, x) in enumerate(zip("abcd", heats, strict=False))]
        return energy_title(bars, (PROTECTION,)).replace("\u00a0", " ")

    assert told(2.88, 11.2, 2.881) == "Most energy in the protection itself: b, 11.2 J; least: a and c, 2.88 J"
    assert told(310.2, 310.4, 16.0) == "Most energy in the protection itself: a and b, 310 J; least: c, 16 J"
    assert told(310.2, 310.4) == "Both take 310 J in the protection itself"


def test_limits_service_and_crash_titles_name_ties():
    four = result_set(4)
    same = tuple(replace(a, use=3.06, worst_limit="tray chain") for a in four.answers)
    assert "306 % at tray chain (all 4)" in limits_data(replace(four, answers=same)).frame.title.replace("\u00a0", " ")
    two = (*same[:2], *(replace(a, use=1.0) for a in same[2:]))
    title = limits_data(replace(four, answers=two)).frame.title
    assert f"({same[0].name} and {same[1].name})" in title
    tight = tuple(replace(a, margins=tuple(m._replace(percent=12.0, met=True) for m in a.margins[:1]))
                  for a in four.answers)  # fmt: skip
    assert service_data(replace(four, answers=tight)).frame.title.endswith("(all 4)")
    runs = {k: replace(r, peak=four.runs[four.candidates[0], k[1]].peak) if k[0] != base.BARE else r
            for k, r in four.runs.items()}  # fmt: skip
    title = crash_data(replace(four, runs=runs, allowable=NEVER)).frame.title
    assert "with all 4;" in title


def test_what_the_verdict_says_of_another_crash_is_not_said_of_this_one():
    answers = (*ELSEWHERE.answers[:3], replace(ELSEWHERE.answers[3], disconnects="does not let go"))
    row = instants_data(replace(ELSEWHERE, answers=answers)).rows[3]
    assert row.words == "slips, does not disconnect"
    assert row.elsewhere.replace("\u00a0", " ") == "judged in \u201ctray jams, empty\u201d: lets go at 52.3 ms"


def test_limits_title_says_when_its_figure_stands_in_no_cell():
    four = result_set(4)

    def title(use, at="tray chain"):
        answers = tuple(replace(a, use=use, worst_limit=at) for a in four.answers)
        return limits_data(replace(four, answers=answers)).frame.title.replace("\u00a0", " ")

    assert "97 % at tray chain at the worse end of the band (all 4)" in title(0.97)
    assert "end of the band" not in title(3.06)  # it says "within the band" already
    data = limits_data(four)
    shafts = [c.name for c in data.columns].index("head shaft")
    assert "end of the band" not in title(max(x.cells[shafts].use for x in data.lines if x.place >= 0), "head shaft")
    assert "end of the band" not in title(0.1)


def test_a_narrow_cell_cuts_off_the_unit_and_no_digits():
    size = read_style().small
    room = width("3660", size) + 0.5
    assert limits.whole_number("3660\u00a0N", room, size) == "3660"
    assert limits.whole_number("3660\u00a0N", room + 9.0, size) == "3660\u00a0N"
    assert limits.whole_number("3660\u00a0N", width("36", size), size) == "\u2026"
    assert limits.whole_number("over", room, size) == "over"


def service_of(*asked: tuple[str, tuple[bool, ...]], words: str = "", holds: float = 306.0) -> ResultSet:
    """Candidates that meet each situation or not."""
    four = result_set(4)
    answers = tuple(
        replace(a, margins=tuple(Margin(s, "hold", met[i], 200.0, holds, 106.0, NEVER if words else 53.0, words)
                                 for s, met in asked))
        for i, a in enumerate(four.answers)
    )  # fmt: skip
    return replace(four, answers=answers)


def test_the_service_title_says_who_fails_where_and_keeps_its_quotation_marks():
    long = "bottle rubs at the rail and after a while frees itself"
    title = service_data(service_of(("full start", (False, False, False, True)), (long, (True, True, True, False))))
    assert title.frame.title == "Not fit for “full start”: 3 of 4; for “bottle rubs at the rail and a…”: magnet disc"
    pins = (True, True, False, True)
    both = service_data(service_of(("start", pins), ("rub", pins))).frame.title
    assert both == "Not fit for “start” and “rub”: shear pins; the others hold"
    three = service_data(service_of(*((s, pins) for s in ("start", "rub", "soft start")))).frame.title
    assert three == "Not fit for “start” and 2 more: shear pins; the others hold"


def test_all_lines_of_a_failing_service_are_bold():
    told = "does not hold even at four times the setting, nor at eight times of it, the largest one tried"
    result = service_of(("full start", (False,) * 4), ("rub", (True,) * 4), words=told)
    texts = [t for ax in figure(result, "service").axes for t in ax.texts if t.get_text() and t.get_text() in told]
    assert len(texts) > 8
    by_panel = {id(t.axes): [] for t in texts}
    for t in texts:
        by_panel[id(t.axes)].append(t.get_weight())
    assert sorted(map(set, by_panel.values()), key=str) == [{"bold"}, {"normal"}]


@pytest.mark.parametrize("size", SIZES)
def test_every_tick_of_the_service_chart_has_its_number(size):
    four = service_of(("full start", (True,) * 4), ("rub", (True,) * 4), holds=352.0)
    answers = tuple(replace(a, tolerance=0.05) for a in four.answers)
    drawn = figure(replace(four, answers=answers), "service", size=size)
    drawn.draw_without_rendering()
    shown = [[t.get_text() for t in ax.get_xticklabels()] for ax in drawn.axes]
    assert all(all(texts) for texts in shown)
    assert "400" in shown[0]


def test_service_calls_a_start_that_never_comes_up_by_the_name_of_the_verdict(kernel):
    """The motor's torque itself is what the chain senses: it takes the drive off while the detent holds."""
    text = SCREW.replace("PRETENSION", 'pretension = "900 N"').replace("SETTING", "3 kN*m")
    text += 'situations.start = {event = "start"}\nstops.watch = {senses = "torque", of = "motor", torque = "50 N*m"}\n'
    result = run(read_text(text, "screw.toml"))
    assert any(r.startswith("does not come up to speed in 'start'") for r in result.answers[0].reasons)
    (item,) = next(s for s in service_data(result).services if s.situation == "start").items
    assert item.brief.endswith("stays slow")
    assert "trips" not in item.words + item.brief
