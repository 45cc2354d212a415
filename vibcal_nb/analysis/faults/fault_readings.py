"""All readings of one channel in one condition, with the covariance of their errors: what explanations are fitted to.

Readings are taken as output / (nominal sensitivity x level). Their errors have a part of their own, a part that all
levels at one frequency share, and a part that all readings of the visit share (see ``reading_uncertainty``).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.faults.chain_model import Points, damped_over_butterworth
from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, group_close
from vibcal_nb.analysis.readings.reading_uncertainty import OF_THE_READOUT, ReadingUncertainty, assess_readings
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings, scale_readings
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import SENSOR_ALONE, SHAKER_TESTS
from vibcal_nb.model.readings import Reading
from vibcal_nb.problems import NothingToAnalyse

MODEL_PCT = 0.15  # what real filters and sensors differ from closed forms by; judgement, no source
FILTER_DAMPING = 0.2  # ln: Bessel lies at +0.20, a ripple of 0.5 dB at -0.20; as a standard deviation, judgement
BEND_PCT = 0.8  # more where a filter takes away a decibel and more: filters of fourth order bend otherwise
STOP_BAND_PCT = 3.0  # more for each factor e that a filter takes away beyond a half


@dataclass(frozen=True, kw_only=True, eq=False)
class FaultReadings:
    """Used readings of a channel: ``ratio`` (n,) and its ``covariance`` (n, n), both without unit.

    ``readings`` are those typed, in the order of ``points``; ``full_scale`` is in the channel's input unit and is
    what levels relate to; ``excluded`` are the readings left out, with their reasons.
    """

    channel: Channel
    cases: tuple[Case, ...]
    condition: str
    readings: tuple[Reading, ...]
    excluded: tuple[Reading, ...]
    points: Points
    ratio: FloatArray
    applied: FloatArray
    u_ratio: FloatArray
    u_frequency: float
    covariance: FloatArray
    full_scale: float

    def __len__(self) -> int:
        return len(self.readings)


def gather_readings(cases: Sequence[Case]) -> FaultReadings:
    """Gather the cases of one channel in one condition; tests that no explanation models are passed over.

    Raises ``NothingToAnalyse`` with a sentence where there is no channel, more than one channel or condition, or no
    reading to use.
    """
    kept = tuple(case for case in cases if case.test in SHAKER_TESTS)
    if not kept:
        raise NothingToAnalyse("There are no readings to explain: give the cases of one channel.")
    if len({(case.channel.tag, case.condition) for case in kept}) > 1:
        raise NothingToAnalyse("The readings are of several channels or conditions; explain one at a time.")
    channel, scaled = kept[0].channel, [_usable(case) for case in kept]
    if not any(len(s) for s in scaled):
        what = "a failure signal" if any(_signals(case) for case in kept) else "excluded or at no level"
        raise NothingToAnalyse(f"Channel {channel.tag} has no reading that can be used; all are {what}.")
    full_scale = _full_scale(channel, kept, scaled)
    parts = [_part(case, s, full_scale) for case, s in zip(kept, scaled, strict=True) if len(s)]
    test, f, level, falling, ratio, u = (
        np.concatenate(list(p)) for p in zip(*(arrays for arrays, _ in parts), strict=True)
    )
    columns = _columns([(len(arrays[0]), shared) for arrays, shared in parts])
    rows = np.array([float(r.row) for s in scaled for r in s.readings])
    order = frozen((rows - rows.min()) / max(float(np.ptp(rows)), 1.0))
    points = make_points(kept, test=test.astype(np.intp), frequency_hz=f, level=level, falling=falling, order=order)
    u_frequency = assess_readings(kept[0], scaled[0]).u_frequency_pct(points.reference_hz) / 100.0
    return FaultReadings(
        channel=channel,
        cases=kept,
        condition=kept[0].condition,
        readings=tuple(r for s in scaled for r in s.readings),
        excluded=tuple(r for case in kept for r in case.readings if r.exclude is not None),
        points=points,
        ratio=frozen(ratio),
        applied=frozen(np.concatenate([s.x for s in scaled])),
        u_ratio=frozen(u),
        u_frequency=u_frequency,
        covariance=frozen(_covariance(points, ratio, u, columns, u_frequency)),
        full_scale=full_scale,
    )


def _signals(case: Case) -> bool:
    return bool(scale_readings(case).failure_signal.any())


def _usable(case: Case) -> ScaledReadings:
    scaled = scale_readings(case)
    return scaled.at(scaled.used & (scaled.x > 0.0))


def _full_scale(channel: Channel, cases: Sequence[Case], scaled: Sequence[ScaledReadings]) -> float:
    if channel.full_scale is not None:
        return channel.full_scale
    levels = [float(s.x.max()) for case, s in zip(cases, scaled, strict=True) if len(s) and case.test != SENSOR_ALONE]
    return max([*levels, channel.trip or 0.0, channel.alert or 0.0]) or 1.0


def _part(
    case: Case, scaled: ScaledReadings, full_scale: float
) -> tuple[tuple[FloatArray, ...], dict[str, FloatArray]]:
    """Arrays of one test, and by source what each error that the visit's readings share does to each ratio, (n,)."""
    uncertainty = assess_readings(case, scaled)
    nominal = case.nominal_sensitivity * scaled.x
    ratio = scaled.y / nominal
    u = np.sqrt((uncertainty.u_y / nominal) ** 2 + (ratio * uncertainty.u_x / scaled.x) ** 2)
    u = np.hypot(u, _model_error(np.abs(ratio)))
    shared = _shared(uncertainty, ratio)
    falling = np.array([float(r.direction == "falling") for r in scaled.readings])
    test = np.full(len(scaled), float(SHAKER_TESTS.index(case.test)))
    return (test, scaled.frequency_hz, scaled.x / full_scale, falling, ratio, u), shared


def _shared(uncertainty: ReadingUncertainty, ratio: FloatArray) -> dict[str, FloatArray]:
    """What each shared error does to each ratio; the readout's weigh more where a live zero is read with the output."""
    found: dict[str, FloatArray] = {}
    for i, hz in enumerate(uncertainty.readings.frequency_hz):
        for source, u in uncertainty.shared_pct(float(hz)).items():
            weight = uncertainty.zero_leverage[i] if source in OF_THE_READOUT else 1.0
            found.setdefault(source, np.zeros(len(ratio)))[i] = ratio[i] * weight * u / 100.0
    return found


def _columns(parts: Sequence[tuple[int, Mapping[str, FloatArray]]]) -> FloatArray:
    """The shared errors of all tests side by side, (n, sources): an error of one name is the same in every test."""
    sources = dict.fromkeys(source for _, shared in parts for source in shared)
    return np.concatenate(
        [
            np.stack([shared.get(s, np.zeros(n)) for s in sources], axis=1) if sources else np.zeros((n, 0))
            for n, shared in parts
        ]
    )


def _model_error(size: FloatArray) -> FloatArray:
    """Standard error (n,) of closed forms: small where a filter passes, larger the more it takes away."""
    below = np.log(np.maximum(np.median(size), 1e-12) / np.maximum(size, 1e-12))
    bend = BEND_PCT * np.clip((below - 0.1) / 0.25, 0.0, 1.0)
    return size * (MODEL_PCT + bend + STOP_BAND_PCT * np.maximum(below - 0.7, 0.0)) / 100.0


def _covariance(
    points: Points, ratio: FloatArray, u: FloatArray, columns: FloatArray, u_frequency: float
) -> FloatArray:
    same = sharing_a_frequency(points)
    shapes = _filter_shapes(points, ratio)
    shared = columns @ columns.T + shapes @ shapes.T
    return np.diag(u**2) + shared + u_frequency**2 * same * np.outer(ratio, ratio)


def _of_damping(frequency_hz: FloatArray, corner_hz: float, sign: float) -> FloatArray:
    """Change of ln of a filter's response by one standard deviation of its damping."""
    at = (frequency_hz / corner_hz) ** sign
    more, less = (np.log(damped_over_butterworth(at, np.array(way * FILTER_DAMPING))) for way in (1.0, -1.0))
    return 0.5 * (more - less)


def _filter_shapes(points: Points, ratio: FloatArray) -> FloatArray:
    """What a filter of another damping does to each ratio of the channel, a column a corner, (n, corners).

    A channel that states where it is 3 dB down does not say by which filter: one with a ripple of 0.5 dB, one of
    constant delay and everything between may be meant.
    """
    channel = points.test != SHAKER_TESTS.index(SENSOR_ALONE)
    columns = []
    for corner, sign in ((points.corner_low_hz, 1.0), (points.corner_high_hz, -1.0)):
        if corner is not None:
            change = _of_damping(points.frequency_hz, corner, sign)
            right = _of_damping(np.array([points.reference_hz]), corner, sign)  # there the module was set
            columns.append(np.where(channel, (change - right) * ratio, 0.0))
    return np.stack(columns, axis=1) if columns else np.zeros((len(ratio), 0))


def sharing_a_frequency(points: Points) -> FloatArray:
    """Where two readings share what belongs to a frequency, (n, n): the sensor is mounted anew when it stands alone."""
    alone = points.test == SHAKER_TESTS.index(SENSOR_ALONE)
    same = np.zeros((len(alone), len(alone)))
    for chosen in (np.flatnonzero(alone), np.flatnonzero(~alone)):
        for group in group_close(points.frequency_hz[chosen], within_pct=SAME_FREQUENCY_PCT):
            same[np.ix_(chosen[group], chosen[group])] = 1.0
    return same


def make_points(
    cases: Sequence[Case],
    *,
    test: NDArray[np.intp],
    frequency_hz: FloatArray,
    level: FloatArray,
    falling: FloatArray,
    order: FloatArray | None = None,
) -> Points:
    """Return points of the channel that ``cases`` are of, with what its band should be."""
    channel = cases[0].channel
    band, sensor = channel.band, channel.sensor
    fallback = float(np.exp(np.mean(np.log(frequency_hz))))
    reference = band.reference_hz if band else (sensor.reference_hz if sensor else fallback)
    low, high = (None, None) if band is None else (band.corner_low_hz, band.corner_high_hz)
    flat = (band.flat_hz if band else None) or (sensor.flat_hz if sensor else None)
    ends = (float(frequency_hz.min()), float(frequency_hz.max())) if flat is None else flat
    return Points(
        test=test,
        frequency_hz=frozen(frequency_hz),
        level=frozen(level),
        falling=frozen(falling),
        reference_hz=reference,
        corner_low_hz=low,
        corner_high_hz=high,
        band_end_hz=(low or ends[0], high or ends[1]),
        order=order,
    )


def tolerance_of(channel: Channel) -> float:
    """Return the relative tolerance on the channel's sensitivity, never quite zero."""
    return max(channel.tolerance_pct, 0.5) / 100.0
