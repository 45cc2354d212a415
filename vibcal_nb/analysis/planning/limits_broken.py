"""Which of many simulated runs of one test break a limit, all at once: the analyses' limits without the analyses.

A value outside its tolerance is `fail` or `conditional fail` under every decision rule, so that the rule does not
matter here.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from vibcal_nb.analysis.linearity.line_shape import nonlinearity_lines
from vibcal_nb.analysis.linearity.linearity import FEWEST_LEVELS
from vibcal_nb.analysis.readings.grouping import (
    SAME_FREQUENCY_PCT,
    SAME_LEVEL_PCT,
    at_frequency,
    group_close,
    lies_within,
)
from vibcal_nb.analysis.readings.point_limits import point_limits
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.arrays import BoolArray, FloatArray
from vibcal_nb.metrology.straight_line.nonlinearity import minimax_deviations
from vibcal_nb.model.band_requirements import requirements_of
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY, SENSOR_ALONE

ON_LIMIT = 1.0 + 1e-12  # as `decide` has it: a reading exactly at a limit is not outside


def broken(case: Case, scaled: ScaledReadings, y: FloatArray, *, u_y: FloatArray) -> BoolArray:
    """Say for each run, shape (t,), whether it breaks a limit of the case's test.

    ``y`` (t, n) are the outputs less the zero, ``u_y`` (n,) their independent standard uncertainties. A limit at which
    no reading is planned is not judged (the full analysis may judge it by its fitted model).
    """
    judge: dict[str, Callable[..., BoolArray]] = {
        LINEARITY: _linearity,
        BAND_RESPONSE: _band,
        SENSOR_ALONE: _sensor,
    }
    return judge[case.test](case, scaled, y, u_y)


def _linearity(case: Case, scaled: ScaledReadings, y: FloatArray, u_y: FloatArray) -> BoolArray:
    tolerance, nominal = case.channel.tolerance_pct / 100.0 * ON_LIMIT, case.nominal_sensitivity
    allowed = case.channel.tolerance.allowed(scaled.x, full_scale=case.channel.full_scale) * ON_LIMIT
    found = np.asarray((np.abs(y / nominal - scaled.x) > allowed).any(axis=1))
    for group in group_close(scaled.frequency_hz, within_pct=SAME_FREQUENCY_PCT):
        x = scaled.x[group]
        if len(group_close(x, within_pct=SAME_LEVEL_PCT)) < FEWEST_LEVELS:
            continue
        slopes = _slopes(x, y[:, group], 1.0 / u_y[group] ** 2)
        found |= np.abs(slopes / nominal - 1.0) > tolerance
        if case.channel.nonlinearity_pct is not None:
            deviations = _nonlinearity(case.channel.nonlinearity_kind, x, y[:, group])
            span = np.abs(y[:, group]).max(axis=1)
            found |= 100.0 * deviations / span > case.channel.nonlinearity_pct * ON_LIMIT
    return found


def _slopes(x: FloatArray, y: FloatArray, weights: FloatArray) -> FloatArray:
    """Weighted least-squares slopes of many lines through the same levels; shape (t,)."""
    centred = x - (weights * x).sum() / weights.sum()
    return np.asarray(y @ (weights * centred) / (weights * centred**2).sum())


def _nonlinearity(kind: str, x: FloatArray, y: FloatArray) -> FloatArray:
    if kind == "independent":
        return minimax_deviations(x, y)
    return np.array([nonlinearity_lines(x, run)[kind].max_deviation for run in y])


def _relative(scaled: ScaledReadings, y: FloatArray, reference_hz: float) -> tuple[FloatArray, BoolArray]:
    """Sensitivities in % of their mean at the reference frequency, and which readings were taken there."""
    at = at_frequency(scaled.frequency_hz, reference_hz)
    sensitivity = y / scaled.x
    if not at.any():
        return np.full(y.shape, 100.0), at
    return 100.0 * sensitivity / sensitivity[:, at].mean(axis=1, keepdims=True), at


def _band(case: Case, scaled: ScaledReadings, y: FloatArray, u_y: FloatArray) -> BoolArray:
    band = case.channel.band
    assert band is not None  # the plan has points of this test only where there is a band
    response, at = _relative(scaled, y, band.reference_hz)
    required = tuple(requirements_of(band))
    found = np.zeros(y.shape[0], dtype=bool)
    for i in np.flatnonzero(~at):
        low, high = point_limits(float(scaled.frequency_hz[i]), band, required)
        if low is not None and high is not None:
            found |= (response[:, i] * ON_LIMIT < low) | (response[:, i] > high * ON_LIMIT)
    return found


def _sensor(case: Case, scaled: ScaledReadings, y: FloatArray, u_y: FloatArray) -> BoolArray:
    sensor = case.channel.sensor
    assert sensor is not None  # as above
    response, at = _relative(scaled, y, sensor.reference_hz)
    mean = (y[:, at] / scaled.x[at]).mean(axis=1) if at.any() else np.full(y.shape[0], sensor.nominal_sensitivity)
    found = np.abs(mean / sensor.nominal_sensitivity - 1.0) > sensor.tolerance_pct / 100.0 * ON_LIMIT
    if sensor.flat_pct is not None:
        low, high = sensor.flat_hz or (0.0, np.inf)
        inside = lies_within(scaled.frequency_hz, low, high) & ~at
        found |= (np.abs(response[:, inside] - 100.0) > sensor.flat_pct * ON_LIMIT).any(axis=1)
    return np.asarray(found)
