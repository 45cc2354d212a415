"""The test of the straight line where the readings' own uncertainty was pooled from their repeats.

The F test of lack of fit: N. R. Draper and H. Smith, Applied Regression Analysis, 1.5, from memory; F by SciPy.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from tests.support.readings.cases import make_case
from vibcal_nb.analysis.linearity.linearity import analyse_linearity

LEVELS = np.repeat([2.0, 5.0, 10.0, 15.0, 20.0], 3)


def line_of(output, *, x=LEVELS):
    case = make_case("linearity", np.full(len(x), 50.0), output, applied=x)
    repeats = [1 + int((x[:i] == level).sum()) for i, level in enumerate(x)]
    readings = tuple(replace(r, repeat=n) for r, n in zip(case.readings, repeats, strict=True))
    return analyse_linearity(replace(case, readings=readings)).frequencies[0].line


def lack_of_fit(y):
    """F and its degrees of freedom by the sums of squares of the textbook, relative weights."""
    weight = 1.0 / LEVELS
    design = np.stack([weight, LEVELS * weight], axis=1)
    whole = np.linalg.lstsq(design, y * weight, rcond=None)[1][0]
    pure = sum(((y[x == LEVELS] - y[x == LEVELS].mean()) ** 2).sum() / x**2 for x in np.unique(LEVELS))
    return (whole - pure) / 3.0 / (pure / 10.0)


def test_a_good_line_is_rejected_as_often_as_the_f_test_says():
    """1500 lines of 5 levels, each read 3 times: 5 % wanted; with the variance taken as known it was 8 %."""
    rng = np.random.default_rng(20261003)
    rejected = [line_of(4.0 * LEVELS * rng.normal(1.0, 0.003, 15)).chi_squared.passed is False for _ in range(1500)]
    assert np.mean(rejected) == pytest.approx(0.05, abs=0.017)  # three standard errors


def test_the_decision_is_that_of_the_textbook():
    rng = np.random.default_rng(20261004)
    limit = stats.f.ppf(0.95, 3, 10)
    agree = []
    for number in range(300):
        bend = 1.0 + (number % 3) * 0.003 * (LEVELS / 20.0 - 0.5) ** 2
        y = 4.0 * LEVELS * bend * rng.normal(1.0, 0.002, 15)
        agree.append((line_of(y).chi_squared.passed is False) == (lack_of_fit(y) > limit))
    assert np.mean(agree) >= 0.97  # the weights are those of the readings there and of the levels here


def test_a_line_that_misses_its_levels_is_as_wide_as_they_scatter_about_it():
    """Repeats that agree do not make a line surer that misses all of them."""
    wave = np.repeat([1.02, 0.98, 1.02, 0.98, 1.02], 3)
    scatter = np.tile([0.9995, 1.0, 1.0005], 5)
    line = line_of(4.0 * LEVELS * wave * scatter)
    assert line.widened
    assert line.nu == 3.0
    means = line_of(4.0 * np.unique(LEVELS) * wave[::3], x=np.unique(LEVELS))
    assert line.fit.u_slope == pytest.approx(means.fit.u_slope, rel=0.02)
