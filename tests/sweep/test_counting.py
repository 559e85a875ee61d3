"""What counts as failed, as never and as a bound in the answer of a sweep, counted by hand."""

from __future__ import annotations

from dataclasses import replace
from math import log, log10, sqrt

import numpy as np
import pytest
from scipy import stats
from sweep_samples import made

from simcore.sweep import cases
from simcore.sweep.decide import at_place, margin
from simcore.sweep.law import Law, chance_below
from simcore.sweep.odds import Odds


def test_a_draw_without_disconnect_is_never_and_not_at_once() -> None:
    result = made(1, 40)
    times = result.measures["disconnect"].copy()
    times[:, :, :10, 0] = np.nan
    found = at_place(replace(result, measures={**result.measures, "disconnect": times}), 0, 4, "disconnect")
    assert np.isinf(found).sum() == 10


def test_one_failed_situation_of_several_leaves_the_draw_out() -> None:
    result = made(1, 40)
    status = result.status.copy()
    status[:, :, 0, 1] = 5
    assert np.isnan(cases.nuisance(replace(result, status=status), 0)).sum() == status.shape[1]


def test_the_margin_is_that_of_the_bounds() -> None:
    result = made(1, 40)
    seen, none = Odds(0.001, 0.0, 0.004, 1000.0, "counted", 1.0), Odds(0.0, 0.0, 1e-5, 1000.0, "counted", 0.0)
    assert margin(result, seen, none) == pytest.approx(log10(result.damage_target / 0.004))


def test_two_laws_on_one_setting_against_the_closed_form() -> None:
    """The product of two lognormals is one; without any law the setting is met or not."""
    known = [stats.lognorm(s, scale=middle) for s, middle in ((0.03, 1.0), (0.05, 1.06))]
    laws = tuple(Law("", x.cdf, x.ppf, True) for x in known)
    ratio = np.array([0.9, 1.0, 1.1])
    wanted = [stats.norm.cdf(log(r / 1.06) / sqrt(0.03**2 + 0.05**2)) for r in ratio]
    assert chance_below(laws, ratio) == pytest.approx(wanted, abs=1e-5)
    assert chance_below((), ratio).tolist() == [0.0, 0.0, 1.0]
