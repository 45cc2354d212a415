"""A quantity defined in two ways (JCGM 200:2012, 2.27): the interval holds that of either, by scipy and by draws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from vibcal_nb.metrology.uncertainty.definitional import expand_about_two

SIZES = st.floats(1e-4, 1e3)


@given(u=SIZES, apart=st.floats(-1e3, 1e3), nu=st.sampled_from([1.0, 4.0, 30.0, math.inf]))
def test_the_interval_is_that_of_the_one_and_that_of_the_other(u, apart, nu):
    found = expand_about_two(u, apart, nu)
    reach = u * float(stats.norm.ppf(0.975) if math.isinf(nu) else stats.t.ppf(0.975, nu))
    ends = [centre + sign * reach for centre in (-0.5 * apart, 0.5 * apart) for sign in (-1.0, 1.0)]
    assert pytest.approx(max(ends), rel=1e-9) == found.U
    assert found.k == pytest.approx(found.U / u, rel=1e-12)


@pytest.mark.parametrize("apart", [0.0, 0.5, 2.0, 10.0])
def test_either_is_excluded_in_at_most_one_of_twenty(apart):
    draws = np.random.Generator(np.random.PCG64(20261201)).standard_normal(200_000)
    U = expand_about_two(1.0, apart).U
    excluded = float(np.mean(np.abs(draws + 0.5 * apart) > U))
    assert 0.023 < excluded < 0.0515


def test_what_is_known_exactly_has_no_interval():
    assert expand_about_two(0.0, 0.3).U == 0.0
