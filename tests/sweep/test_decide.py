"""From cases to windows, odds and words, on sweeps whose answers are known in closed form."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import beta, norm
from sweep_samples import MAKING, TEXT, linear, made, paired

from simcore.charts.sweep_base import corner
from simcore.sweep import cases, opening, wording
from simcore.sweep.decide import decide
from simcore.sweep.law import Law, setting_laws
from simcore.sweep.odds import THIN, Odds, damage_curve, nuisance_curve
from simcore.sweep.result import SweepResult
from simcore.sweep.statistics import most_if_none_seen


def test_damage_of_a_linear_line_with_lognormal_stiffness() -> None:
    """Peak omega sqrt(k J): half the scatter of the logarithm of k, so the share above the allowable is exact."""
    result, exact = linear(20_000, 700.0)
    odds = damage_curve(result, 0).at(float(result.setting[0, 0]))
    assert odds.low < exact < odds.high
    assert odds.share == pytest.approx(exact, abs=3.0 * np.sqrt(exact / 20_000))


def test_nuisance_is_averaged_over_the_law_in_the_scenario() -> None:
    result = made(1, 2000, asks=(165.0, 8.0))
    curve = nuisance_curve(result, 0)
    exact = norm.cdf(-(190.0 - 165.0) / np.hypot(190.0 * MAKING, 8.0))
    assert not curve.counted
    assert "normal 1, standard deviation 0.05" in curve.model
    assert curve.at(190.0).share == pytest.approx(exact, rel=0.1)
    assert curve.at(190.0).low < exact < curve.at(190.0).high
    counted = cases.nuisance(result, 0)[4, 0].mean()
    assert counted == pytest.approx(exact, abs=0.012)


def test_window_edges_against_the_closed_form() -> None:
    """Lower edge: S with Phi((165 - S)/sqrt((0.05 S)^2 + 8^2)) = 0.001."""
    result = made(1, 4000, asks=(165.0, 8.0), nominal=210.0)
    z = norm.ppf(0.001)
    # (S - 165)^2 = z^2 (0.0025 S^2 + 64)
    roots = np.roots([1.0 - 0.0025 * z * z, -330.0, 165.0**2 - 64.0 * z * z])
    found = decide(result).choices[0].window
    assert found.low == pytest.approx(float(max(roots)), rel=0.01)
    assert found.low <= found.sure_low <= found.sure_high <= found.high


def test_odds_never_go_below_what_was_counted() -> None:
    result = made(1, 500, scenario_text="")
    curve = nuisance_curve(result, 0)
    assert curve.counted
    top = curve.at(float(curve.settings[-1]))
    assert top.share == 0.0
    assert top.high == pytest.approx(most_if_none_seen(500))
    text = wording.odds(top, "starts")
    assert "none in 500" in text
    assert "0.6 %" in text


@pytest.mark.parametrize("hits", [0, 1, 2, 3])
def test_no_counted_share_below_three_over_n_is_told(hits: int) -> None:
    """95 % bounds of Clopper and Pearson for 0, 1 and 2 hits in 1000, from scipy's beta distribution."""
    high = float(beta.ppf(0.95, hits + 1, 1000 - hits))
    counted = Odds(hits / 1000, 0.0, high, 1000.0, "counted", float(hits))
    long, short = wording.odds(counted, "starts"), wording.short_odds(counted)
    if hits == 3:
        assert long.startswith("0.3 % of 1,000 starts")
        assert short == "0.3 %"
        return
    assert (
        long == f"{'none' if hits == 0 else 'fewer than 3'} in 1,000 starts (95 % sure: below {wording.percent(high)})"
    )
    assert short == f"< {wording.percent(high)}"
    assert high > 2.9 / 1000


def test_averaged_odds_are_not_told_where_they_rest_on_a_handful() -> None:
    few = Odds(1e-4, 1e-6, 9e-4, 1000.0, "setting's scatter averaged (normal)", 2.0)
    assert wording.odds(few, "starts").startswith("at most 1 in 1,100")
    assert wording.short_odds(few) == "< 1 in 1,100"
    far = Odds(1e-12, 1e-13, 1e-11, 1000.0, "setting's scatter averaged (normal)", 200.0)
    assert "rarer than 1 in 1,000,000" in wording.odds(far, "starts")


def test_odds_at_a_setting_rest_on_as_many_cases_as_the_curve_does_there() -> None:
    """Far out in the tail on a few of those averaged over, which is when a bound alone is told."""
    curve = nuisance_curve(made(1, 200), 0)
    for setting, rests, count in zip(curve.settings, curve.rests, curve.cases, strict=True):
        assert (curve.at(float(setting)).rests, curve.at(float(setting)).cases) == (rests, count)
    assert curve.rests[-1] < THIN < curve.rests[0] <= 200.0
    assert wording.only_bound(curve.at(float(curve.settings[-1])))


def test_shares_are_monotone_and_bands_contain_them() -> None:
    result = made(3, 300)
    for c in range(3):
        d, n = damage_curve(result, c), nuisance_curve(result, c)
        assert np.all(np.diff(d.share) >= 0)
        assert np.all(np.diff(d.high) >= 0)
        assert np.all(np.diff(n.share) <= 0)
        for curve in (d, n):
            assert np.all((curve.low <= curve.share + 1e-15) & (curve.share <= curve.high))


def test_failed_cases_are_left_out_and_told() -> None:
    result = made(2, 400, fails=0.03)
    d = damage_curve(result, 0)
    lost = int((result.status[0, :, :, 0] > 1).sum())
    assert d.failed == lost > 0
    assert d.cases.sum() == 400 * 9 - lost
    answer = decide(result)
    assert answer.failed == int((result.status > 1).sum())
    assert answer.computed + answer.failed == result.status.size
    assert any("could not be computed" in c for c in answer.cautions)


def test_a_case_that_no_setting_holds_is_a_nuisance_not_a_failure() -> None:
    result = made(1, 100)
    asks = result.asks.copy()
    asks[0, :10, 1] = np.nan
    curve = nuisance_curve(replace(result, asks=asks), 0)
    assert curve.failed == 0
    assert curve.share[-1] == pytest.approx(0.1, abs=1e-3)


def test_no_window_says_what_would_open_one_and_it_does() -> None:
    result = made(1, 1000, nominal=160.0, allowable=230.0)
    choice = decide(result).choices[0]
    assert not choice.window.likely
    assert choice.words == "no setting keeps both targets"
    assert any("softer start" in w for w in choice.opens)
    assert any("Parts that bear" in w and "lower" in w for w in choice.opens)
    low = nuisance_curve(result, 0)
    edge = float(low.settings[np.argmax(low.share <= result.nuisance_target)])
    factor = opening.allowable_factor(result, 0, edge)
    measures = {**result.measures, "use": result.measures["use"] / (factor * 1.03)}
    assert decide(replace(result, measures=measures)).choices[0].window.likely


def _scattering(result: SweepResult, share: float) -> SweepResult:
    """The same sweep with the setting's scatter times ``share``, worked out anew."""
    old = result.samples["making of the setting"]
    x = 1.0 + share * (old - 1.0)
    moved = (result.setting[0][:, None] * (x - old) / result.allowable)[None, :, :, None]
    text = TEXT.replace("normal = 1.0, sd = 0.05", f"normal = 1.0, sd = {0.05 * share}", 1)
    return replace(
        result,
        measures={**result.measures, "use": result.measures["use"] + moved},
        samples={**result.samples, "making of the setting": x},
        scenario_text=text,
    )


def test_less_scatter_opens_a_window_and_it_does() -> None:
    result = made(1, 2000, steps=17, nominal=185.0, allowable=252.0, asks=(160.0, 2.0), damage_target=0.05)
    assert not decide(result).choices[0].window.likely
    share = opening.scatter_that_fits(result, 0)
    assert 0.2 < share < 0.95
    assert decide(_scattering(result, share - 0.05)).choices[0].window.likely
    assert not decide(_scattering(result, share + 0.1)).choices[0].window.likely


def test_each_scatter_of_a_setting_is_narrowed_as_its_law_is() -> None:
    """Two factors of 1.2 at half their scatter are 1.1 each, 1.21 together, not half of 1.44's excess; laws alike."""
    assert opening.narrowed(np.full((2, 1), 1.2), 0.5) == pytest.approx(1.21 / 1.44)
    assert opening.narrowed(np.full((2, 1), 1.2), 0.0) == pytest.approx(1.0 / 1.44)
    law = Law("uniform", lambda x: np.clip((x - 0.8) / 0.4, 0.0, 1.0), lambda u: 0.8 + 0.4 * u, True)
    (half,) = opening._shrunk((law,), 0.5)
    drawn = law.ppf(np.linspace(0.0, 1.0, 11))
    assert drawn * opening.narrowed(drawn[None], 0.5) == pytest.approx(half.ppf(np.linspace(0.0, 1.0, 11)))


def test_words_of_the_window() -> None:
    choice = decide(made(3, 3000)).choices[-1]
    assert choice.words.startswith("set ")
    assert "trips more than once in 1,000 draws of 2 ordinary events" in choice.words
    assert "'gearbox shaft' sees more than 330 N*m in more than 1 of 50 crashes" in choice.words
    assert wording.span(168.02, 183.97, "N*m") == "169 to 183 N*m"
    assert wording.span(168.0, 183.0, "N*m") == "168 to 183 N*m"


def test_ranking_regret_and_inputs() -> None:
    answer = decide(made(4, 1000))
    assert answer.choices[0].name == "friction disc"
    assert "jam stiffness" in answer.measure[0]
    assert "wet load" in answer.measure[1]
    assert sum(r.best for r in answer.regrets) >= 1.0 - 1e-12
    assert all(r.mean_use >= 0.0 for r in answer.regrets)
    assert answer.sentence.startswith("Choose friction disc, ")


def test_other_grids_take_the_worst_cell() -> None:
    one, many = made(1, 500), made(1, 500, speeds=3)
    d, worst = damage_curve(one, 0), damage_curve(many, 0)
    assert np.all(worst.share >= d.share)
    assert nuisance_curve(many, 0).counted
    assert any("running speed" in c for c in decide(many).cautions)


def test_of_several_cells_at_one_setting_the_worst_counts() -> None:
    """Counted by hand; where cases failed the bounds still rise with the setting."""
    many = made(1, 500, speeds=3, allowable=220.0)
    by_cell = (many.measures["use"][0, ..., 0] > 1.0).mean(axis=2)
    curve = damage_curve(many, 0)
    assert curve.share == pytest.approx(by_cell.max(axis=1))
    assert (by_cell.max(axis=1) > by_cell.min(axis=1)).any()
    few = many.status.copy()
    few[:, :3, :, 10:] = 5
    curve = damage_curve(replace(many, status=few), 0)
    assert curve.cases[0] == 10.0
    assert np.all(np.diff(curve.high) >= 0.0)


def test_paired_design_counts_independent_rows_only() -> None:
    result = paired(512)
    assert len(cases.independent(result)) == 1024
    answer = decide(result)
    wanted = {"jam stiffness": 0.9, "wet load": 0.1, "making of the setting": 0.0}
    for x in answer.inputs:
        assert x.of_use == pytest.approx(wanted[x.name], abs=0.03)
        assert x.of_asks == pytest.approx(float(x.name == "wet load"), abs=0.05)


def test_law_of_the_setting_with_limits_and_as_drawn() -> None:
    text = TEXT.replace("{ normal = 1.0, sd = 0.05 }", "{ normal = 1.0, sd = 0.05, low = 0.9, high = 1.1 }", 1)
    (law,) = setting_laws(made(1, 50, scenario_text=text), "friction disc") or ()
    assert list(law.cdf(np.array([0.9, 1.0, 1.1, np.inf]))) == pytest.approx([0.0, 0.5, 1.0, 1.0])
    assert law.ppf(np.array([0.0, 1.0])) == pytest.approx([0.9, 1.1])
    text = TEXT.replace("{ normal = 1.0, sd = 0.05 }", '{ measured = "tests.csv" }', 1)
    (law,) = setting_laws(made(1, 50, scenario_text=text), "friction disc") or ()
    assert not law.exact
    other = TEXT.replace("candidates[*].setting'", 'candidates["pawl"].setting\'')
    assert setting_laws(made(1, 50, scenario_text=other), "friction disc") == ()


def test_nothing_asked_and_nothing_judged() -> None:
    result = made(1, 100)
    crashes_only = replace(result, expects=("let go", "let go", "let go"))
    choice = decide(crashes_only).choices[0]
    assert choice.window.open_below
    blind = {**result.measures, "use": np.full_like(result.measures["use"], np.nan)}
    choice = decide(replace(result, measures=blind)).choices[0]
    assert not choice.window.likely
    assert "not known" in wording.odds(choice.damage_odds, "crashes")


def test_descending_grid_gives_the_same_window() -> None:
    result = made(1, 400)
    back = replace(
        result,
        grids={"setting": result.grids["setting"][::-1]},
        setting=result.setting[:, ::-1],
        measures={n: v[:, ::-1] for n, v in result.measures.items()},
        status=result.status[:, ::-1],
    )
    assert decide(back).choices[0].window == decide(result).choices[0].window


@pytest.mark.parametrize("lets_go", [True, False])
def test_a_line_that_does_not_come_up_is_told_apart_from_a_trip(lets_go: bool) -> None:
    """A twentieth of the draws is met at no setting; where nothing lets go it is the motor, not the setting."""
    result = made(1, 400, asks=(100.0, 1.0))
    held = cases.places(result, ("hold",))
    met, trigger = result.measures["met"].copy(), np.full_like(result.measures["met"], np.nan)
    met[:, :, ::20, held] = 0.0
    trigger[:, :, ::20, held] = 0.1 if lets_go else np.nan
    found = decide(replace(result, measures={**result.measures, "met": met, "trigger": trigger})).cautions
    assert any("does not come up to speed though nothing lets go" in c for c in found) is not lets_go
    assert any("more than the odds say" in c for c in found) is lets_go


def test_of_a_sweep_that_was_stopped_the_answer_says_so_first() -> None:
    some = made(1, 500, provenance={"plan": {"draws": 2000}})
    assert decide(some).sentence.startswith("Provisional, from 500 of 2,000 draws. Choose friction disc")
    assert "500 of 2,000 draws so far" in corner(some).replace("\u00a0", " ")
    assert "rovisional" not in decide(made(1, 500)).sentence
    assert "so far" not in corner(made(1, 500))


def _hot(result: SweepResult, from_place: int) -> SweepResult:
    """The same sweep in which every crash from that setting on passes the heat limit."""
    hot = np.zeros_like(result.measures["use"])
    hot[:, from_place:, :, 0] = 1.0
    return replace(result, measures={**result.measures, "burnt": hot})


def test_slip_heat_past_the_limit_is_damage_and_ends_the_window() -> None:
    cool = made(1, 500, allowable=900.0, asks=(100.0, 2.0))
    hot = _hot(cool, 6)
    settings = cases.setting_axis(hot, 0).settings
    assert cases.damage(hot, 0).mean(axis=(1, 2)).tolist() == [0.0] * 6 + [1.0] * 3
    assert decide(cool).choices[0].window.open_above
    choice = decide(hot).choices[0]
    assert settings[5] <= choice.kept.high < settings[6]
    assert "it passes its heat limit in more than 1 of 50 crashes" in choice.words


def test_where_parts_and_heat_set_the_end_both_are_told() -> None:
    hot = _hot(made(1, 500, allowable=300.0, asks=(100.0, 2.0)), 8)
    few = hot.measures["use"][0, 8, :, 0] > 1.0
    assert 0 < few.sum() < 500
    assert wording.harm(hot, 0) == "'gearbox shaft' sees more than 300 N*m, or it passes its heat limit,"


def test_heat_is_told_where_stronger_parts_would_not_open_a_window() -> None:
    hot = _hot(made(1, 1000, nominal=160.0, allowable=900.0), 0)
    ways = decide(hot).choices[0].opens
    assert any("100 % of the crashes pass the protection's heat limit: a stop that comes sooner" in w for w in ways)
    assert not any("Parts that bear" in w or "scatters only" in w for w in ways)


def test_another_protection_that_trips_in_service_is_a_trip() -> None:
    """The candidate has not let go, but pins behind it have: a matter of the line, not of motor and load."""
    result = made(1, 400, asks=(100.0, 1.0))
    held = cases.places(result, ("hold",))
    met, mates = result.measures["met"].copy(), np.zeros_like(result.measures["met"])
    met[:, :, ::20, held] = 0.0
    mates[:, :, ::20, held] = 1.0
    more = {"met": met, "mates": mates, "trigger": np.full_like(met, np.nan)}
    found = decide(replace(result, measures={**result.measures, **more})).cautions
    assert not any("does not come up to speed" in c for c in found)
    assert any("more than the odds say" in c for c in found)


@pytest.mark.parametrize("hits", [0, 20])
def test_a_part_past_its_allowable_in_ordinary_running_is_told(hits: int) -> None:
    """Odds of damage are those of crashes: what a start does to the line beside them must not go unsaid."""
    result = made(1, 400)
    use = result.measures["use"].copy()
    use[:, :, :hits, cases.places(result, ("hold",))] = 1.3
    found = decide(replace(result, measures={**result.measures, "use": use}))
    assert found.choices[0].damage_odds == decide(result).choices[0].damage_odds
    assert sum(f"In {hits} of 400 draws" in c and "in an ordinary event" in c for c in found.cautions) == bool(hits)


def test_a_sweep_of_nothing_but_jams_behind_a_start_has_odds_of_tripping():
    """Every second draw trips too soon at the two lowest of the settings."""
    result = made(1, 200)
    early = np.full(result.measures["use"].shape, np.nan)
    early[..., 0] = 0.0
    early[0, :2, ::2, 0] = 1.0
    alone = {name: values[..., :1] for name, values in (*result.measures.items(), ("too_soon", early))}
    crash = replace(result, situations=result.situations[:1], expects=("let go",), measures=alone,
                    asks=result.asks[..., :1], status=0 * result.status[..., :1])  # fmt: skip
    curve = nuisance_curve(crash, 0)
    assert curve.counted
    assert curve.share[:3] == pytest.approx([0.5, 0.5, 0.0])
    assert (
        nuisance_curve(replace(crash, measures=alone | {"too_soon": np.full_like(alone["use"], np.nan)}), 0).failed == 0
    )
    assert wording.service(crash) == f"'{result.situations[0]}' cases"
