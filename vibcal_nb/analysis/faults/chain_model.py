"""What a vibration channel does to a sine, as one closed-form model of sensor, joint, cable, module and detector.

Every fault family is this model with some of its parameters away from their healthy values, so that explanations
are compared on the same footing. Rows of parameters (shape (b, p)) are predicted at all readings (n,) at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.names import SENSOR_ALONE, SHAKER_TESTS

# name: meaning; logarithms are natural, corners relative to nominal, levels relative to full scale
PARAMETERS = (
    "sensor_gain",  # ln of the sensor's factor
    "module_gain",  # ln of the factor of everything after it
    "corner_low",  # ln f1/f1 nominal
    "corner_high",  # ln f2/f2 nominal
    "order_low",  # ln of the Butterworth order
    "order_high",
    "resonance",  # ln of mounted resonance / upper end of the band
    "decade_slope",  # relative change of the sensor per decade of frequency
    "noise",  # ln of noise / full scale
    "clip",  # ln of the limit / full scale
    "pickup",  # ln of pick-up / full scale
    "pickup_width",  # ln of the width that the detector sees around mains, Hz
    "harmonics",  # share of the second and third harmonic
    "leak",  # ln of leak corner / lower end of the band, seen by every test
    "looseness",  # relative change of sensitivity from no level to full scale
    "hysteresis",  # relative difference falling against rising
    "right_at",  # ln of the frequency at which a wrong slope is right / reference frequency
    "slope_exponent",  # response goes with f to this power: 0, +1, -1
    "factor_linearity",  # ln of the factor of a mix-up, by test
    "factor_band",
    "factor_sensor",
    "leak_in_sensor",  # 1 where the test of the sensor alone sees the leak, 0 where it lies behind the sensor
    "clip_kind",  # 0 fundamental of the output, 1 its r.m.s., 2 fundamental before the integrator, 3 what is shown
    "mains",  # Hz
    "pickup_everywhere",  # 1 where the detector has no filter
    "offset",  # what a dc output shows more at no level / full scale
    "gain_drift",  # ln of the gain at the last row over that at the first
    "gain_step",  # ln of the gain after one row over that before
    "gain_step_at",  # place of that row in the visit, 0 to 1
    "damping_low",  # ln of damping / that of a Butterworth filter of second order
    "damping_high",
    "sharpness",  # ln of 1/(2Q) of the mounted resonance over that of a sound joint
    "notch",  # ln of what a notch takes away at its deepest
    "notch_at",  # ln of its frequency / reference frequency
    "notch_width",  # ln of its width between half powers / its frequency
)
INDEX = {name: number for number, name in enumerate(PARAMETERS)}
OFF = -20.0  # ln of a level that does not matter
NO_LIMIT = 8.0
DAMPING = 0.03  # 1/(2Q) of a mounted seismic sensor; judgement, matters within a tenth of the resonance only


@dataclass(frozen=True, kw_only=True, eq=False)
class Points:
    """Where readings are or could be taken, arrays of shape (n,), and what the channel should be.

    ``test`` indexes ``SHAKER_TESTS``; ``level`` is relative to full scale in a channel's tests; ``falling`` is 1
    where a level was reached from above. Corners are None where the channel states none. ``order`` is the place of
    each row in the visit, 0 to 1; None where all come at its end.
    """

    test: NDArray[np.intp]
    frequency_hz: FloatArray
    level: FloatArray
    falling: FloatArray
    reference_hz: float
    corner_low_hz: float | None
    corner_high_hz: float | None
    band_end_hz: tuple[float, float]
    order: FloatArray | None = None


def parameter_row(values: Mapping[str, float]) -> FloatArray:
    """Return parameters (p,) by their names; those that are not named are 0."""
    row = np.zeros(len(PARAMETERS))
    for name, value in values.items():
        row[INDEX[name]] = value
    return row


def limited_fundamental(ratio: FloatArray) -> FloatArray:
    """Fundamental of a sine through a hard limit, relative to its own: ``ratio`` u = limit/amplitude.

    (2/pi)(asin u + u sqrt(1 - u^2)) below 1, else 1. Source: Fourier series of a clipped sine.
    """
    u = np.minimum(ratio, 1.0)
    return 2.0 / np.pi * (np.arcsin(u) + u * np.sqrt(1.0 - u * u))


def limited_rms(ratio: FloatArray) -> FloatArray:
    """R.m.s. of a sine through a hard limit, relative to its own: mean square of the arcs and the flats."""
    u = np.minimum(ratio, 1.0)
    angle = np.arcsin(u)
    return np.sqrt(2.0 / np.pi * (angle - u * np.sqrt(1.0 - u * u)) + 2.0 * u * u * (1.0 - 2.0 * angle / np.pi))


def resonance_gain(frequency_ratio: FloatArray, damping: FloatArray | float = DAMPING) -> FloatArray:
    """Response of a seismic sensor at f/fn: 1/(1 - r^2) below the resonance, finite at it."""
    r = np.minimum(frequency_ratio, 30.0) ** 2
    return 1.0 / np.sqrt((1.0 - r) ** 2 + (2.0 * damping) ** 2 * r)


def high_pass(frequency_ratio: FloatArray, order: FloatArray) -> FloatArray:
    """Butterworth magnitude at f/fc, high pass of (not necessarily whole) ``order``."""
    return 1.0 / np.sqrt(1.0 + np.exp(np.clip(-2.0 * order * np.log(frequency_ratio), -60.0, 60.0)))


def damped_over_butterworth(frequency_ratio: FloatArray, ln_damping: FloatArray) -> FloatArray:
    """Second-order high pass of another damping over a Butterworth one, both 3 dB down at a ratio of 1.

    With zeta = exp(ln_damping)/sqrt(2), |H|^2 = s^4/((1 - s^2)^2 + (2 zeta s)^2) at s = ratio times the one at which
    |H|^2 is one half. A low pass is the same at one over the ratio.
    """
    z = np.exp(2.0 * ln_damping)  # 2 zeta^2
    half_power = np.sqrt(z - 1.0 + np.sqrt((z - 1.0) ** 2 + 1.0))
    s2, r4 = (frequency_ratio * half_power) ** 2, np.minimum(frequency_ratio, 1e6) ** 4
    squared = s2**2 / ((1.0 - s2) ** 2 + 2.0 * z * s2)
    return np.sqrt(squared * (1.0 + r4) / r4)


def predict_ratio(rows: FloatArray, points: Points) -> FloatArray:
    """Predict output / (nominal sensitivity x applied level) for parameter rows (b, p) at points (n,): (b, n)."""
    value = {name: rows[:, i, None] for name, i in INDEX.items()}
    f = points.frequency_hz[None, :]
    alone = points.test == SHAKER_TESTS.index(SENSOR_ALONE)
    sensor = _sensor(value, f, points, alone)
    channel = sensor * _module(value, f, points) * _moved(value, points)
    level = points.level[None, :]
    channel = channel * (1.0 + value["looseness"] * level) * (1.0 + value["hysteresis"] * points.falling[None, :])
    channel = channel * _limit(value, channel * level, f, points)
    added = np.exp(2.0 * value["noise"]) + _pickup_squared(value, f)
    channel = np.sqrt(channel**2 + added / np.maximum(level, 1e-9) ** 2)
    channel = channel + value["offset"] / np.maximum(level, 1e-9)
    factor = np.exp(np.concatenate([value["factor_linearity"], value["factor_band"], value["factor_sensor"]], axis=1))
    return np.where(alone, sensor, channel) * factor[:, points.test]


def added_ratio(rows: FloatArray, points: Points) -> FloatArray:
    """What noise and pick-up add, relative to the applied level, before it meets the signal in quadrature: (b, n)."""
    value = {name: rows[:, i, None] for name, i in INDEX.items()}
    added = np.exp(2.0 * value["noise"]) + _pickup_squared(value, points.frequency_hz[None, :])
    alone = points.test == SHAKER_TESTS.index(SENSOR_ALONE)
    return np.where(alone, 0.0, np.sqrt(added) / np.maximum(points.level, 1e-9))


def _sensor(value: dict[str, FloatArray], f: FloatArray, points: Points, alone: NDArray[np.bool_]) -> FloatArray:
    low, high = points.band_end_hz
    rise = resonance_gain(f / (high * np.exp(value["resonance"])), DAMPING * np.exp(value["sharpness"]))
    seen = np.where(alone[None, :], value["leak_in_sensor"], 1.0)
    droop = 1.0 / np.sqrt(1.0 + seen * (low * np.exp(value["leak"]) / f) ** 2)
    slope = 1.0 + value["decade_slope"] * np.log10(f / points.reference_hz)
    return np.exp(value["sensor_gain"]) * rise * droop * slope


def _module(value: dict[str, FloatArray], f: FloatArray, points: Points) -> FloatArray:
    """A module is set right at the reference frequency with the band it should have."""
    reference = np.array([[points.reference_hz]])
    right = _band(value, reference, points, nominal=True)
    slope = np.exp(value["slope_exponent"] * (np.log(f / points.reference_hz) - value["right_at"]))
    return np.exp(value["module_gain"]) * slope * _band(value, f, points) / right


def _band(value: dict[str, FloatArray], f: FloatArray, points: Points, *, nominal: bool = False) -> FloatArray:
    response = np.ones((value["noise"].shape[0], f.shape[1]))
    for corner, side, sign in ((points.corner_low_hz, "low", 1.0), (points.corner_high_hz, "high", -1.0)):
        if corner is None:
            continue
        off = 0.0 if nominal else value[f"corner_{side}"]
        response = response * high_pass((f / (corner * np.exp(off))) ** sign, np.exp(value[f"order_{side}"]))
        if nominal:
            continue
        damped = np.flatnonzero(value[f"damping_{side}"][:, 0] != 0.0)
        if damped.size:
            ratio = (f / (corner * np.exp(value[f"corner_{side}"][damped]))) ** sign
            response[damped] = response[damped] * damped_over_butterworth(ratio, value[f"damping_{side}"][damped])
    at = np.flatnonzero(value["notch"][:, 0] != 0.0)
    if at.size and not nominal:
        x2 = (f / (points.reference_hz * np.exp(value["notch_at"][at]))) ** 2
        wide = np.exp(2.0 * value["notch_width"][at]) * x2
        deep = np.exp(-2.0 * value["notch"][at]) * wide
        response[at] = response[at] * np.sqrt(((1.0 - x2) ** 2 + deep) / ((1.0 - x2) ** 2 + wide))
    return response


def _moved(value: dict[str, FloatArray], points: Points) -> FloatArray:
    """Gain that moves during the visit; only the rows that have any are worked out."""
    gain = np.ones((len(value["gain_drift"]), points.frequency_hz.size))
    at = np.flatnonzero((value["gain_drift"][:, 0] != 0.0) | (value["gain_step"][:, 0] != 0.0))
    if at.size:
        place = np.ones(points.frequency_hz.size) if points.order is None else points.order
        gain[at] = np.exp(
            value["gain_drift"][at] * place + value["gain_step"][at] * (place > value["gain_step_at"][at])
        )
    return gain


def _limit(value: dict[str, FloatArray], amplitude: FloatArray, f: FloatArray, points: Points) -> FloatArray:
    """What a hard limit leaves; only the rows that have one are worked out."""
    left = np.ones_like(amplitude)
    at = np.flatnonzero(value["clip"][:, 0] < NO_LIMIT)
    if at.size:
        kind = value["clip_kind"][at]
        limit = np.exp(value["clip"][at]) * np.where(kind == 2.0, points.reference_hz / f, 1.0)
        u = limit / np.maximum(amplitude[at], 1e-12)
        soft = np.where(kind == 1.0, limited_rms(u), limited_fundamental(u))
        left[at] = np.where(kind == 3.0, np.minimum(u, 1.0), soft)
    return left


def _pickup_squared(value: dict[str, FloatArray], f: FloatArray) -> FloatArray:
    """Square of the pick-up that a detector tuned to ``f`` lets through: it is not in step and adds in quadrature.

    Only the rows that have any are worked out.
    """
    squared = np.zeros((len(value["pickup"]), f.shape[1]))
    at = np.flatnonzero(value["pickup"][:, 0] > OFF)
    if at.size:
        width, mains, harmonics = np.exp(value["pickup_width"][at]), value["mains"][at], value["harmonics"][at]
        shares = (np.ones_like(mains), harmonics, harmonics)
        seen = sum(s * np.exp(-(((f - n * mains) / width) ** 2)) for n, s in enumerate(shares, start=1))
        tuned = np.where(value["pickup_everywhere"][at] == 1.0, 1.0, seen)
        squared[at] = np.exp(2.0 * value["pickup"][at]) * tuned**2
    return squared
