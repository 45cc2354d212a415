"""Numbers, units and names as they are written in sentences, tables and on axes."""

from __future__ import annotations

import math
import re

from vibcal_nb.metrology.uncertainty.coverage import Expanded, rounded
from vibcal_nb.units import Unit, as_printed

MINUS = "−"
NONE = "–"  # where a table has nothing to say


def number(value: float, *, digits: int = 4) -> str:
    """Write a number with so many significant digits, without exponents where a person would not use them."""
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else str(value)
    decimals = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
    text = f"{value:.{decimals}f}" if 1e-4 <= abs(value) < 1e7 else f"{value:.{digits - 1}e}"
    return true_minus(text)


_HYPHEN = re.compile(r"(?<![\w-])-(?=\d|inf)|(?<=\de)-(?=\d)")


def true_minus(text: str) -> str:
    """Write the minus of each number in a text as one; the hyphen of a tag, a word or a date stays."""
    return _HYPHEN.sub(MINUS, text)


def as_typed(value: float, decimals: int | None) -> str:
    """Write a number that a person typed with the decimals that were typed, none besides; its minus is a hyphen."""
    return f"{value:.{decimals}f}" if decimals is not None and 0 <= decimals <= 8 else f"{value:.8g}"


def fixed(value: float, *, decimals: int = 2, signed: bool = False) -> str:
    """Write a number to so many decimals, with its sign where told to; zero has none."""
    text = f"{value:+.{decimals}f}" if signed else f"{value:.{decimals}f}"
    return true_minus(text.lstrip("+-") if float(text) == 0.0 else text)


def frequency(hz: float) -> str:
    """Write a frequency in Hz as short as it was written down."""
    return f"{hz:.5g} Hz"


def percent(value: float, *, signed: bool = True, decimals: int = 2) -> str:
    """Write a percentage, with its sign unless told otherwise."""
    return fixed(value, decimals=decimals, signed=signed) + " %"


def with_uncertainty(value: float, expanded: Expanded, *, signed: bool = False) -> str:
    """Write a value and its expanded uncertainty, both ending at the place U is rounded to (GUM 7.2.6)."""
    if expanded.U == 0.0:
        text = number(value)
        return f"+{text}" if signed and value > 0 else text
    pair = rounded(value, expanded.U)
    text = pair.value
    if signed and not text.startswith("-") and float(text) != 0.0:
        text = f"+{text}"
    return f"{true_minus(text)} ± {pair.uncertainty}"


def rounded_pair(value: float, expanded: Expanded, *, signed: bool = False) -> tuple[str, str]:
    """Write a value and its expanded uncertainty apart, both ending at the place U is rounded to; U is not 0."""
    first, second = with_uncertainty(value, expanded, signed=signed).split(" ± ")
    return first, second


def percent_with_uncertainty(value: float, expanded: Expanded, *, signed: bool = True) -> str:
    """Write a percentage and its expanded uncertainty, both ending at the place U is rounded to."""
    if expanded.U == 0.0:
        return percent(value, signed=signed)
    return with_uncertainty(value, expanded, signed=signed) + " %"


def like_uncertainty(value: float, uncertainty: float) -> str:
    """Write a value to the place at which its uncertainty ends when that is rounded to two significant digits."""
    return number(value) if uncertainty == 0.0 else true_minus(rounded(value, uncertainty).value)


def uncertainty_text(uncertainty: float) -> str:
    """Write an uncertainty to two significant digits."""
    return "0" if uncertainty == 0.0 else rounded(uncertainty, uncertainty).uncertainty


def with_interval(value: float, interval: tuple[float, float], *, unit: str, probability: float) -> str:
    """Write a value and its coverage interval, all ending where half its width is rounded to; ``unit`` may be empty."""
    half = (interval[1] - interval[0]) / 2.0
    middle, low, high = (like_uncertainty(each, half) for each in (value, *interval))
    behind = f" {unit}" if unit else ""
    return f"{middle}{behind} ({coverage(probability)}: {low} to {high}{behind})"


def coverage(probability: float) -> str:
    """Write a coverage probability."""
    return f"{100.0 * probability:.4g} %"


def coverage_factor_text(expanded: Expanded) -> str:
    """Write k and the effective degrees of freedom that it rests on, or the distribution that it is of."""
    if expanded.dominated_by is not None:
        return f"k = {expanded.k:.2f} of a rectangular distribution, {expanded.dominated_by}"
    return f"k = {expanded.k:.2f}, {freedom(expanded.nu)} degrees of freedom"


def freedom(nu: float) -> str:
    """Write degrees of freedom; beyond a thousand Student's t is the normal distribution to every digit shown."""
    if math.isinf(nu):
        return "∞"
    return "> 1000" if nu > 1000.0 else f"{nu:.3g}"


def chance(probability: float) -> str:
    """Write a probability to three decimals, and what would read 0 or 1 as the bound it is."""
    if probability > 0.9995:
        return "more than 0.999"
    return "less than 0.001" if probability < 0.0005 else f"{probability:.3f}"


def sensitivity_unit(output: Unit, applied: Unit) -> str:
    """Write the unit of output per input; a detector that both sides share cancels and is left out."""
    if output.detector == applied.detector:
        bottom = applied.symbol if "/" not in applied.symbol else f"({applied.symbol})"
        return as_printed(f"{output.symbol}/{bottom}")
    return f"{output.shown} per {applied.shown}"
