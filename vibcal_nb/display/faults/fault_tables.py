"""Explanations of a channel's readings as tables and sentences: how likely, how large, and what to measure next."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from vibcal_nb.analysis.faults.chain_model import PARAMETERS
from vibcal_nb.analysis.faults.fault_families import HEALTHY, NONE_OF_THESE
from vibcal_nb.analysis.faults.faults import Explanation, FaultExplanations
from vibcal_nb.analysis.faults.next_measurement import Suggestion
from vibcal_nb.display.writing.names import listed, spoken
from vibcal_nb.display.writing.numbers import NONE, fixed, frequency
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.model.names import SENSOR_ALONE, SHAKER_TESTS

SHOWN = 6
K = 2.0  # sizes are given with U for about 95 %


def ranking_table(found: FaultExplanations) -> Table:
    """The likeliest explanations with their weights, sizes, and what the readings cannot tell from them."""
    rows = [
        Row(cells=(item.name, _share(item.weight), sizes(found, item) or NONE, ", ".join(item.alike) or NONE))
        for item in found.explanations[:SHOWN]
    ]
    note = (
        "Weights are probabilities under equal expectation of every fault, one half for a healthy channel; they add "
        "up to one over all families. Sizes with U (k = 2)."
    )
    if found.poor:
        note += " Not even the likeliest explanation fits the readings: none of these may be the truth."
    headings = ("explanation", "weight", "size", "these readings cannot tell it from")
    return Table(
        caption="What explains the readings", headings=headings, rows=tuple(rows), text_columns=(0, 2, 3), note=note
    )


def _share(weight: float) -> str:
    if weight > 0.999:
        return "> 99.9 %"
    return "< 0.1 %" if weight < 0.001 else f"{100.0 * weight:.1f} %"


def sizes(found: FaultExplanations, item: Explanation) -> str:
    """Say the fitted sizes that make this explanation, each with its uncertainty."""
    fitted, said = item.fitted, []
    u = fitted.spread * np.sqrt(np.diag(fitted.covariance))
    for place, index in enumerate(fitted.free):
        name = PARAMETERS[index]
        if name in fitted.variant.expected and name in _SIZES:
            said.append(_SIZES[name](found, float(fitted.parameters[index]), float(u[place])))
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


def suggestions_table(found: FaultExplanations, items: Sequence[Suggestion]) -> Table:
    """What to measure or check next, in words, and what each explanation would have it read."""
    rows = [Row(cells=(_in_words(found, item), _would_read(item))) for item in items]
    return Table(
        caption="What to measure or check next",
        headings=("next", "what it would read, output over nominal"),
        rows=tuple(rows),
        text_columns=(0, 1),
        note="Those that separate the explanations best by expected information, the readings first.",
    )


def _in_words(found: FaultExplanations, item: Suggestion) -> str:
    if item.check is not None:
        return item.check
    channel = found.readings.channel
    unit = channel.sensor.input_unit if item.test == SENSOR_ALONE and channel.sensor else channel.input_unit
    coming = ", coming down from above" if item.falling else ""
    return f"read {item.test} at {frequency(item.frequency_hz or 0.0)}, {item.level:.3g} {unit.shown}{coming}"


def _would_read(item: Suggestion) -> str:
    return "; ".join(f"{name}: {100.0 * value:.1f} %" for name, value in item.would_read) or NONE


def top_sentence(found: FaultExplanations) -> str:
    """Say the likeliest explanation in one sentence, with what cannot be told from it."""
    top = found.top
    size = sizes(found, top)
    said = f"Likeliest explanation: {top.name} ({_share(top.weight)})" + (f", {size}" if size else "")
    if top.alike:
        said += f"; these readings cannot tell it from {', '.join(top.alike)}"
    return said + ("; yet it does not fit the readings" if found.poor else "") + "."


def explanation_step(found: FaultExplanations) -> str:
    """Name what explains the readings of a channel that fails, or say that nothing known does, and where to go on."""
    faults = [item for item in found.explanations if item.name not in (HEALTHY, NONE_OF_THESE)]
    if found.top.name == HEALTHY:
        said = f"No fault explains the readings better than a channel without one ({_share(found.top.weight)})"
    elif found.poor:
        said = f"None of the faults known here explains the readings; the nearest is {faults[0].name}"
    else:
        said = top_sentence(found).removesuffix(".")
    return f"{said}. A finding and not a verdict: fault_finding.ipynb draws it and says what to measure to be sure"
