"""Expanded uncertainty, its coverage factor, and how a result and its uncertainty are rounded."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Context, Decimal

from scipy.special import ndtri, stdtrit

from vibcal_nb.metrology.unusable import Unusable

#: The coverage probability this project states, and that of k = 2 for a normal distribution.
PROBABILITY = 0.95
PROBABILITY_OF_K_2 = math.erf(math.sqrt(2.0))

_CONTEXT = Context(prec=800)  # every float64 has fewer decimal digits than this


class CoverageError(Unusable):
    """A coverage probability, number of degrees of freedom or uncertainty that cannot be used."""


@dataclass(frozen=True, kw_only=True)
class Expanded:
    """Expanded uncertainty ``U = k u``; ``u`` and ``U`` in the unit of the result.

    ``nu`` are the effective degrees of freedom (infinite where none were lost), ``probability`` is the
    coverage probability. ``dominated_by`` names the rectangular contribution whose distribution k belongs to; None
    where k is that of a normal distribution or of Student's t.
    """

    u: float
    k: float
    U: float
    nu: float
    probability: float
    dominated_by: str | None = None

    def times(self, factor: float) -> Expanded:
        """Return the same uncertainty in another unit, of which there are ``factor`` to this one."""
        return replace(self, u=self.u * factor, U=self.U * factor)


@dataclass(frozen=True, kw_only=True)
class Rounded:
    """A result as it is printed: ``value`` and ``uncertainty`` end at the same decimal place."""

    value: str
    uncertainty: str


def coverage_factor(degrees_of_freedom: float = math.inf, *, probability: float = PROBABILITY) -> float:
    """Return k, the two-sided quantile of Student's t, or of the normal distribution for infinite degrees.

    The project states 95 % intervals, so that k is 1.960 for infinite degrees of freedom and not the
    rounded 2 (ask for ``PROBABILITY_OF_K_2``, 95.45 %, to have k = 2). Degrees of freedom are used as they
    are; JCGM 100:2008, G.4.1, also allows to cut them to the next lower integer first, which is the
    caller's to do.

    Source: JCGM 100:2008, G.3.2, G.6.4 and Table G.2. Raises ``CoverageError``.
    """
    if not 0.0 < probability < 1.0:
        raise CoverageError(f"coverage probability is {probability}; give a number between 0 and 1, as 0.95")
    if not degrees_of_freedom > 0.0:
        raise CoverageError(f"degrees of freedom are {degrees_of_freedom}; give a number above 0, or infinity")
    upper = (1.0 + probability) / 2.0
    return float(ndtri(upper) if math.isinf(degrees_of_freedom) else stdtrit(degrees_of_freedom, upper))


def expand(u: float, degrees_of_freedom: float = math.inf, *, probability: float = PROBABILITY) -> Expanded:
    """Expand the standard uncertainty ``u``, any unit, to the interval of the given coverage probability.

    Source: JCGM 100:2008, clause 6 and G.4. Raises ``CoverageError``.

    >>> round(expand(1.03, 19, probability=0.95).U, 1)
    2.2
    """
    _require_uncertainty(u)
    k = coverage_factor(degrees_of_freedom, probability=probability)
    return Expanded(u=float(u), k=k, U=k * float(u), nu=float(degrees_of_freedom), probability=probability)


def last_place(uncertainty: float, *, digits: int = 2) -> int:
    """Return the power of ten at which ``uncertainty`` ends when rounded to ``digits`` significant digits.

    Rounding may carry: 0.0996 becomes 0.10 and ends at -2. ``uncertainty`` must be above zero.

    Raises ``CoverageError``.
    """
    _require_uncertainty(uncertainty)
    if uncertainty == 0.0 or digits < 1:
        raise CoverageError(f"{uncertainty} has no {digits} significant digits; give an uncertainty above zero")
    exact = Decimal(repr(float(uncertainty)))
    place = exact.adjusted() - digits + 1
    return place + (_to_place(exact, place).adjusted() - exact.adjusted())


def rounded(value: float, U: float, *, digits: int = 2) -> Rounded:
    """Return the texts of ``U``, to ``digits`` significant digits, and of ``value`` to the same place.

    Both are rounded in decimal from the shortest text that stands for the float, halves away from zero, so
    that an uncertainty of exactly one half never shrinks. Where ``U`` is zero the value keeps its digits.

    Source: JCGM 100:2008, 7.2.6. Raises ``CoverageError`` for a value or an uncertainty that is not finite.

    >>> rounded(100.02147, 0.00079)
    Rounded(value='100.02147', uncertainty='0.00079')
    >>> rounded(9.9951, 0.0996)
    Rounded(value='10.00', uncertainty='0.10')
    """
    _require_uncertainty(U)
    if not math.isfinite(value):
        raise CoverageError(f"the value to be rounded is {value}; give a finite number")
    exact = Decimal(repr(float(value)))
    if U == 0.0:
        return Rounded(value=format(exact, "f"), uncertainty="0")
    place = last_place(U, digits=digits)
    value_text = format(_to_place(exact, place), "f")
    return Rounded(value=value_text, uncertainty=format(_to_place(Decimal(repr(float(U))), place), "f"))


def _to_place(number: Decimal, place: int) -> Decimal:
    result = number.quantize(Decimal((0, (1,), place)), rounding=ROUND_HALF_UP, context=_CONTEXT)
    result = Decimal(int(result)) if place > 0 else result  # 1.2E+3 is written 1200
    return abs(result) if result.is_zero() else result  # no minus zero


def _require_uncertainty(u: float) -> None:
    if not (math.isfinite(u) and u >= 0.0):
        raise CoverageError(f"the uncertainty is {u}; give a finite number of zero or more")


def combine(*parts: tuple[float, float], probability: float = PROBABILITY) -> Expanded:
    """Combine (standard uncertainty, degrees of freedom) of independent parts and expand (JCGM 100:2008, G.4)."""
    u = math.sqrt(math.fsum(part**2 for part, _ in parts))
    if u == 0.0:
        return expand(0.0, probability=probability)
    inverse = math.fsum((part / u) ** 4 / nu for part, nu in parts)
    return expand(u, 1.0 / inverse if inverse > 0.0 else math.inf, probability=probability)


def root_sum_squares(values: Iterable[float]) -> float:
    """Return the root of the sum of squares."""
    return math.sqrt(math.fsum(v**2 for v in values))
