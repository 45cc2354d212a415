"""Which levels and frequencies the tests of a channel need, whatever the shaker can do about them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from vibcal_nb.analysis.channel.module_alone import nominal_at
from vibcal_nb.analysis.planning.expected_output import expect_voltage
from vibcal_nb.analysis.planning.plan import PlannedPoint
from vibcal_nb.analysis.planning.preferred_frequencies import preferred_frequencies
from vibcal_nb.model.asset import BandSpecification, Channel, GapCurveSpecification, SensorSpecification
from vibcal_nb.model.names import BAND_RESPONSE, DIRECTIONS, GAP_CURVE, LINEARITY, MODULE_ALONE, SENSOR_ALONE
from vibcal_nb.units import convert, parse_unit

# Judgement: spread over the range, with the top a tenth above the trip so that the trip lies inside.
LEVEL_SHARES = (0.1, 0.25, 0.5, 0.75)
ABOVE_TRIP = 1.1
BAND_SHARE = 0.5  # of the alert: well above the noise, well below saturation
SENSOR_LEVEL_M_S2 = 10.0
NEAR_CORNER = 2.0
BEYOND_CORNER = 1.6
GAP_STEPS = 8  # of a range of gaps whose step is not stated
SAME_PCT = 8.0  # a preferred frequency or a share so near to a required one adds nothing


@dataclass(frozen=True, kw_only=True)
class WantedPoint:
    """A point that a test needs: ``level`` in the unit of the part under test, ``purpose`` in a few words.

    ``required`` points are what a limit or a set point hangs on; the others fill the range. ``repeat`` numbers a point
    that is read more than once.
    """

    test: str
    frequency_hz: float
    level: float
    purpose: str
    required: bool
    repeat: int | None = None


def top_level(channel: Channel) -> float | None:
    """Return the highest level that linearity needs, in the channel's input unit; None without any set point."""
    highest = channel.trip or channel.alert
    if highest is None:
        return channel.full_scale
    return min(ABOVE_TRIP * highest, channel.full_scale or math.inf)


def test_frequencies(channel: Channel) -> dict[float, str]:
    """Return the frequencies in Hz of the linearity test and whose speeds they are."""
    speeds = {rotor.speed_hz: rotor.name for rotor in channel.rotors}
    if speeds or channel.band is None:
        return speeds
    return {channel.band.reference_hz: "reference frequency"}


def want_linearity(channel: Channel, *, frequency_hz: float, top: float) -> list[WantedPoint]:
    """Return the levels at one rotor's speed, ascending, up to ``top`` in the channel's input unit."""
    required = {top: "top of the range"}
    for name, level in channel.set_points:
        if level <= top:
            required[level] = name
    shares = (float(f"{share * top:.3g}") for share in LEVEL_SHARES)
    levels = dict.fromkeys(_apart(shares, required), "range") | required
    return [
        WantedPoint(
            test=LINEARITY,
            frequency_hz=frequency_hz,
            level=level,
            purpose=purpose,
            required=purpose != "range",
        )
        for level, purpose in sorted(levels.items())
    ]


def want_band(channel: Channel, band: BandSpecification) -> list[WantedPoint]:
    """Return the frequencies of the band response at one level in the channel's input unit, see `_enclosed`."""
    reference_level = BAND_SHARE * (channel.alert or channel.trip or channel.full_scale or 1.0)
    required = dict(_band_needs(channel, band))
    low, high = _band_span(band, required)
    fill = [*preferred_frequencies(low, high, every=2)]
    for corner in (band.corner_low_hz, band.corner_high_hz):
        if corner is not None:
            fill += preferred_frequencies(max(corner / NEAR_CORNER, low), min(corner * NEAR_CORNER, high))
    frequencies = dict.fromkeys(_apart(sorted(set(fill)), required), "shape") | required
    wanted = [
        WantedPoint(
            test=BAND_RESPONSE, frequency_hz=f, level=reference_level, purpose=purpose, required=purpose != "shape"
        )
        for f, purpose in sorted(frequencies.items())
    ]
    return _enclosed(wanted, band.reference_hz)


def _band_needs(channel: Channel, band: BandSpecification) -> Iterator[tuple[float, str]]:
    """Frequencies that a limit hangs on; later ones name a frequency that has several purposes."""
    for rotor in channel.rotors:
        yield rotor.speed_hz, f"speed of the {rotor.name}"
    for frequency in band.flat_hz or ():
        yield frequency, "edge of the flat part"
    for limit in band.limits:
        yield limit.frequency_hz, "limit"
    for name, corner in (("lower corner", band.corner_low_hz), ("upper corner", band.corner_high_hz)):
        if corner is not None:
            yield corner, name
    yield band.reference_hz, "reference frequency"


def _band_span(band: BandSpecification, required: Iterable[float]) -> tuple[float, float]:
    low = band.corner_low_hz / NEAR_CORNER if band.corner_low_hz else min(required)
    high = band.corner_high_hz * BEYOND_CORNER if band.corner_high_hz else max(required)
    return min(low, *required), max(high, *required)


def want_sensor(sensor: SensorSpecification) -> list[WantedPoint]:
    """Return the frequencies of the sensor alone at one level in the sensor's input unit, see `_enclosed`."""
    low, high = sensor.flat_hz or (sensor.reference_hz / 4.0, sensor.reference_hz * 4.0)
    level = convert(SENSOR_LEVEL_M_S2, parse_unit("m/s2 pk"), sensor.input_unit, frequency_hz=sensor.reference_hz)
    required = {low: "edge of the flat part", high: "edge of the flat part"}
    required[sensor.reference_hz] = "reference frequency"
    frequencies = dict.fromkeys(_apart(preferred_frequencies(low, high, every=2), required), "flatness") | required
    wanted = [
        WantedPoint(test=SENSOR_ALONE, frequency_hz=f, level=level, purpose=purpose, required=purpose != "flatness")
        for f, purpose in sorted(frequencies.items())
    ]
    return _enclosed(wanted, sensor.reference_hz)


def _enclosed(ascending: list[WantedPoint], reference_hz: float) -> list[WantedPoint]:
    """The reference frequency first and last, the others ascending between: both readings show how the set-up drifted.

    The last reading is not required: without it the test stands, and nothing is known of the drift.
    """
    (reference,) = [point for point in ascending if point.frequency_hz == reference_hz]
    others = [point for point in ascending if point is not reference]
    again = replace(reference, purpose=f"{reference.purpose}, again", required=False, repeat=2)
    return [replace(reference, repeat=1), *others, again]


def want_module(channel: Channel) -> list[WantedPoint]:
    """Return the signals to inject in the sensor's place, in the module's input unit, at each rotor's speed.

    They stand for the levels of a linearity test up to beyond the trip: what a good module turns into the output that
    the channel gives at each.
    """
    top = top_level(channel)
    if channel.module is None or top is None:
        return []
    found = []
    for frequency, _ in test_frequencies(channel).items():
        per_level = channel.nominal_sensitivity / nominal_at(channel, frequency)
        found += [
            replace(point, test=MODULE_ALONE, level=float(f"{point.level * per_level:.4g}"))
            for point in want_linearity(channel, frequency_hz=frequency, top=top)
        ]
    return found


def _apart(values: Iterable[float], required: Iterable[float]) -> list[float]:
    """Values that no required one stands for."""
    kept = list(required)
    return [v for v in values if all(abs(v / other - 1.0) > SAME_PCT / 100.0 for other in kept)]


def plan_gaps(channel: Channel) -> Iterator[PlannedPoint]:
    """Yield the readings of a gap curve, rising and falling; none where the channel states no range."""
    found = channel.gap_curve
    if found is None or found.range is None:
        return
    gaps = _gaps(found, found.range)
    for direction in DIRECTIONS:
        for gap in gaps if direction == DIRECTIONS[0] else reversed(gaps):
            yield PlannedPoint(
                channel=channel.tag,
                test=GAP_CURVE,
                frequency_hz=0.0,
                level=gap,
                applied_unit=found.input_unit,
                output=expect_voltage(found, gap),
                output_unit=found.output_unit,
                purpose="rest gap" if gap == found.rest_gap else "gap",
                direction=direction,
            )


def _gaps(found: GapCurveSpecification, ends: tuple[float, float]) -> list[float]:
    """From one end of the range to the other by its step, a last one shorter where it does not go in."""
    low, high = ends
    step = found.step or (high - low) / GAP_STEPS
    steps = np.arange(low, high + 1e-9 * step, step)
    return [float(f"{gap:.6g}") for gap in (steps if high - steps[-1] < 0.1 * step else [*steps, high])]
