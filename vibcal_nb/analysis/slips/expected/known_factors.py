"""Factors that a slip of writing puts on a number, and what was mixed up where one is met.

For a sine pk = sqrt(2) rms and pkpk = 2 pk; g_n = 9.80665 m/s2 (3rd CGPM, 1901) and 1 in = 25.4 mm are exact. That
these are the slips that people make is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from vibcal_nb.units import G_N, INCH, Unit


@dataclass(frozen=True, kw_only=True)
class KnownFactor:
    """What a number was multiplied by, and the mix-up that does so, as a phrase."""

    value: float
    cause: str


_DECIMALS = (
    KnownFactor(value=10.0, cause="the decimal mark is off"),
    KnownFactor(value=100.0, cause="the decimal mark is off"),
    KnownFactor(value=1000.0, cause="a prefix of the unit is missing, or one too many"),
)
_DETECTORS = (
    KnownFactor(value=math.sqrt(2.0), cause="rms and peak mixed up"),
    KnownFactor(value=2.0, cause="peak and peak to peak mixed up"),
    KnownFactor(value=2.0 * math.sqrt(2.0), cause="rms and peak to peak mixed up"),
)
_GRAVITY = KnownFactor(value=G_N, cause="g and m/s² mixed up")
_INCHES = KnownFactor(value=1000.0 * INCH, cause="inches and millimetres mixed up")

ALL = (*_DECIMALS, *_DETECTORS, _GRAVITY, _INCHES)


def factors_of(unit: Unit) -> Iterator[KnownFactor]:
    """Yield the factors that a number in ``unit`` may be off by, the likeliest first."""
    yield from _DECIMALS
    if unit.detector != "dc":
        yield from _DETECTORS
    if unit.quantity == "acceleration":
        yield _GRAVITY
    elif unit.is_vibration:
        yield _INCHES
        yield _GRAVITY


def nearest_factor(
    ln_ratio: float, factors: Iterator[KnownFactor], *, within: float
) -> tuple[KnownFactor, float] | None:
    """Return the factor whose ln, or its negative, is nearest to ``ln_ratio``, and by what a number is multiplied.

    None where none is within ``within``. Of two that are equally near, the earlier.
    """
    found = [(abs(abs(ln_ratio) - math.log(factor.value)), factor) for factor in factors]
    distance, factor = min(found, key=lambda pair: pair[0], default=(math.inf, None))
    if factor is None or distance > within:
        return None
    return factor, factor.value if ln_ratio > 0.0 else 1.0 / factor.value


def cause_of(factor: KnownFactor, unit: Unit) -> str:
    """Return what was mixed up, and what else gives nearly the same factor in a number of this unit."""
    near = [
        other.cause for other in factors_of(unit) if other != factor and abs(other.value / factor.value - 1.0) < 0.03
    ]
    return ", or ".join([factor.cause, *near])
