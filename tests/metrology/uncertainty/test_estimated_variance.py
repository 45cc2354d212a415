"""Chi-squared with a variance from repeats: the F test of lack of fit, and draws of what the closed form integrates.

F quantiles by SciPy. N. R. Draper and H. Smith, Applied Regression Analysis, 1.5, and the F distribution's place
there, from memory.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tests.support.readings.cases import SHORT
from vibcal_nb.metrology.uncertainty.estimated_variance import KNOWN, EstimatedVariance, chi_squared_quantile, exceeding


def test_a_known_variance_gives_chi_squared():
    for nu in (1, 4, 8, 30):
        assert chi_squared_quantile(0.95, nu) == pytest.approx(stats.chi2.ppf(0.95, nu), rel=1e-12)
    nothing = EstimatedVariance(within=0, elsewhere=12, share=0.0)
    assert chi_squared_quantile(0.95, 4, nothing) == chi_squared_quantile(0.95, 4)
    assert KNOWN.is_known


@pytest.mark.parametrize(("repeats", "means"), [(15, 3), (5, 4), (4, 3), (40, 8)])
def test_with_repeats_of_these_readings_alone_it_is_the_f_test_of_lack_of_fit(repeats, means):
    """Chi-squared is then nu + (means) F: the repeats' own part is always nu."""
    found = chi_squared_quantile(0.95, repeats + means, EstimatedVariance(within=repeats, elsewhere=0, share=1.0))
    assert found == pytest.approx(repeats + means * stats.f.ppf(0.95, means, repeats), rel=1e-3)


@pytest.mark.parametrize(("nu", "pooled"), [(10, 6), (3, 20), (22, 4)])
def test_with_repeats_of_other_readings_it_is_a_multiple_of_f(nu, pooled):
    found = chi_squared_quantile(0.95, nu, EstimatedVariance(within=0, elsewhere=pooled, share=1.0))
    assert found == pytest.approx(nu * stats.f.ppf(0.95, nu, pooled), rel=1e-3)


@SHORT
@given(
    within=st.integers(0, 12),
    means=st.integers(1, 10),
    elsewhere=st.integers(4, 20),
    share=st.floats(0.2, 1.0),
    seed=st.integers(0, 10_000),
)
def test_it_rejects_as_many_good_models_as_it_says(within, means, elsewhere, share, seed):
    variance = EstimatedVariance(within=within, elsewhere=elsewhere, share=share)
    limit = chi_squared_quantile(0.95, within + means, variance)
    rng, count = np.random.default_rng(seed), 40_000
    a = rng.chisquare(within, count) if within else np.zeros(count)
    estimated = 1.0 - share + share * (a + rng.chisquare(elsewhere, count)) / (within + elsewhere)
    rejected = np.mean((a + rng.chisquare(means, count)) / estimated > limit)
    assert rejected == pytest.approx(0.05, abs=0.006)
    assert exceeding(limit, within + means, variance) == pytest.approx(0.05, abs=1e-6)


@pytest.mark.parametrize("wrong", [{"within": -1}, {"elsewhere": -2}, {"share": 1.2}])
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(ValueError, match="degrees of freedom of zero or more and a share from 0 to 1"):
        EstimatedVariance(**{"within": 3, "elsewhere": 4, "share": 0.5} | wrong)


def test_nothing_but_repeats_tests_no_model():
    with pytest.raises(ValueError, match="nothing is tested"):
        chi_squared_quantile(0.95, 4, EstimatedVariance(within=4, elsewhere=0, share=1.0))
