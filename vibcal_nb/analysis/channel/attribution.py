"""Along the chain: how much of a channel's deviation is the sensor's, and how much that of everything after it.

(1 + d_channel) = (1 + d_sensor)(1 + d_rest). The readings of the sensor alone and those of the channel of a visit
were taken with the same reference and readout, so that what these share cancels in the rest; what is each test's
own does not, nor does what levels at one frequency share (mounting, transverse motion), because the sensor is
mounted anew.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import ndtri

from vibcal_nb.analysis.band_response.band_response import BandResponseResult
from vibcal_nb.analysis.channel.module_alone import ModuleAloneResult
from vibcal_nb.analysis.channel.sensitivity_at import (
    SensitivityAt,
    line_sensitivities,
    reading_sensitivities,
    sensitivity_at,
)
from vibcal_nb.analysis.linearity.line_shape import SIGNIFICANCE
from vibcal_nb.analysis.linearity.linearity import LinearityResult
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty
from vibcal_nb.analysis.sensor_alone.sensor_test import SensorTest
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine
from vibcal_nb.model.names import LINEARITY

_K_SIGNIFICANT = float(ndtri(1.0 - SIGNIFICANCE / 2.0))
_LEAST_PCT = 1.0  # smaller disagreements of two tests matter to nobody


@dataclass(frozen=True, kw_only=True)
class AttributionAt:
    """Deviations from nominal at one frequency, in %, each with its uncertainty in %.

    ``rest`` is everything after the sensor: joint, cable, module and monitor, with what the band filter takes at
    this frequency. ``test`` names the channel's test.
    """

    frequency_hz: float
    channel_pct: float
    sensor_pct: float
    rest_pct: float
    channel: Expanded
    sensor: Expanded
    rest: Expanded
    test: str


@dataclass(frozen=True, kw_only=True)
class Attribution:
    """The deviation attributed by frequency, ascending; ``main`` is where it counts.

    ``main`` is the linearity test nearest to the sensor's reference frequency, else the band response at it.
    ``contradictions`` say in sentences where tests cannot all be right.
    """

    points: tuple[AttributionAt, ...]
    main: AttributionAt
    contradictions: tuple[str, ...]


def attribute(
    linearity: LinearityResult | None,
    band: BandResponseResult | None,
    sensor: SensorTest,
    module: ModuleAloneResult | None = None,
) -> Attribution | None:
    """Attribute the channel's deviation to its sensor and the rest; None where no frequency has both tests."""
    alone = reading_sensitivities(sensor)
    lines = () if linearity is None else line_sensitivities(linearity)
    readings = () if band is None else reading_sensitivities(band)
    points = [
        _attribute(whole, part, sensor)
        for whole in (*lines, *readings)
        if (part := sensitivity_at(alone, whole.frequency_hz)) is not None
    ]
    if not points:
        return None
    points.sort(key=lambda item: (item.frequency_hz, item.test))
    reference = sensor.specification.reference_hz
    main = min(points, key=lambda item: (item.test != LINEARITY, abs(math.log(item.frequency_hz / reference))))
    contradictions = (
        *_disagreeing_tests(lines, readings, sensor),
        *_compensation(main, sensor),
        *_rise(points, sensor),
        *_open_chain(main, module),
    )
    return Attribution(points=tuple(points), main=main, contradictions=contradictions)


def _attribute(whole: SensitivityAt, part: SensitivityAt, sensor: SensorTest) -> AttributionAt:
    uncertainty = sensor.uncertainty
    hz = whole.frequency_hz
    shared = math.hypot(uncertainty.u_common_pct(hz), uncertainty.u_frequency_pct(hz)) / 100.0
    ratio, probability = whole.ratio / part.ratio, uncertainty.probability
    own, sensors = (whole.own, whole.nu), (part.own, part.nu)
    left = _left_in_ratio(part, uncertainty) / 100.0
    return AttributionAt(
        frequency_hz=hz,
        channel_pct=100.0 * (whole.ratio - 1.0),
        sensor_pct=100.0 * (part.ratio - 1.0),
        rest_pct=100.0 * (ratio - 1.0),
        channel=_percent(whole.ratio, (shared, math.inf), own, probability=probability),
        sensor=_percent(part.ratio, (shared, math.inf), sensors, probability=probability),
        rest=_percent(ratio, (left, math.inf), own, sensors, probability=probability),
        test=whole.source,
    )


def _left_in_ratio(part: SensitivityAt, uncertainty: ReadingUncertainty) -> float:
    """What two tests at one frequency do not share, in %: each one's mounting; the certificate's error cancels.

    Where the sensor was read at neighbouring frequencies, the certificate's error there was not the one here.
    """
    hz = part.frequency_hz
    each = uncertainty.u_own_frequency_pct(hz) if part.interpolated else uncertainty.u_frequency_pct(hz)
    return math.sqrt(2.0) * each


def _percent(ratio: float, *relative: tuple[float, float], probability: float) -> Expanded:
    return combine(*((100.0 * ratio * u, nu) for u, nu in relative), probability=probability)


def _disagreeing_tests(
    lines: tuple[SensitivityAt, ...], readings: tuple[SensitivityAt, ...], sensor: SensorTest
) -> list[str]:
    """The channel's own two tests at one frequency, at different levels."""
    found = []
    for line in lines:
        near = [r for r in readings if same_frequency(r.frequency_hz, line.frequency_hz)]
        for reading in near[:1]:
            apart = 100.0 * (reading.ratio / line.ratio - 1.0)
            each = sensor.uncertainty.u_frequency_pct(line.frequency_hz)
            u = math.hypot(100.0 * line.own, 100.0 * reading.own, math.sqrt(2.0) * each)
            if abs(apart) > max(_K_SIGNIFICANT * u, _LEAST_PCT):
                found.append(
                    f"at {line.frequency_hz:.5g} Hz the band response reads {apart:+.1f} % from the linearity test: "
                    "the sensitivity changes with level, or something adds to the signal, or one of the two was "
                    "written down wrong"
                )
    return found


def _compensation(main: AttributionAt, sensor: SensorTest) -> list[str]:
    tolerance = sensor.specification.tolerance_pct
    if (
        abs(main.sensor_pct) <= max(tolerance, main.sensor.U)
        or abs(main.channel_pct) > sensor.case.channel.tolerance_pct
    ):
        return []
    return [
        f"the sensor alone is {main.sensor_pct:+.1f} % off and the whole channel only {main.channel_pct:+.1f} %: "
        "either what follows the sensor was set to make up for it, or one of the two tests was wrong"
    ]


def _rise(points: list[AttributionAt], sensor: SensorTest) -> list[str]:
    """A band filter only takes away: where the rest rises, the tests disagree or the module is set otherwise."""
    read = [p for p in points if p.test != LINEARITY]  # one level, so that only the frequency differs
    if not read:
        return []
    limit = sensor.specification.flat_pct or sensor.specification.tolerance_pct
    base = min(read, key=lambda p: abs(math.log(p.frequency_hz / sensor.specification.reference_hz)))
    rises = [(100.0 * ((100.0 + p.rest_pct) / (100.0 + base.rest_pct) - 1.0), p) for p in read]
    most, at = max(rises, key=lambda item: item[0])
    if most <= max(limit, _K_SIGNIFICANT * math.hypot(at.rest.u, base.rest.u)):
        return []
    return [
        f"at {at.frequency_hz:.5g} Hz the channel shows {most:.1f} % more of what the sensor alone gives than at "
        f"{base.frequency_hz:.5g} Hz, which no band filter does: the module is not set as stated, something adds to "
        "the signal, or one of the tests was wrong"
    ]


def _open_chain(main: AttributionAt, module: ModuleAloneResult | None) -> list[str]:
    """Sensor alone times module alone must give the channel, but for the joint and the cable."""
    for item in () if module is None else module.frequencies:
        if item.line is None or not same_frequency(item.frequency_hz, main.frequency_hz):
            continue
        between = 100.0 * ((100.0 + main.rest_pct) / (100.0 + item.line.deviation_pct) - 1.0)
        if abs(between) > max(_K_SIGNIFICANT * math.hypot(main.rest.u, item.line.deviation_expanded.u), _LEAST_PCT):
            return [
                f"at {item.frequency_hz:.5g} Hz sensor alone and module alone leave {between:+.1f} % unexplained: it "
                "lies in the joint or the cable, or one of the tests was wrong"
            ]
    return []
