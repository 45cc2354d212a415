"""The level at which something switches, from levels that were held.

Between the highest level at which it did not act and the lowest at which it did it may act anywhere: the estimate is
the middle, its standard uncertainty the width over the square root of 12 (JCGM 100:2008, 4.3.7). Several approaches
that agree close in on one bracket. Where they contradict one another (it acted at a level at which it had not acted
before) the estimate is the mean of their middles, and their scatter tells its uncertainty (type A, 4.2); what of the
bracket's variance that scatter does not show is common to all of them. That last split is a convention of this project.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, Expanded, combine, expand
from vibcal_nb.metrology.uncertainty.dominant_rectangle import softened_rectangle_factor
from vibcal_nb.metrology.unusable import Unusable

ROOT_12 = math.sqrt(12.0)


class ActionError(Unusable):
    """Approaches that tell no level of action."""


@dataclass(frozen=True, kw_only=True)
class ActionBracket:
    """The nearest level that did not act and the nearest that did, in one unit."""

    not_acted: float
    acted: float

    @property
    def middle(self) -> float:
        """The estimate."""
        return 0.5 * (self.not_acted + self.acted)

    @property
    def standard_uncertainty(self) -> float:
        """Width over the square root of 12.

        >>> round(ActionBracket(not_acted=11.0, acted=11.3).standard_uncertainty, 4)
        0.0866
        """
        return abs(self.acted - self.not_acted) / ROOT_12


@dataclass(frozen=True, kw_only=True)
class ActionLevel:
    """The level of action from ``approaches``: ``estimate``, and the parts of its standard uncertainty.

    ``u_bracket`` is rectangular, of what lies between the levels held; ``u_scatter`` is type A, 0 where the approaches
    agree, with ``degrees_of_freedom``.
    """

    approaches: int
    agree: bool
    estimate: float
    u_bracket: float
    u_scatter: float
    degrees_of_freedom: float

    @property
    def standard_uncertainty(self) -> float:
        """Both parts together."""
        return math.hypot(self.u_bracket, self.u_scatter)

    def expanded(self, *, u_level: float, u_approach: float, probability: float = PROBABILITY) -> Expanded:
        """Return U of the estimate, all in its unit.

        ``u_level`` is what all levels share (the reference's part), ``u_approach`` what differs from approach to
        approach, which their number averages. Where they agree, k is that of the rectangle with the rest added as a
        normal distribution; where they do not, their scatter holds ``u_approach``, and k is Student's t.
        """
        if self.u_scatter > 0.0:
            parts = ((self.u_bracket, math.inf), (self.u_scatter, self.degrees_of_freedom), (u_level, math.inf))
            return combine(*parts, probability=probability)
        rest = math.hypot(u_level, u_approach / math.sqrt(self.approaches))
        u = math.hypot(self.u_bracket, rest)
        if self.u_bracket == 0.0 or rest > _MOST_REST * self.u_bracket:
            return expand(u, probability=probability)
        k = softened_rectangle_factor(round(rest / self.u_bracket, 6), probability)
        return Expanded(u=u, k=k, U=k * u, nu=math.inf, probability=probability, dominated_by=_named(self, rest))


_MOST_REST = 10.0  # times the rectangle: beyond it the sum is normal to four digits
BRACKET = "levels held"


def _named(level: ActionLevel, rest: float) -> str | None:
    return BRACKET if rest <= level.u_bracket else None


def combine_approaches(approaches: Sequence[ActionBracket], *, sign: float = 1.0) -> ActionLevel:
    """Combine approaches to one level of action; ``sign`` is -1 of what acts where the level falls.

    Raises ``ActionError`` without any.
    """
    if not approaches:
        raise ActionError("no approach: give levels on both sides of the level of action")
    not_acted = np.array([[sign * item.not_acted for item in approaches]])
    acted = np.array([[sign * item.acted for item in approaches]])
    found = combine_brackets(not_acted, acted)
    count = len(approaches)
    return ActionLevel(
        approaches=count,
        agree=bool(found.agree[0]),
        estimate=sign * float(found.estimate[0]),
        u_bracket=float(found.u_bracket[0]),
        u_scatter=float(found.u_scatter[0]),
        degrees_of_freedom=count - 1.0 if count > 1 else math.inf,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class CombinedBrackets:
    """Many set points at once: each array of shape (m,), as the fields of `ActionLevel`."""

    agree: FloatArray
    estimate: FloatArray
    u_bracket: FloatArray
    u_scatter: FloatArray


def combine_brackets(not_acted: FloatArray, acted: FloatArray) -> CombinedBrackets:
    """Combine n approaches to each of m set points that act where the level rises; both arrays of shape (m, n)."""
    below, above = not_acted.max(axis=1), acted.min(axis=1)
    middles, count = 0.5 * (not_acted + acted), not_acted.shape[1]
    agree = (above > below) | (count == 1)
    scatter = middles.var(axis=1, ddof=1) if count > 1 else np.zeros(len(middles))
    hidden = np.sqrt(np.maximum(np.mean((acted - not_acted) ** 2, axis=1) / 12.0 - scatter, 0.0))
    return CombinedBrackets(
        agree=agree,
        estimate=np.where(agree, 0.5 * (below + above), middles.mean(axis=1)),
        u_bracket=np.where(agree, np.abs(above - below) / ROOT_12, hidden),
        u_scatter=np.where(agree, 0.0, np.sqrt(scatter / count)),
    )
