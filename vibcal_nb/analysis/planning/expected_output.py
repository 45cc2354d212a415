"""What a good channel puts out at a planned point, and between which limits a reading is plausible."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.analysis.band_response.band_candidates import log_band
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.analysis.readings.point_limits import point_limits
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.asset import BandSpecification, Channel
from vibcal_nb.model.band_requirements import requirements_of

USUAL_ORDER = 2  # where a channel states corners and no order; common practice, no source
ORDERS = (1, 2, 3, 4)


@dataclass(frozen=True, kw_only=True)
class ExpectedOutput:
    """Output of a channel as specified, in its output unit with the zero; ``lowest`` to ``highest`` is plausible."""

    expected: float
    lowest: float
    highest: float


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


def expect_linearity(channel: Channel, *, level: float) -> ExpectedOutput:
    """Return what the nominal sensitivity gives, within the tolerance, which applies at every point."""
    tolerance = channel.tolerance.allowed_pct(level, full_scale=channel.full_scale) / 100.0
    return _scaled(channel.nominal_sensitivity * level, channel.output_zero, 1.0, 1.0 - tolerance, 1.0 + tolerance)


def expect_band(channel: Channel, band: BandSpecification, *, frequency_hz: float, level: float) -> ExpectedOutput:
    """Return what the band gives, within its limits where it has any, else within what orders 1 to 4 span.

    Either way with the tolerance: the limits refer to the reading at the reference frequency, which itself may
    lie anywhere in the tolerance.
    """
    tolerance = channel.tolerance.allowed_pct(level, full_scale=channel.full_scale) / 100.0
    shape = float(nominal_response(band, frequency_hz)[0])
    low, high = point_limits(frequency_hz, band, tuple(requirements_of(band)))
    if low is None or high is None:
        spanned = [float(nominal_response(band, frequency_hz, order=order)[0]) for order in ORDERS]
        low, high = 100.0 * min(spanned), 100.0 * max(spanned)
    shape = float(np.clip(shape, low / 100.0, high / 100.0))
    lowest, highest = (1.0 - tolerance) * low / 100.0, (1.0 + tolerance) * high / 100.0
    return _scaled(channel.nominal_sensitivity * level, channel.output_zero, shape, lowest, highest)


def expect_sensor(channel: Channel, *, frequency_hz: float, level: float) -> ExpectedOutput:
    """Return what the sensor alone gives, within its tolerance, and its flatness away from the reference frequency.

    Raises ``ValueError`` where the channel states no sensor.
    """
    sensor = channel.sensor
    if sensor is None:
        raise ValueError(f"Channel {channel.tag} has no [sensor] table in asset.toml; add it to plan the sensor alone.")
    tolerance = sensor.tolerance_pct / 100.0
    flat = 0.0 if same_frequency(frequency_hz, sensor.reference_hz) else (sensor.flat_pct or 0.0) / 100.0
    lowest, highest = (1.0 - tolerance) * (1.0 - flat), (1.0 + tolerance) * (1.0 + flat)
    return _scaled(sensor.nominal_sensitivity * level, 0.0, 1.0, lowest, highest)


def _scaled(nominal: float, zero: float, shape: float, lowest: float, highest: float) -> ExpectedOutput:
    return ExpectedOutput(
        expected=zero + nominal * shape, lowest=zero + nominal * lowest, highest=zero + nominal * highest
    )
