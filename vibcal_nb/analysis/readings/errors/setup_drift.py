"""How a set-up drifted during a test: the first and the last reading at the reference frequency (common practice).

A joint that settles, a cable that creeps, a sensor that warms up move all readings, the more the later. Where the two
differ by more than their own scatter explains, every reading may be off by half the difference from their mean: a
rectangular contribution. Within the scatter nothing is added, because the scatter is counted already.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.uncertainty.budget_line import BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine

NAME = "drift of the set-up"


@dataclass(frozen=True, kw_only=True)
class SetUpDrift:
    """The change from the first to the last reading at ``frequency_hz``, in %, with the U of that change.

    ``first_row`` and ``last_row`` are those of the reading table.
    """

    frequency_hz: float
    first_row: int
    last_row: int
    change_pct: float
    expanded: Expanded

    @property
    def significant(self) -> bool:
        """Whether the set-up drifted by more than the readings scatter."""
        return abs(self.change_pct) > self.expanded.U

    @property
    def line(self) -> BudgetLine | None:
        """The budget line, in % of the sensitivity; None where nothing is to be added."""
        if not self.significant:
            return None
        source = f"half of the {self.change_pct:+.2g} % between rows {self.first_row} and {self.last_row}"
        half = abs(self.change_pct) / 2.0
        return BudgetLine(name=NAME, value=half, distribution="rectangular", kind="common", source=source)


def set_up_drift(
    rows: NDArray[np.intp],
    sensitivity: FloatArray,
    own_pct: FloatArray,
    *,
    at_reference: NDArray[np.bool_],
    usable: NDArray[np.bool_],
    frequency_hz: float,
    nu: float,
    probability: float,
) -> SetUpDrift | None:
    """Return the drift that readings (n,) in the order of their ``rows`` show, or None.

    None where there are not two at the reference frequency with another frequency's reading between them.
    """
    at = np.flatnonzero(at_reference)
    if at.size < 2 or sensitivity[at[0]] <= 0.0:
        return None
    first, last = int(at[np.argmin(rows[at])]), int(at[np.argmax(rows[at])])
    between = (rows > rows[first]) & (rows < rows[last]) & usable & ~at_reference
    if not between.any():
        return None
    ratio = float(sensitivity[last] / sensitivity[first])
    own = math.hypot(float(own_pct[first]), float(own_pct[last]))
    return SetUpDrift(
        frequency_hz=frequency_hz,
        first_row=int(rows[first]),
        last_row=int(rows[last]),
        change_pct=100.0 * (ratio - 1.0),
        expanded=combine((abs(ratio) * own, nu), probability=probability),
    )
