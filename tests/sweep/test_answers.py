"""decision.csv: no share that the sample does not support, the bound always beside it."""

from __future__ import annotations

import csv

import pytest
from scipy.stats import beta
from sweep_samples import made

from simcore.sweep.answers import answers_table, at_least, at_most, share
from simcore.sweep.decide import decide
from simcore.sweep.odds import COUNTED, Odds, damage_curve, nuisance_curve
from simcore.sweep.wording import RAREST


def rows_of(result: object) -> list[dict[str, str]]:
    return list(csv.DictReader(answers_table(decide(result)).decode("utf-8").splitlines()))  # type: ignore[arg-type]


def test_no_share_below_three_in_n() -> None:
    n = 500
    result = made(2, n, scenario_text="")
    bare = 0
    for row in rows_of(result):
        for of in ("crashes damaged", "events tripping"):
            bound = float(row[f"{of}, at most, 95 %"])
            assert bound >= 1.0 - 0.05 ** (1.0 / n) - 1e-12
            bare += row[of] == ""
            if row[of]:
                assert 3.0 / n <= float(row[of]) <= bound
    assert bare


@pytest.mark.parametrize(("seen", "told"), [(0, False), (2, False), (3, True), (40, True)])
def test_counted_share_and_its_bound(seen: int, told: bool) -> None:
    """Clopper and Pearson 1934: the one-sided 95 % bound is a quantile of a beta distribution."""
    n = 500
    high = float(beta.ppf(0.95, seen + 1, n - seen))
    x = Odds(seen / n, 0.0, high, float(n), COUNTED, float(seen))
    assert (share(x) == share(x)) is told
    assert at_most(x) == high >= seen / n
    assert at_least(x) == 0.0


def test_a_law_is_not_believed_far_out_and_nothing_is_made_up() -> None:
    x = Odds(1e-12, 0.0, 1e-10, 500.0, "setting's scatter averaged", 400.0)
    assert share(x) != share(x)
    assert at_most(x) == RAREST
    none = Odds(0.0, 0.0, 0.0, 0.0, "no crash in this sweep", 0.0)
    assert at_most(none) != at_most(none)


def test_the_bound_is_that_of_the_curve() -> None:
    result = made(1, 500, scenario_text="")
    (row,) = rows_of(result)
    at = float(row["setting [N m]"])
    assert float(row["crashes damaged, at most, 95 %"]) == damage_curve(result, 0).at(at).high
    assert float(row["events tripping, at most, 95 %"]) == nuisance_curve(result, 0).at(at).high
