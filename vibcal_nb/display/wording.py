"""Numbers, units and names as they are written in sentences, tables and on axes."""

from __future__ import annotations

import math

from vibcal_nb.analysis.coverage import Expanded, rounded
from vibcal_nb.inputs.case import Case
from vibcal_nb.units import Unit

MINUS = "−"
CONDITIONS = {"as-found": "as found", "as-left": "as left"}
TESTS = {
    "linearity": "linearity",
    "band-response": "band response",
    "sensor-alone": "sensor alone",
    "module-alone": "module alone",
    "drift": "drift",
}


def number(value: float, *, digits: int = 4) -> str:
    """Write a number with so many significant digits, without exponents where a person would not use them."""
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else str(value)
    decimals = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
    text = f"{value:.{decimals}f}" if 1e-4 <= abs(value) < 1e7 else f"{value:.{digits - 1}e}"
    return text.replace("-", MINUS)


def frequency(hz: float) -> str:
    """Write a frequency in Hz as short as it was written down."""
    return f"{hz:.5g} Hz"


def percent(value: float, *, signed: bool = True, decimals: int = 2) -> str:
    """Write a percentage, with its sign unless told otherwise."""
    text = f"{value:+.{decimals}f}" if signed else f"{value:.{decimals}f}"
    if float(text) == 0.0:
        text = text.lstrip("+-")
    return text.replace("-", MINUS) + " %"


def with_uncertainty(value: float, expanded: Expanded, *, signed: bool = False) -> str:
    """Write a value and its expanded uncertainty, both ending at the place U is rounded to (GUM 7.2.6)."""
    if expanded.U == 0.0:
        text = number(value)
        return f"+{text}" if signed and value > 0 else text
    pair = rounded(value, expanded.U)
    text = pair.value
    if signed and not text.startswith("-") and float(text) != 0.0:
        text = f"+{text}"
    return f"{text} ± {pair.uncertainty}".replace("-", MINUS)


def sensitivity_unit(output: Unit, applied: Unit) -> str:
    """Write the unit of output per input; a detector that both sides share cancels and is left out."""
    if output.detector == applied.detector:
        bottom = applied.symbol if "/" not in applied.symbol else f"({applied.symbol})"
        return f"{output.symbol}/{bottom}"
    return f"{output.text} per {applied.text}"


def subject(case: Case) -> str:
    """Name what was tested: channel, test, condition."""
    return f"{case.channel.tag}, {TESTS[case.test]}, {CONDITIONS[case.condition]}"


def listed(items: list[str]) -> str:
    """Join items as a sentence does."""
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + " and " + items[-1]


def plural(count: int, noun: str) -> str:
    """Write a count and its noun."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
