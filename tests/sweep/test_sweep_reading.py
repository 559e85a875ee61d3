"""What a reader must not be led to believe: cells without data, odds on too few cases, inputs that decide."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from sweep_samples import TEXT, made

sys.path.append(str(Path(__file__).parents[1] / "charts"))
from chart_boxes import outside, overlaps, words_of

from simcore.charts.style import read_style
from simcore.charts.sweep_draw import sweep_figure
from simcore.charts.sweep_exceedance import draw_exceedance
from simcore.charts.sweep_exceedance_data import exceedance_data
from simcore.charts.sweep_map import FAILED, NO_DATA
from simcore.charts.sweep_map_data import map_data
from simcore.charts.sweep_matters_data import matters_data
from simcore.charts.sweep_window import draw_window
from simcore.charts.sweep_window_data import window_data
from simcore.screen.sweep import sweep_screen
from simcore.screen.words import plain
from simcore.sweep import cases
from simcore.sweep.decide import decide
from simcore.sweep.result import SweepResult
from simcore.sweep.sensitivity import explained, explains
from simcore.sweep.statistics import most_if_none_seen

ACTS = "['candidates[*].setting']\ntimes = true\nscatter"
EXACT = TEXT.replace(ACTS, ACTS.replace("candidates[*].setting", 'line["rails"].running'))
"""The same sweep, in which nothing scatters the setting."""


@pytest.fixture(autouse=True)
def _styled():
    with read_style().active():
        yield


def axes() -> object:
    from matplotlib.figure import Figure

    return Figure().add_subplot()


def said(result: SweepResult, kind: str, size: str = "page", **choice: str) -> str:
    drawn = sweep_figure(result, kind, size=size, **choice)
    words = words_of(drawn)
    assert overlaps(drawn, words) == []
    assert outside(drawn, words) == []
    return " ".join(t for t, _ in words).replace("\u00a0", " ")


def partly_failed(draws: int = 60) -> SweepResult:
    result = made(2, draws)
    status = result.status.copy()
    status[0, :3, :, 0] = 5
    measures = {n: np.where(status > 1, np.nan, v) for n, v in result.measures.items()}
    return replace(result, status=status, measures=measures)


@pytest.mark.parametrize("size", ["page", "column"])
def test_failed_cells_of_a_map_are_hatched_and_named(size: str) -> None:
    result = partly_failed()
    data = map_data(result, decide(result))
    m = data.maps[0]
    assert m.failed[:, :3].all()
    assert not m.failed[:, 3:].any()
    assert not data.maps[1].failed.any()
    drawn = sweep_figure(result, "map", size=size)
    hatches = [p.get_hatch() for ax in drawn.axes for p in ax.patches]
    assert hatches.count(FAILED) == m.failed.sum() + 1  # and the sign in the key
    assert NO_DATA not in hatches
    text = said(result, "map", size)
    assert " failed" in text
    assert "no data" not in text


def test_cells_with_too_few_cases_are_no_data() -> None:
    result = made(1, 6)
    text = said(result, "map")
    assert "no data" in text
    assert "Too few cases for a map" in text


def test_the_contour_is_drawn_beside_failed_cells() -> None:
    result = partly_failed()
    low, high = (float(f(map_data(result, decide(result)).maps[0].peak)) for f in (np.nanmin, np.nanmax))
    result = replace(result, allowable=0.5 * (low + high))
    drawn = sweep_figure(result, "map")
    assert any(len(c.get_paths()) and type(c).__name__ == "QuadContourSet" for c in drawn.axes[0].collections)


def test_multiples_of_the_setting_are_shown_as_settings() -> None:
    result = made(2, 400)
    data = map_data(result, decide(result), x="making of the setting", y="jam stiffness")
    assert data.x_label == "setting after making of the setting (N·m)"
    for m, c in zip(data.maps, sorted(decide(result).choices, key=lambda c: c.candidate), strict=True):
        sample = result.samples["making of the setting"]
        assert c.ran_at * sample.min() < m.x[0] < c.ran_at < m.x[-1] < c.ran_at * sample.max()
    shared = map_data(result, decide(result), x="setting", y="making of the setting")
    assert shared.y_label == "making of the setting (times the nominal setting)"
    assert shared.maps[0].y[0] == pytest.approx(0.92, abs=0.03)


def test_a_map_of_two_scatters_has_as_many_classes_as_the_draws_fill() -> None:
    result = made(1, 100)
    data = map_data(result, decide(result), x="wet load", y="jam stiffness")
    assert np.isfinite(data.maps[0].peak).all()


def test_grid_values_are_the_ticks() -> None:
    drawn = sweep_figure(made(1, 200, speeds=3), "map", x="setting", y="running speed")
    ticks = [float(t) for t in drawn.axes[0].get_yticks()]
    assert ticks == pytest.approx([float(v) for v in made(1, 2, speeds=3).grids["running speed"]])


def test_no_estimate_and_no_band_where_only_a_bound_is_known() -> None:
    """Of 40 draws none damaged says: below 7.2 % (95 %), and no more; the line of estimates is broken there."""
    result = made(1, 40, allowable=1e4, scenario_text="")
    (panel,) = window_data(result, decide(result)).panels
    assert panel.damage.bound.all()
    assert panel.damage.high == pytest.approx(most_if_none_seen(40))
    ax = draw_window(axes(), panel, window_data(result, decide(result)))
    told = [line for line in ax.lines if line.get_gid() == "told"]
    assert np.isnan(told[0].get_ydata()).all()
    assert np.isfinite(told[1].get_ydata()).any()
    for band in ax.collections:
        for path in band.get_paths():
            assert not len(path.vertices) or path.vertices[:, 1].max() > most_if_none_seen(40)


def test_averaged_odds_on_a_handful_of_cases_are_thin() -> None:
    result = made(1, 40)
    (panel,) = window_data(result, decide(result)).panels
    ax = draw_window(axes(), panel, window_data(result, decide(result)))
    few = next(line for line in ax.lines if line.get_gid() == "few")
    told = [line for line in ax.lines if line.get_gid() == "told"][1]
    assert few.get_linewidth() < 0.5 * told.get_linewidth()
    assert not np.isfinite(told.get_ydata()[panel.nuisance.bound]).any()
    assert panel.nuisance.bound.any()


@pytest.mark.parametrize("size", ["page", "column"])
def test_the_window_chart_says_the_window_in_words(size: str) -> None:
    result = made(2, 2000, scenario_text=EXACT, allowable=400.0, nominal=210.0)
    text = said(result, "window", size)
    if size == "page":
        assert "trips more than once in 1,000 draws of 2 ordinary events" in text
        assert "leaves room for 10 % of tolerance" in text
    assert "room for the tolerance" in text
    drawn = sweep_figure(result, "window", size=size)
    assert any(line.get_gid() == "room" for line in drawn.axes[0].lines)
    narrow = made(1, 2000, allowable=300.0, scenario_text=EXACT)
    assert "tolerance of 10 %" in said(narrow, "window", size) or "too narrow for ±10 %" in said(narrow, "window", size)
    none = made(1, 300, allowable=205.0)
    assert "no setting keeps both targets" in said(none, "window", size)


def test_an_exceedance_curve_ends_at_its_largest_case() -> None:
    result = made(2, 100)
    data = exceedance_data(result, decide(result))
    ax = draw_exceedance(axes(), data)
    curves = [line for line in ax.lines if line.get_gid() == "curve"]
    assert [min(line.get_ydata()) for line in curves] == pytest.approx([0.01, 0.01])


def ruled(result: SweepResult, by: str) -> SweepResult:
    """Peaks that one input alone decides; service asks the same of every draw."""
    x = result.samples[by]
    use = np.broadcast_to(0.5 + 0.1 * x[:, None], result.measures["use"].shape)
    return replace(result, measures={**result.measures, "use": use}, asks=np.full(result.asks.shape, 150.0))


def test_an_input_that_decides_stands_out_in_few_draws() -> None:
    """Twelve draws are too few for shares of variance; their ranks agree."""
    result = ruled(made(1, 12), "jam stiffness")
    answer = decide(result)
    x = result.samples["jam stiffness"]
    assert np.isnan(explained(x, 2.0 * x))
    assert explains(x, 2.0 * x) == pytest.approx(1.0)
    assert answer.measure[0].startswith("jam stiffness")
    title = matters_data(result, answer).frame.title
    assert title.startswith("Worth measuring: jam stiffness")
    assert matters_data(result, answer).panels[0].bars[0].name == "jam stiffness"


@pytest.mark.parametrize("draws", [12, 400])
def test_the_settings_own_scatter_is_named_where_it_decides(draws: int) -> None:
    result = ruled(made(1, draws), "making of the setting")
    answer = decide(result)
    assert answer.measure == ()
    assert "making of the setting moves the peak most (rank correlation 1.00)" in answer.stands_out
    assert "No input stands out" not in matters_data(result, answer).frame.title
    text = " ".join(plain(sweep_screen(result, 100, decision=answer)).split())
    assert "a tighter tolerance lessens" in text


def test_nothing_stands_out_where_nothing_moves() -> None:
    result = ruled(made(1, 30), "wet load")
    still = np.full(result.measures["use"].shape, 0.7)
    result = replace(result, measures={**result.measures, "use": still})
    assert decide(result).stands_out == ""
    assert matters_data(result, decide(result)).frame.title == "No input stands out for friction disc"


def test_cases_and_runs_are_counted_alike_everywhere() -> None:
    result = made(2, 50, speeds=3)
    assert cases.count(result) == (2, 27, 50)
    text = " ".join(plain(sweep_screen(result, 100)).split())
    assert "2,700: 2 candidates x 27 cells x 50 draws" in text
    assert "each run in 3 situations: 8,100 runs done, 0 failed" in text
    for kind in ("window", "matters", "disconnect"):
        assert "2,700 cases (2 candidates × 27 cells × 50 draws) | 8,100 runs" in " ".join(said(result, kind).split())
