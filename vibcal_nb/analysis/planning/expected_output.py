"""What a good channel puts out at a planned point, and between which limits a reading is plausible."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.analysis.band_response.band_candidates import log_band
from vibcal_nb.analysis.channel.module_alone import nominal_at
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.analysis.readings.point_limits import point_limits
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.asset import BandSpecification, Channel, GapCurveSpecification
from vibcal_nb.model.band_requirements import requirements_of
from vibcal_nb.model.names import BAND_RESPONSE, GAP_CURVE, LINEARITY, MODULE_ALONE, SENSOR_ALONE
from vibcal_nb.model.tolerance import Tolerance

USUAL_ORDER = 2  # where a channel states corners and no order; common practice, no source
ORDERS = (1, 2, 3, 4)


@dataclass(frozen=True, kw_only=True)
class ExpectedOutput:
    """Output of a channel as specified, in its output unit with the zero; ``lowest`` to ``highest`` is plausible."""

    expected: float
    lowest: float
    highest: float


@dataclass(frozen=True, kw_only=True)
class Expectation:
    """What a good channel puts out at one frequency, at any level.

    At level x it is ``zero + slope shape x``; it is plausible from ``zero + slope low (x - t)`` to ``zero + slope high
    (x + t)``, where t is what ``tolerance`` allows at x. Output in the output unit, levels in the input unit.
    """

    zero: float
    slope: float
    shape: float
    low: float
    high: float
    tolerance: Tolerance
    full_scale: float | None = None

    def at(self, level: float) -> ExpectedOutput:
        """Return the output at a level."""
        allowed = self.tolerance.allowed(level, full_scale=self.full_scale)
        return ExpectedOutput(
            expected=self.zero + self.slope * self.shape * level,
            lowest=self.zero + self.slope * self.low * (level - allowed),
            highest=self.zero + self.slope * self.high * (level + allowed),
        )


def nominal_response(
    band: BandSpecification | None,
    frequency_hz: ArrayLike,
    *,
    order: int = USUAL_ORDER,
    low_factor: float = 1.0,
    high_factor: float = 1.0,
) -> FloatArray:
    """Return the response of a band at ``frequency_hz`` (n,), relative to the specified one's at its reference.

    Butterworth filters of one order at the specified corners times ``low_factor`` and ``high_factor``; shape (n,).
    """
    f = np.atleast_1d(np.asarray(frequency_hz, dtype=np.float64))
    if band is None:
        return np.ones(f.size)
    low, high = band.corner_low_hz, band.corner_high_hz
    orders = np.array([[order if low else 0, order if high else 0]], dtype=np.int64)
    plain = np.array([[0.0, math.log(low or 1.0), math.log(high or 1.0)]])
    shifted = plain + np.log([[1.0, low_factor, high_factor]])
    at = log_band(orders, shifted, np.log(f))[0][0]
    reference = log_band(orders, plain, np.log([band.reference_hz]))[0][0]
    return np.asarray(np.exp(at - reference))


def expect_linearity(channel: Channel) -> Expectation:
    """Return what the nominal sensitivity gives, within the tolerance, which applies at every point."""
    return Expectation(
        zero=channel.output_zero,
        slope=channel.nominal_sensitivity,
        shape=1.0,
        low=1.0,
        high=1.0,
        tolerance=channel.tolerance,
        full_scale=channel.full_scale,
    )


def expect_band(channel: Channel, band: BandSpecification, *, frequency_hz: float) -> Expectation:
    """Return what the band gives, within its limits where it has any, else within what orders 1 to 4 span.

    Either way with the tolerance: the limits refer to the reading at the reference frequency, which itself may
    lie anywhere in the tolerance.
    """
    shape, low, high = _shape_of_band(band, frequency_hz)
    return replace(expect_linearity(channel), shape=shape, low=low, high=high)


@lru_cache(maxsize=4096)  # asked again and again for the same few frequencies, reading by reading
def _shape_of_band(band: BandSpecification, frequency_hz: float) -> tuple[float, float, float]:
    """What the band gives at a frequency, relative to its reference, and the least and most that it may give."""
    shape = float(nominal_response(band, frequency_hz)[0])
    low, high = point_limits(frequency_hz, band, tuple(requirements_of(band)))
    if low is None or high is None:
        spanned = [float(nominal_response(band, frequency_hz, order=order)[0]) for order in ORDERS]
        low, high = 100.0 * min(spanned), 100.0 * max(spanned)
    return float(np.clip(shape, low / 100.0, high / 100.0)), low / 100.0, high / 100.0


def expect_sensor(channel: Channel, *, frequency_hz: float) -> Expectation:
    """Return what the sensor alone gives, within its tolerance, and its flatness away from the reference frequency.

    Raises ``ValueError`` where the channel states no sensor.
    """
    sensor = channel.sensor
    if sensor is None:
        raise ValueError(f"Channel {channel.tag} has no [sensor] table in asset.toml; add it to plan the sensor alone.")
    flat = 0.0 if same_frequency(frequency_hz, sensor.reference_hz) else (sensor.flat_pct or 0.0) / 100.0
    return Expectation(
        zero=0.0,
        slope=sensor.nominal_sensitivity,
        shape=1.0,
        low=1.0 - flat,
        high=1.0 + flat,
        tolerance=Tolerance(reading_pct=sensor.tolerance_pct),
    )


def expect_module(channel: Channel, *, frequency_hz: float) -> Expectation:
    """Return what follows the sensor gives of a signal injected in its place, within its tolerance.

    Raises ``NothingToAnalyse`` where the channel states no module.
    """
    nominal, module = nominal_at(channel, frequency_hz), channel.module
    assert module is not None  # else it has no nominal sensitivity
    return Expectation(
        zero=channel.output_zero if module.output_unit.detector == "dc" else 0.0,
        slope=nominal,
        shape=1.0,
        low=1.0,
        high=1.0,
        tolerance=Tolerance(reading_pct=module.tolerance_pct),
    )


def expect_voltage(found: GapCurveSpecification, gap: float) -> ExpectedOutput | None:
    """Return the voltage of a good probe at a gap: from those allowed at rest along the nominal slope.

    None where the voltage at rest is not stated. The slope may be off by ``incremental_pct``.
    """
    if found.rest_voltage is None or found.rest_gap is None:
        return None
    away = gap - found.rest_gap
    slack = abs(found.nominal_sensitivity * away) * (found.incremental_pct or 0.0) / 100.0
    low, high = (value + found.nominal_sensitivity * away for value in found.rest_voltage)
    return ExpectedOutput(expected=0.5 * (low + high), lowest=low - slack, highest=high + slack)


def expect_reading(channel: Channel, test: str, *, frequency_hz: float, level: float) -> ExpectedOutput | None:
    """Return what a good channel gives in a test, in the units of the part under test; None where nothing says it."""
    if test == GAP_CURVE:
        return None if channel.gap_curve is None else expect_voltage(channel.gap_curve, level)
    if test == BAND_RESPONSE and channel.band is not None:
        return expect_band(channel, channel.band, frequency_hz=frequency_hz).at(level)
    if test == SENSOR_ALONE and channel.sensor is not None:
        return expect_sensor(channel, frequency_hz=frequency_hz).at(level)
    if test == MODULE_ALONE and channel.module is not None:
        return expect_module(channel, frequency_hz=frequency_hz).at(level)
    return expect_linearity(channel).at(level) if test == LINEARITY else None
