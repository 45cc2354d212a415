"""Sensitivities as shares of their nominal value, with the part of their uncertainty that is each one's own."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.band_response.band_response import BandResponseResult
from vibcal_nb.analysis.linearity.linearity import LinearityResult
from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, group_close, same_frequency
from vibcal_nb.analysis.readings.relative_response import RelativeReadings, relative_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.analysis.sensor_alone.sensor_test import SensorTest
from vibcal_nb.metrology.uncertainty.coverage import combine
from vibcal_nb.model.names import LINEARITY


@dataclass(frozen=True, kw_only=True)
class SensitivityAt:
    """A sensitivity at one frequency: ``ratio`` to nominal, ``own`` its relative standard uncertainty.

    ``own`` leaves out what all readings of the visit share and what all levels at one frequency share; it has
    ``nu`` degrees of freedom. ``source`` names the test and how it was had; ``interpolated`` says that it was not read
    at this frequency, so that the reference's error was that of its neighbours.
    """

    frequency_hz: float
    ratio: float
    own: float
    nu: float
    source: str
    interpolated: bool = False


def line_sensitivities(result: LinearityResult) -> tuple[SensitivityAt, ...]:
    """Return the slope of each fitted line as a share of nominal; lines that do not rise are left out."""
    nominal = result.case.nominal_sensitivity
    return tuple(
        SensitivityAt(
            frequency_hz=item.frequency_hz,
            ratio=item.line.sensitivity / nominal,
            own=item.line.fit.u_slope / item.line.sensitivity,
            nu=item.line.nu,
            source=LINEARITY,
        )
        for item in result.frequencies
        if item.line is not None and item.line.sensitivity > 0.0
    )


def reading_sensitivities(result: BandResponseResult | SensorTest) -> tuple[SensitivityAt, ...]:
    """Return the sensitivity of readings over frequency as shares of nominal, readings at one frequency averaged."""
    scaled = scale_readings(result.case)
    relative = relative_readings(scaled, result.uncertainty, reference_hz=result.specification.reference_hz)
    good = scaled.used & (np.nan_to_num(relative.sensitivity) > 0.0)
    return tuple(_averaged(result, relative, good))


def _averaged(
    result: BandResponseResult | SensorTest, relative: RelativeReadings, good: np.ndarray
) -> Iterator[SensitivityAt]:
    chosen = np.flatnonzero(good)
    frequency = relative.readings.frequency_hz
    for group in group_close(frequency[chosen], within_pct=SAME_FREQUENCY_PCT):
        same = chosen[group]
        yield SensitivityAt(
            frequency_hz=float(frequency[same].mean()),
            ratio=float(relative.sensitivity[same].mean()) / result.case.nominal_sensitivity,
            own=float(np.sqrt((relative.own_pct[same] ** 2).sum())) / len(same) / 100.0,
            nu=result.uncertainty.degrees_of_freedom,
            source=result.case.test,
        )


def sensitivity_at(readings: tuple[SensitivityAt, ...], frequency_hz: float) -> SensitivityAt | None:
    """Return the sensitivity at a frequency: read there, or between its two neighbours; None outside of them.

    Between neighbours it is interpolated over the logarithm of frequency, and the difference of the two counts as
    the width of a rectangular distribution.
    """
    near = [r for r in readings if same_frequency(r.frequency_hz, frequency_hz)]
    if near:
        return min(near, key=lambda r: abs(r.frequency_hz - frequency_hz))
    below = [r for r in readings if r.frequency_hz < frequency_hz]
    above = [r for r in readings if r.frequency_hz > frequency_hz]
    if not below or not above:
        return None
    low, high = below[-1], above[0]
    share = math.log(frequency_hz / low.frequency_hz) / math.log(high.frequency_hz / low.frequency_hz)
    ratio = low.ratio + share * (high.ratio - low.ratio)
    width = abs(high.ratio - low.ratio) / ratio / math.sqrt(12.0)
    own = combine((max(low.own, high.own), min(low.nu, high.nu)), (width, math.inf))
    return SensitivityAt(
        frequency_hz=frequency_hz,
        ratio=ratio,
        own=own.u,
        nu=own.nu,
        source=f"{low.source}, between {low.frequency_hz:.5g} and {high.frequency_hz:.5g} Hz",
        interpolated=True,
    )
