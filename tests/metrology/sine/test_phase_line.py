"""Lines through phases: polarity and delay of what is known, by numpy's and SciPy's own phases.

The institute's calibration is published data (see ``support.published.institute``): a digital accelerometer whose
filter delays all frequencies alike. Its line, by numpy.polyfit: intercept 0.003 degrees, delay 1.5110 ms.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal

from tests.support.published.institute import INSTITUTE
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors
from vibcal_nb.metrology.sine.phase_line import BENT, STRAIGHT, PhaseError, fit_phase_line, wrapped

R10 = np.array([10, 12.5, 16, 20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000.0])


def fit(f, phase, u=0.3):
    return fit_phase_line(np.asarray(f), np.asarray(phase), CorrelatedErrors(own=np.full(np.size(f), u)))


def test_the_institutes_phases_lie_on_one_line():
    f, phase = INSTITUTE[:, 0], INSTITUTE[:, 3]
    line, (slope, intercept) = fit(f, phase, 0.05), np.polyfit(f, phase, 1)
    assert line.intercept_deg == pytest.approx(0.003, abs=0.001)
    assert line.intercept_deg == pytest.approx(intercept, abs=1e-6)
    assert 1e3 * line.delay_s == pytest.approx(1.5110, abs=5e-5)
    assert line.delay_s == pytest.approx(-slope / 360.0)
    assert (line.shape, line.holds) == (STRAIGHT, True)
    assert line.rms_residual_deg == pytest.approx(np.sqrt(np.mean((phase - np.polyval([slope, intercept], f)) ** 2)))


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.sampled_from(list(R10)), min_size=5, max_size=20, unique=True),
    st.floats(0.0, 9.9e-3),
    st.sampled_from([0.0, 180.0]),
    st.integers(-2, 2),
)
def test_delay_and_polarity_come_back_whatever_whole_turns_are_left_out(hz, delay, polarity, turns):
    f = np.sort(hz)
    if np.diff(f).min() > 100.0:  # such frequencies leave longer delays open as well
        return
    line = fit(f, [wrapped(deg) + 360.0 * turns for deg in polarity - 360.0 * delay * f])
    assert line.delay_s == pytest.approx(delay, abs=1e-9)
    assert abs(wrapped(line.intercept_deg - polarity)) < 1e-5


def test_covariance_is_that_of_generalised_least_squares():
    f, rng = R10[4:14], np.random.default_rng(3)
    shared = np.full((f.size, 1), 0.4)
    errors = CorrelatedErrors(own=np.full(f.size, 0.2), shared=shared)
    line = fit_phase_line(f, -0.36 * f + 0.1 * rng.standard_normal(f.size), errors)
    columns = np.stack([np.ones(f.size), f], axis=1)
    expected = np.linalg.inv(columns.T @ np.linalg.inv(errors.covariance) @ columns)
    assert line.fitness.widening == 1.0
    np.testing.assert_allclose(line.covariance, expected, rtol=1e-9)
    at, U = line.at(100.0)
    row = np.array([1.0, 100.0])
    assert U.u == pytest.approx(math.sqrt(row @ expected @ row))
    assert at == pytest.approx(line.intercept_deg + 100.0 * line.slope_deg_per_hz)


@pytest.mark.parametrize("polarity", [0.0, 180.0])
def test_filters_bend_the_line_and_the_polarity_is_still_told(polarity):
    """Butterworth filters by SciPy: their phase far from the corners is that of a delay, and a lead of the low end."""
    low, high = (2.0 * math.pi * hz for hz in (5.0, 1000.0))
    f, rng = R10[3:17], np.random.default_rng(11)
    pass_low, pass_high = signal.butter(2, low, "high", analog=True), signal.butter(2, high, analog=True)
    response = signal.freqs(*pass_low, worN=2 * math.pi * f)[1] * signal.freqs(*pass_high, worN=2 * math.pi * f)[1]
    phase = polarity + np.degrees(np.angle(response)) + 0.2 * rng.standard_normal(f.size)
    line = fit(f, phase, 0.2)
    delay = math.sqrt(2.0) / high  # of a second-order Butterworth low-pass at low frequencies, closed form
    assert (line.shape, line.holds) == (BENT, True)
    assert abs(line.delay_s - delay) < line.expanded_delay_s.U < 0.1 * delay
    assert abs(wrapped(line.intercept_deg - polarity)) < line.expanded_intercept_deg.U < 10.0


def test_scatter_beyond_the_budget_widens_the_intervals_to_those_of_ordinary_least_squares():
    phase = -0.36 * R10 + 2.0 * np.random.default_rng(5).standard_normal(R10.size)
    line = fit(R10, phase, 0.1)
    _, covariance = np.polyfit(R10, phase, 1, cov=True)  # scaled by the residuals
    assert line.fitness.widening > 100.0
    assert line.fitness.nu == R10.size - 2
    assert line.covariance[1, 1] == pytest.approx(covariance[0, 0])
    assert line.covariance[0, 0] == pytest.approx(covariance[1, 1])


def test_what_follows_no_line_is_said_to_follow_none():
    """A moving coil about its natural frequency: no delay, and no two filters far from their corners."""
    f = np.array([5, 6.3, 8, 9, 10, 11, 12.5, 16, 20, 25, 31.5])
    coil = signal.freqs([1.0, 0.0, 0.0], [1.0, 0.2 * 62.8, 62.8**2], worN=2 * math.pi * f)[1]
    assert not fit(f, np.degrees(np.angle(coil)), 0.2).holds


def test_too_few_frequencies_are_refused():
    with pytest.raises(PhaseError, match="a phase at 2 frequencies, where a line needs 3"):
        fit([10.0, 10.05, 20.0], [0.0, 0.0, 0.0])


def test_turns_are_taken_off():
    assert [wrapped(deg) for deg in (-180.0, 180.0, 190.0, -190.0, 720.5)] == [180.0, 180.0, -170.0, 170.0, 0.5]
