"""What verdicts on single points promise of all points together (JCGM 106:2012, clause 7, for many)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.conformity.conformance_probability import (
    ConformityError,
    ToleranceLimits,
    conformity_of,
    mass_between,
)
from vibcal_nb.metrology.numerics.quadrature import normal_expectation

_AT_ONCE = 1000
"""Points whose probabilities are in memory at a time, each at every node of the quadrature."""


@dataclass(frozen=True, kw_only=True, eq=False)
class JointConformity:
    """Probabilities that points conform, one by one and all at once.

    ``points``: of each point by itself, shape (n,). ``lower_bound`` (Bonferroni) and ``upper_bound``
    (Frechet) hold whatever the correlation of the points. ``independent``: of all, if nothing were common to
    them. ``joint``: of all, with the common and independent parts as given.
    """

    values: FloatArray
    limits: tuple[ToleranceLimits, ...]
    common_uncertainty: FloatArray
    independent_uncertainty: FloatArray
    points: FloatArray
    lower_bound: float
    upper_bound: float
    independent: float
    joint: float

    @property
    def worst_point(self) -> int:
        """Index of the point least likely to conform."""
        return int(np.argmin(self.points))


def joint_conformity(
    values: ArrayLike,
    limits: ToleranceLimits | Sequence[ToleranceLimits],
    *,
    common_uncertainty: ArrayLike,
    independent_uncertainty: ArrayLike,
) -> JointConformity:
    """Return how likely all of the measured ``values``, shape (n,), lie within their limits at once.

    ``common_uncertainty`` is the standard uncertainty of what moves all points together, in proportion to
    its entries (all upwards, as a reference that reads low would); ``independent_uncertainty`` that of what
    moves each by itself. Both in the unit of ``values``, one number or shape (n,); both parts are normal.
    Given the common part the points are independent, so that the joint probability is an average, over the
    common part, of the product of the points' probabilities.

    Raises ``ConformityError`` for no points, numbers that are not finite or a wrong count of limits.
    """
    y = frozen(np.atleast_1d(np.asarray(values, dtype=float)))
    common = frozen(np.broadcast_to(np.asarray(common_uncertainty, dtype=float), y.shape))
    own = frozen(np.broadcast_to(np.asarray(independent_uncertainty, dtype=float), y.shape))
    each = (limits,) * len(y) if isinstance(limits, ToleranceLimits) else tuple(limits)
    _require_usable(y, common, own, each)
    total = np.hypot(common, own)
    judged = zip(y.tolist(), total.tolist(), each, strict=True)
    points, violations = zip(*(conformity_of(value, u, limit) for value, u, limit in judged), strict=True)
    least, most = max(0.0, 1.0 - sum(violations)), min(points)
    return JointConformity(
        values=y,
        limits=each,
        common_uncertainty=common,
        independent_uncertainty=own,
        points=frozen(points),
        lower_bound=least,
        upper_bound=most,
        independent=float(np.prod(points)),
        joint=min(max(_joint(y, common, own, each), least), most),  # but for rounding it lies between them
    )


def joint_conformity_sentences(result: JointConformity) -> tuple[str, str]:
    """Say what the verdicts on single points promise, and what can be said of all of them together."""
    worst = result.worst_point
    single = (
        f"Each of the {len(result.points)} points was judged by itself: a single point conforms with a "
        f"probability of at least {result.points[worst]:.3f} (point {worst + 1}), and that is no statement "
        "on all of them at once."
    )
    together = (
        "That all points conform at once has a probability of "
        f"{result.joint:.3f} with the common and independent uncertainties of this budget; it is at least "
        f"{result.lower_bound:.3f} and at most {result.upper_bound:.3f} however the points are "
        f"correlated, and would be {result.independent:.3f} if they had nothing in common."
    )
    return single, together


def _joint(y: FloatArray, common: FloatArray, own: FloatArray, limits: tuple[ToleranceLimits, ...]) -> float:
    # distances from each value: a common part below the last digit of the value still counts
    distances = [limits[i].relative_to(y[i]) for i in range(len(y))]
    transitions = [
        (distance / common[i], own[i] / common[i])
        for i in range(len(y))
        for distance in distances[i].stated
        # within reach of the common part, and steeper than the panels themselves resolve
        if abs(distance) <= 9.0 * common[i] + 8.0 * own[i] and own[i] < 0.2 * common[i]
    ]
    lower = np.array([[-math.inf if d.lower is None else d.lower] for d in distances])
    upper = np.array([[math.inf if d.upper is None else d.upper] for d in distances])

    def all_conform(z: FloatArray) -> FloatArray:
        product = np.ones(np.shape(z))
        for begin in range(0, len(y), _AT_ONCE):
            some = slice(begin, begin + _AT_ONCE)
            shift = common[some, None] * z
            product *= np.prod(mass_between(lower[some] - shift, upper[some] - shift, own[some, None]), axis=0)
        return product

    return normal_expectation(all_conform, transitions=transitions)


def _require_usable(y: FloatArray, common: FloatArray, own: FloatArray, limits: tuple[ToleranceLimits, ...]) -> None:
    if y.ndim != 1 or not len(y):
        raise ConformityError(f"the values have the shape {y.shape}; give a list of at least one value")
    if len(limits) != len(y):
        raise ConformityError(f"there are {len(y)} values but {len(limits)} limits; give one for each or one")
    for what, numbers in (("values", y), ("common uncertainty", common), ("independent uncertainty", own)):
        if not np.isfinite(numbers).all() or (what != "values" and (numbers < 0.0).any()):
            raise ConformityError(f"the {what} are {numbers.tolist()}; give finite numbers, uncertainties not negative")
