"""Budgets that one rectangle dominates: EA-4/02 M:2022, example S9 (from memory, arithmetic confirmed), and draws."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.readings.cases import SHORT
from vibcal_nb.metrology.uncertainty.budget import Budget, BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import CoverageError
from vibcal_nb.metrology.uncertainty.dominant_rectangle import expand_budget, softened_rectangle_factor
from vibcal_nb.metrology.uncertainty.gum_validation import validate_gum
from vibcal_nb.metrology.uncertainty.monte_carlo import propagate


def line(name, value, **more):
    return BudgetLine(name=name, value=value, kind="common", **more)


def multimeter():
    """Hand-held multimeter at 100 V, V: (0.1 +- 0.05) V at 95 %, k = 1.65 of the rectangle."""
    return Budget(
        estimate=0.1,
        lines=(
            line("resolution", 0.05, distribution="rectangular"),
            line("calibrator", 0.011, distribution="rectangular"),
            line("certificate of the calibrator", 0.002, k=2.0),
        ),
    )


def test_s9_is_expanded_by_its_rectangle_and_says_so():
    expanded = expand_budget(multimeter())
    assert expanded.dominated_by == "resolution"
    assert f"{expanded.U:.2f}" == "0.05"  # as printed; 1.96 u would say 0.06
    assert f"{1.96 * expanded.u:.2f}" == "0.06"
    assert 1.65 <= expanded.k <= 1.71  # printed 1.65 of the rectangle alone; 1.71 of the trapezoid of both rectangles


def test_one_rectangle_ten_times_as_wide_has_the_interval_of_jcgm_101():
    """JCGM 101:2008, 9.2.4: u = 10.1; Monte Carlo [-17.0, 17.0], which k = 1.96 misses by 2.9."""
    widths = (1.0, 1.0, 1.0, 10.0)
    lines = tuple(line(f"X{i}", w * math.sqrt(3), distribution="rectangular") for i, w in enumerate(widths))
    expanded = expand_budget(Budget(lines=lines, estimate=0.0))
    assert (round(expanded.u, 1), round(expanded.U, 1)) == (10.1, 17.0)


def test_the_rectangle_alone_has_the_printed_factor():
    """EA-4/02 M:2022, S9.13: k = 0.95 sqrt(3) = 1.65."""
    assert f"{softened_rectangle_factor(0.0, 0.95):.2f}" == "1.65"
    alone = expand_budget(Budget(lines=(multimeter().lines[0],)))
    assert pytest.approx(0.95 * 0.05) == alone.U


def test_a_monte_carlo_run_confirms_it_and_not_the_normal_factor():
    budget = multimeter()
    run = propagate(budget, rng=np.random.default_rng(11), trials=400_000)
    expanded = expand_budget(budget)
    assert validate_gum(0.1, expanded, run, digits=2).validated
    assert not validate_gum(0.1, replace(expanded, U=1.96 * expanded.u), run, digits=2).validated


@SHORT
@given(rest=st.floats(0.0, 3.0), p=st.sampled_from([0.5, 0.9, 0.95, 0.9545, 0.99]), seed=st.integers(0, 1000))
def test_the_factor_covers_what_it_says(rest, p, seed):
    rng = np.random.default_rng(seed)
    y = rng.uniform(-math.sqrt(3.0), math.sqrt(3.0), 40_000) + rest * rng.standard_normal(40_000)
    k = softened_rectangle_factor(rest, p)
    assert np.mean(np.abs(y) <= k * math.hypot(1.0, rest)) == pytest.approx(p, abs=0.012)


def test_the_limit_of_domination_is_three_tenths():
    """EA-4/02 M:2022, S9.12, from memory: the others together against the largest."""
    wide = line("wide", math.sqrt(3.0), distribution="rectangular")
    assert expand_budget(Budget(lines=(wide, line("rest", 0.2999)))).dominated_by == "wide"
    assert expand_budget(Budget(lines=(wide, line("rest", 0.3001)))).dominated_by is None
    assert expand_budget(Budget(lines=(line("rest", 0.1), wide))).dominated_by == "wide"


@pytest.mark.parametrize(
    "budget",
    [
        Budget(lines=(line("normal", 1.0), line("rest", 0.1))),
        Budget(lines=(line("not known", 1.7, distribution="rectangular", degrees_of_freedom=8.0), line("rest", 0.1))),
        Budget(
            lines=(line("a", 1.7, distribution="rectangular"), line("b", 0.1), line("c", 0.1)),
            correlations={("b", "c"): 0.5},
        ),
        Budget(lines=(line("nothing", 0.0, distribution="rectangular"),)),
    ],
)
def test_other_budgets_keep_their_factor(budget):
    assert expand_budget(budget).dominated_by is None


def test_a_probability_that_is_none_is_refused():
    with pytest.raises(CoverageError):
        expand_budget(multimeter(), probability=1.0)
