"""The band model's magnitude against published Butterworth values and scipy.signal's analogue filters."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal

from tests.support.readings.cases import butterworth
from vibcal_nb.analysis.band_response.band_candidates import log_band

# Recomputed with scipy.signal (analogue).
# dB at 2fc, 10fc; corner -3.0102999566 dB always
BUTTER = {
    1: {"f2": -6.9897000433601875, "f10": -20.043213737826427},
    2: {"f2": -12.30448921378274, "f10": -40.00043427276863},
    3: {"f2": -18.129133566428557, "f10": -60.000004342942646},
    4: {"f2": -24.099331233312945, "f10": -80.00000004342945},
}
# f/fc where |H|=0.95 (low-pass)
BUTTER_5PCT_DROP = {1: 0.3286841051788632, 2: 0.5733097811644793, 3: 0.6901225751424518, 4: 0.7571722268840024}
CASCADE_HP3_LP3_10_1000 = {
    1: 0.001, 2.5: 0.01562, 5: 0.12403, 10: 0.70711, 12.5: 0.89011, 16: 0.97147, 20: 0.99228, 40: 0.99988,
    80: 1.0, 160: 0.99999, 500: 0.99228, 800: 0.89011, 1000: 0.70711, 2500: 0.06387, 4000: 0.01562, 10000: 0.001,
}  # fmt: skip
BP_ANALOG_butter2_10_1000 = {
    1: 0.009802489505, 5: 0.239111411339, 10: 0.707106781187, 20: 0.973464041381, 100: 1.0,
    500: 0.973464041381, 1000: 0.707106781187, 2000: 0.239111411339, 10000: 0.009802489505,
}  # fmt: skip


def model(f, *, low=None, high=None):
    """The package's band model with the given (corner in Hz, order), a plateau of 1."""
    (low_hz, low_order), (high_hz, high_order) = low or (1.0, 0), high or (1.0, 0)
    parameters = np.array([[0.0, math.log(low_hz), math.log(high_hz)]])
    value, _ = log_band(np.array([[low_order, high_order]]), parameters, np.log(np.atleast_1d(f)))
    return np.exp(value[0]) if np.ndim(f) else float(np.exp(value[0, 0]))


def decibels(ratio):
    return 20.0 * np.log10(ratio)


@pytest.mark.parametrize("order", [1, 2, 3, 4])
def test_level_at_the_corner_and_beyond(order):
    expected = [-3.0102999566, BUTTER[order]["f2"], BUTTER[order]["f10"]]
    levels = decibels(model([50.0, 100.0, 500.0], high=(50.0, order)))
    np.testing.assert_allclose(levels, expected, atol=1e-9)
    levels = decibels(model([50.0, 25.0, 5.0], low=(50.0, order)))
    np.testing.assert_allclose(levels, expected, atol=1e-9)


@pytest.mark.parametrize("order", [1, 2, 3, 4])
def test_frequency_of_a_drop_by_5_percent(order):
    assert model(BUTTER_5PCT_DROP[order], high=(1.0, order)) == pytest.approx(0.95, abs=1e-12)
    assert model(1.0 / BUTTER_5PCT_DROP[order], low=(1.0, order)) == pytest.approx(0.95, abs=1e-12)


def test_cascade_of_high_and_low_pass():
    f = np.array(list(CASCADE_HP3_LP3_10_1000))
    cascade = model(f, low=(10.0, 3), high=(1000.0, 3))
    np.testing.assert_allclose(cascade, list(CASCADE_HP3_LP3_10_1000.values()), atol=5.1e-6)


def test_a_band_pass_prototype_is_not_the_cascade():
    """A band-pass transformed from the low-pass of order 2 is another filter: equal at the corners only nearly."""
    f = np.array(list(BP_ANALOG_butter2_10_1000))
    _, response = signal.freqs(*signal.butter(2, [10.0, 1000.0], "bandpass", analog=True), worN=f)
    np.testing.assert_allclose(np.abs(response), list(BP_ANALOG_butter2_10_1000.values()), atol=1e-9)
    cascade = model(f, low=(10.0, 2), high=(1000.0, 2))
    assert np.abs(cascade / np.abs(response) - 1.0).max() > 0.01


@pytest.mark.parametrize("low_order", [0, 1, 2, 3, 4])
@pytest.mark.parametrize("high_order", [0, 1, 2, 3, 4])
def test_scipy_agrees(low_order, high_order):
    f = np.geomspace(1.0, 5000.0, 31)
    low = (20.0, low_order) if low_order else None
    high = (400.0, high_order) if high_order else None
    np.testing.assert_allclose(model(f, low=low, high=high), butterworth(f, low=low, high=high), rtol=1e-9)


def test_a_filter_far_away_neither_overflows_nor_matters():
    f = np.array([1e-3, 1.0, 1e6])
    np.testing.assert_array_equal(model(f, low=(1e-200, 4), high=(1e200, 4)), np.ones(3))
    assert model(1e-100, low=(1e100, 4)) == 0.0
