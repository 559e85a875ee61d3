"""Charts and first screen of sweeps: numbers by hand, words that never overlap, the same bytes every time."""

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from sweep_samples import NAMES, limited, linear, made, paired

sys.path.append(str(Path(__file__).parents[1] / "charts"))
from chart_boxes import outside, overlaps, words_of

from simcore.charts.draw import FORMATS
from simcore.charts.style import read_style
from simcore.charts.sweep_draw import PAIR, SWEEP_KINDS, draw_sweep, sweep_figure
from simcore.charts.sweep_exceedance_data import exceedance_data
from simcore.charts.sweep_map import map_page
from simcore.charts.sweep_map_data import map_data
from simcore.charts.sweep_matters_data import matters_data
from simcore.charts.sweep_pair_data import pair_data
from simcore.charts.sweep_times_data import times_data
from simcore.charts.sweep_tradeoff_data import _title as title_of
from simcore.charts.sweep_tradeoff_data import tradeoff_data
from simcore.charts.sweep_window_data import window_data
from simcore.screen.first import CAUTION
from simcore.screen.sweep import sweep_screen
from simcore.screen.words import plain, width
from simcore.sweep import cases
from simcore.sweep.decide import decide
from simcore.sweep.result import SweepResult
from simcore.sweep.wording import only_bound

LONG = tuple(f"Sicherheitskupplung Größe {i} mit außergewöhnlich langem Namen und Zusatz" for i in range(8))
TITLE = "Waschtrommel mit Gegenstrom und Heißmangel in der Großwäscherei, Linie 3, nach dem Umbau im Frühjahr"


def _never(result: SweepResult) -> SweepResult:
    nothing = np.full_like(result.measures["disconnect"], np.nan)
    return replace(result, measures={**result.measures, "disconnect": nothing})


def sets() -> dict[str, SweepResult]:
    eight = made(8, 300, fails=0.01)
    return {
        "one": made(1, 400),
        "four": made(4, 400, fails=0.002),
        "eight": eight,
        "long names": replace(
            eight, candidates=LONG, title=TITLE, unit="lbf*in", protect="Abtriebswelle des Getriebes"
        ),
        "no window": made(2, 300, allowable=205.0),
        "two grids": made(3, 200, speeds=3),
        "paired": paired(60),
        "counted": made(5, 200, scenario_text=""),
        "no allowable": replace(made(2, 200), allowable=float("nan")),
        "never": _never(made(3, 200)),
        "one setting": linear(400, 700.0)[0],
        "seven": made(7, 200),
        "limits": limited(8, 200),
        "most failed": made(2, 100, fails=0.6),
    }


SETS = sets()
ANSWERS = {name: decide(result) for name, result in SETS.items()}


@pytest.fixture(autouse=True)
def _styled():
    with read_style().active():
        yield


COLUMNS = ("one", "four", "eight", "long names", "two grids", "limits")
DRAWN = [(name, size) for size in ("page", "column") for name in (SETS if size == "page" else COLUMNS)]


@pytest.mark.parametrize("kind", [*SWEEP_KINDS, PAIR])
@pytest.mark.parametrize(("name", "size"), DRAWN)
def test_words_lie_apart_and_on_the_paper(name: str, kind: str, size: str) -> None:
    drawn = sweep_figure(SETS[name], kind, size=size, decision=ANSWERS[name])
    words = words_of(drawn)
    assert overlaps(drawn, words) == []
    assert outside(drawn, words) == []
    wide, _ = drawn.get_size_inches() * 25.4
    assert wide == pytest.approx(180.0 if size == "page" else 85.0)


@pytest.mark.parametrize("kind", [*SWEEP_KINDS, PAIR])
def test_every_chart_says_what_it_stands_on(kind: str) -> None:
    result = SETS["eight"]
    bad = cases.tally(result)[1]
    text = " ".join(t for t, _ in words_of(sweep_figure(result, kind, decision=ANSWERS["eight"])))
    text = text.replace("\u00a0", " ")
    assert "21,600 cases (8 candidates × 9 cells × 300 draws)" in text
    assert f"64,800 runs (3 situations a case), {bad:,} failed" in text
    assert result.title[:20] in text


def test_files_are_the_same_bytes_again(tmp_path: Path) -> None:
    result = SETS["four"]
    for form in FORMATS:
        one = draw_sweep(result, tmp_path / "a", [form], ["window", "map"])
        two = draw_sweep(result, tmp_path / "b", [form], ["window", "map"])
        assert [p.name for p in one] == [f"sweep-window.{form}", f"sweep-map.{form}"]
        assert [p.read_bytes() for p in one] == [p.read_bytes() for p in two]


def test_wrong_names_are_refused_with_the_nearest(tmp_path: Path) -> None:
    result = SETS["one"]
    with pytest.raises(ValueError, match="did you mean 'window'"):
        draw_sweep(result, tmp_path, only=["windw"])
    with pytest.raises(ValueError, match="did you mean 'jam stiffness'"):
        sweep_figure(result, PAIR, x="jam stifness")
    with pytest.raises(ValueError, match="the map takes"):
        sweep_figure(result, "map", x="peak")


def test_window_numbers_are_the_decision() -> None:
    result = SETS["four"]
    data = window_data(result, ANSWERS["four"])
    assert [p.head.who.name for p in data.panels] == list(NAMES[:4])
    chosen = {c.name: c for c in ANSWERS["four"].choices}
    for p in data.panels:
        c = chosen[p.head.who.name]
        assert p.chosen == pytest.approx(c.setting)
        np.testing.assert_allclose(p.likely, (c.kept.low, c.kept.high))
        hits = cases.damage(result, c.candidate)[:, 0]
        assert p.damage.share[-1] == pytest.approx(np.nanmean(hits[-1]), abs=0.01)


def test_units_follow_the_sweep() -> None:
    data = window_data(SETS["long names"], ANSWERS["long names"])
    plain_one = window_data(SETS["eight"], ANSWERS["eight"])
    factor = 1.0 / 0.1129848290276167  # one lbf in in N m: 4.4482216152605 x 0.0254, exact by definition
    assert data.panels[0].chosen == pytest.approx(factor * plain_one.panels[0].chosen)
    assert "lbf·in" in data.axis


def test_exceedance_is_one_minus_the_empirical_distribution() -> None:
    result, exact = linear(4000, 700.0)
    data = exceedance_data(result, decide(result))
    (curve,) = data.curves
    above = float(curve.share[np.searchsorted(curve.peak, 700.0)])
    assert above == pytest.approx(exact, abs=0.015)
    assert curve.share[0] == 1.0
    assert np.all((curve.low <= curve.share) & (curve.share <= curve.high))


def test_map_cells_are_quantiles_of_their_cases() -> None:
    result = SETS["two grids"]
    data = map_data(result, ANSWERS["two grids"], x="setting", y="running speed")
    peak = result.measures["peak"][0, 2, 1, :, 0]
    assert data.maps[0].peak[1, 2] == pytest.approx(np.quantile(peak, 0.95, method="inverted_cdf"))
    assert data.maps[0].x == pytest.approx(result.setting[0, :, 0])
    assert np.all(np.diff(data.maps[0].peak, axis=1) > 0)
    assert np.all(np.diff(data.maps[0].peak, axis=0) > 0)


def test_map_over_a_scatter_factor_uses_equally_filled_classes() -> None:
    result = SETS["one"]
    m = map_data(result, ANSWERS["one"]).maps[0]
    k = result.samples["jam stiffness"]
    highest = k >= np.sort(k)[-(len(k) // len(m.y)) :][0]
    peak = result.measures["peak"][0, -1, :, 0][highest]
    assert m.peak[-1, -1] == pytest.approx(np.quantile(peak, 0.95, method="inverted_cdf"), rel=0.02)


def test_tradeoff_front_is_beaten_by_nobody() -> None:
    data = tradeoff_data(SETS["eight"], ANSWERS["eight"])
    every = [(u, t) for p in data.candidates for u, t in zip(p.use, p.time, strict=True)]
    for p in data.candidates:
        for u, t, on in zip(p.use, p.time, p.fast, strict=True):
            assert on == (not any(a <= u and b <= t and (a < u or b < t) for a, b in every))


def test_tradeoff_praises_nobody_above_its_limit() -> None:
    """206 N*m may be borne: as chosen the best passes it, so the title names none as unbeaten."""
    over = made(4, 300, allowable=205.0)
    data = tradeoff_data(over, decide(over))
    least = min(p.use[p.chosen] for p in data.candidates)
    assert least > 100.0
    best = next(p.who.name for p in data.candidates if p.use[p.chosen] == least)
    title = data.frame.title.replace("\u00a0", " ")
    assert title == f"As chosen none stays below its limit: at best {least:.0f} % of it ({best})"
    p = data.candidates[0]
    flags = np.ones(len(p.use), dtype=bool)
    low, high = (p._replace(fast=flags, quiet=flags, use=np.full_like(p.use, u), who=p.who._replace(name=n))
                 for u, n in ((60.0, "low"), (454.0, "high")))  # fmt: skip
    assert title_of([low, high]) == "As chosen, nothing below its limit beats low in peak, time and nuisance"
    assert "high" not in title_of([low._replace(fast=~flags, quiet=~flags), high])
    assert title_of([low]) == "As chosen, nothing beats low in peak, time and nuisance"


@pytest.mark.parametrize("size", ["page", "column"])
@pytest.mark.parametrize("name", ["four", "eight", "limits"])
def test_no_name_lies_on_the_steps_of_the_front(name: str, size: str) -> None:
    drawn = sweep_figure(SETS[name], "trade-off", size=size, decision=ANSWERS[name])
    names = [b for t, b in words_of(drawn) if t in NAMES]
    for ax in drawn.axes[:2]:
        steps = next(line for line in ax.lines if line.get_linewidth() == 2.6)
        xy = ax.transData.transform(np.column_stack(steps.get_data()))
        for (x0, y0), (x1, y1) in pairwise(xy):
            low, high = (min(x0, x1), min(y0, y1)), (max(x0, x1), max(y0, y1))
            on = [b for b in names if b[0] < high[0] and b[2] > low[0] and b[1] < high[1] and b[3] > low[1]]
            assert on == []


def test_map_of_different_settings_has_numbers_on_every_panel() -> None:
    """Nominal settings of 190 and 193.8 N*m: one row of numbers would be wrong for the second."""
    result = made(2, 400)
    style = read_style()
    own = map_page(map_data(result, decide(result), "jam stiffness", "setting"), style)
    first, second = own.axes[:2]
    assert first.get_ylim() != second.get_ylim()
    assert second.yaxis.get_tick_params()["labelleft"]
    assert all(t == round(t, -1) for t in first.get_yticks())
    shared = map_page(map_data(result, decide(result), "setting", "wet load"), style)
    assert not shared.axes[1].yaxis.get_tick_params()["labelleft"]
    for drawn in (own, shared):
        assert overlaps(drawn) == []
        assert outside(drawn) == []


@pytest.mark.parametrize("name", ["one", "eight"])
def test_tradeoff_shows_no_share_that_the_sample_cannot_support(name: str) -> None:
    data, decision = tradeoff_data(SETS[name], ANSWERS[name]), ANSWERS[name]
    bounds = 0
    for p in data.candidates:
        choice = next(c for c in decision.choices if c.name == p.who.name)
        for setting, share in zip(cases.setting_axis(SETS[name], choice.candidate).settings, p.nuisance, strict=True):
            odds = choice.nuisance.at(float(setting))
            bounds += only_bound(odds)
            assert share == max(odds.high if only_bound(odds) else odds.share, data.floor)
    assert bounds


def test_times_count_never_and_failed_apart() -> None:
    data = times_data(SETS["eight"], ANSWERS["eight"])
    fifth = data.rows[4]
    assert len(fifth.times) == 0
    assert fifth.cells[0] == "never"
    ok = int(fifth.cells[2].replace(",", ""))
    assert fifth.cells[3].startswith(f"{ok:,}")
    assert data.rows[0].median.low <= data.rows[0].median.value <= data.rows[0].median.high


def test_matters_has_indices_when_paired_and_shares_when_not() -> None:
    result = paired(400)
    data = matters_data(result, decide(result))
    bars = {b.name: b for b in data.panels[0].bars}
    assert data.panels[0].paired
    assert bars["jam stiffness"].total.value == pytest.approx(0.9, abs=0.04)
    assert bars["jam stiffness"].first.low < 0.9 < bars["jam stiffness"].first.high
    plain_one = matters_data(SETS["four"], ANSWERS["four"]).panels[0]
    assert np.isnan(plain_one.bars[0].total.value)
    assert plain_one.bars[0].name == "jam stiffness"
    assert plain_one.bars[0].low < plain_one.middle < plain_one.bars[0].high


def test_pair_by_thirds_counts_every_case_once() -> None:
    data = pair_data(SETS["one"], ANSWERS["one"], x="jam stiffness", y="use", by="wet load")
    assert [c.who.name for c in data.clouds] == ["lowest third", "middle third", "highest third"]
    assert sum(len(c.x) for c in data.clouds) == 400
    assert data.y_label == "peak over allowable (%)"


@pytest.mark.parametrize("columns", [40, 60, 80, 100])
@pytest.mark.parametrize("name", SETS)
def test_screen_fits_and_answers_first(name: str, columns: int) -> None:
    lines = sweep_screen(SETS[name], columns, ["sweep-1/sweep.h5"], ANSWERS[name])
    text = plain(lines)
    assert max(width(line) for line in text.splitlines()) <= columns
    flat = " ".join(text.split())
    assert " ".join(ANSWERS[name].sentence.split()) in flat
    assert CAUTION[:40] in flat
    assert "failed" in flat
    for c in ANSWERS[name].choices:
        assert c.name.split()[0] in flat


def test_screen_in_one_piece_at_a_hundred_columns() -> None:
    text = plain(sweep_screen(SETS["eight"], 100, decision=ANSWERS["eight"]))
    assert text.count("protection ") == 1
    assert "jam stiffness" in text
    assert "wet load" in text
    assert "Choose" not in plain(sweep_screen(SETS["no window"], 100, decision=ANSWERS["no window"]))
