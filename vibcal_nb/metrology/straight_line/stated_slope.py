"""How far readings lie from the straight line of a stated slope, in the unit of x.

API 670 (from memory) counts an eddy-current probe's curve so: the slope is that of the specification, and only the
line's place is free. Where that place makes the largest deviation smallest the kind is *minimax*, where it is the mean
*least squares*; on the same readings they differ.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.straight_line.line_points import checked_points

MINIMAX: Final = "minimax"
LEAST_SQUARES: Final = "least-squares"


@dataclass(frozen=True, kw_only=True, eq=False)
class StatedSlopeLine:
    """The line y = slope (x + c), and how far the readings lie from it in the unit of x.

    ``deviations`` y/slope - x - c, read-only, shape (n,); ``max_deviation`` the largest of their sizes. ``weights``
    (n,) are those of the deviations y/slope - x in it: ``max_deviation`` is their sum, each weight times its deviation.
    """

    kind: str
    slope: float
    offset: float
    deviations: FloatArray
    max_deviation: float
    weights: FloatArray


def line_of_stated_slope(x: ArrayLike, y: ArrayLike, *, slope: float, kind: str = MINIMAX) -> StatedSlopeLine:
    """Draw the line of a stated slope through readings by ``kind``; x and y have shape (n,), n >= 1.

    Raises ``ValueError`` for unlike lengths, values that are not finite, a slope of 0, or another kind.

    Examples
    --------
    >>> line_of_stated_slope([0.0, 1.0, 2.0], [0.0, 2.0, 5.0], slope=2.0).max_deviation
    0.25
    """
    x, y = checked_points(x, y, at_least=1)
    if slope == 0.0 or not np.isfinite(slope):
        raise ValueError(f"The slope is {slope}; give a number other than 0.")
    beside = y / slope - x
    high, low = int(np.argmax(beside)), int(np.argmin(beside))
    weights = np.zeros(x.size)
    if kind == MINIMAX:
        offset = 0.5 * (beside[high] + beside[low])
        weights[high] += 0.5
        weights[low] -= 0.5
    elif kind == LEAST_SQUARES:
        offset = beside.mean()
        farthest = int(np.argmax(np.abs(beside - offset)))
        weights -= 1.0 / x.size
        weights[farthest] += 1.0
        weights *= np.sign(beside[farthest] - offset)
    else:
        raise ValueError(f"There is no kind '{kind}'; give {MINIMAX} or {LEAST_SQUARES}.")
    deviations = beside - offset
    return StatedSlopeLine(
        kind=kind,
        slope=slope,
        offset=float(offset),
        deviations=frozen(deviations),
        max_deviation=float(np.abs(deviations).max()),
        weights=frozen(weights),
    )
