"""The sizes of a fault in words, each with its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np

from vibcal_nb.analysis.faults.chain_model import PARAMETERS
from vibcal_nb.analysis.faults.explanation import Explanation, FaultExplanations
from vibcal_nb.analysis.faults.fault_size import CHANGES, Pull
from vibcal_nb.display.writing.names import listed, spoken
from vibcal_nb.display.writing.numbers import fixed
from vibcal_nb.model.names import SHAKER_TESTS

K = 2.0  # sizes are given with U for about 95 %


def sizes(found: FaultExplanations, item: Explanation) -> str:
    """Say the fitted sizes that make this explanation, of several those that differ from none."""
    fitted, said = item.fitted, []
    u = fitted.spread * np.sqrt(np.diag(fitted.covariance))
    for place, index in enumerate(fitted.free):
        name = PARAMETERS[index]
        value = float(fitted.parameters[index])
        none = name in CHANGES and abs(value) < K * u[place] and len(fitted.variant.expected) > 1
        if name in fitted.variant.expected and name in _SIZES and not none:
            said.append(_SIZES[name](found, value, float(u[place])))
    said += [_scatter(fitted.variant.scatter), _bypassed(fitted.variant.fixed), _factors(fitted.variant.fixed)]
    return "; ".join(text for text in said if text)


def _scatter(scatter: float) -> str:
    """The readings' own scatter: one of a few sizes that were tried."""
    return f"readings scatter by about {100.0 * scatter:.2g} %" if scatter > 0.0 else ""


def _bypassed(fixed_at: Mapping[str, float]) -> str:
    sides = [name for name, key in (("lower", "corner_low"), ("upper", "corner_high")) if key in fixed_at]
    return f"no {sides[0]} corner: filter bypassed" if sides else ""


def _factors(fixed_at: Mapping[str, float]) -> str:
    """The factor of a mix-up and the tests that show it."""
    by_factor: dict[float, list[str]] = {}
    for test, key in zip(SHAKER_TESTS, _FACTORS, strict=True):
        if value := fixed_at.get(key, 0.0):
            by_factor.setdefault(value, []).append(spoken(test))
    return "; ".join(f"factor {math.exp(value):.4g} in {listed(tests)}" for value, tests in by_factor.items())


_FACTORS = ("factor_linearity", "factor_band", "factor_sensor")
_Size = Callable[[FaultExplanations, float, float], str]


def _percent(what: str) -> _Size:
    def say(found: FaultExplanations, value: float, u: float) -> str:
        return _change(what, math.expm1(value), math.exp(value) * u)

    return say


def _relative(what: str) -> _Size:
    return lambda found, value, u: _change(what, value, u)


def _change(what: str, change: float, u: float) -> str:
    return f"{what} {fixed(100.0 * change, decimals=1, signed=True)} ± {100.0 * K * u:.1f} %"


def _hertz(what: str, unit_hz: Callable[[FaultExplanations], float | None]) -> _Size:
    def say(found: FaultExplanations, value: float, u: float) -> str:
        nominal = unit_hz(found)
        return "" if nominal is None else f"{what} {nominal * math.exp(value):.4g} Hz ({_factor(u)})"

    return say


def _level(what: str) -> _Size:
    def say(found: FaultExplanations, value: float, u: float) -> str:
        size = found.readings.full_scale * math.exp(value)
        return f"{what} {size:.3g} {found.readings.channel.input_unit.shown} ({_factor(u)})"

    return say


def _factor(u: float) -> str:
    return f"± {100.0 * K * u:.2g} %" if K * u < 0.5 else "size uncertain"


_SIZES: dict[str, _Size] = {
    "sensor_gain": _percent("sensor"),
    "module_gain": _percent("module"),
    "corner_low": _hertz("lower corner", lambda found: found.readings.points.corner_low_hz),
    "corner_high": _hertz("upper corner", lambda found: found.readings.points.corner_high_hz),
    "resonance": _hertz("mounted resonance", lambda found: found.readings.points.band_end_hz[1]),
    "leak": _hertz("leak's corner", lambda found: found.readings.points.band_end_hz[0]),
    "right_at": _hertz("right at", lambda found: found.readings.points.reference_hz),
    "noise": _level("noise of"),
    "clip": _level("clipping at"),
    "pickup": _level("pick-up of"),
    "looseness": _relative("change with level"),
    "hysteresis": _relative("falling against rising"),
    "decade_slope": _relative("fall per decade"),
}


def pull_in_words(found: FaultExplanations, pull: Pull) -> str:
    """Say which healthy quantity a fit needs where, and how far from healthy that is."""
    where = _SIZES.get(pull.parameter)
    said = "" if where is None else where(found, pull.value, pull.u)
    return f"{said or _OTHERS.get(pull.parameter, pull.parameter)} ({abs(pull.sigma):.0f} σ from healthy)"


_OTHERS = {"order_low": "another steepness of the lower corner", "order_high": "another steepness of the upper corner"}
