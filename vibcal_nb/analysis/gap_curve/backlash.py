"""What rising and falling gaps differ by: the micrometer's backlash, as a length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.gap_curve.gap_errors import GapErrors
from vibcal_nb.analysis.gap_curve.gap_runs import SAME_GAP, GapRun
from vibcal_nb.metrology.uncertainty.coverage import Expanded

RISING, FALLING = "rising", "falling"


@dataclass(frozen=True, kw_only=True, eq=False)
class Backlash:
    """Mean of falling less rising, as a gap in the input unit, over the ``count`` gaps that were read both ways."""

    value: float
    expanded: Expanded
    count: int

    @property
    def significant(self) -> bool:
        """Whether it is more than its U."""
        return abs(self.value) > self.expanded.U


def find_backlash(runs: Sequence[GapRun], errors: GapErrors, *, slope: float) -> Backlash | None:
    """Compare the runs of both directions, gap by gap; None where no gap was read both ways.

    The micrometer's certificate does not tell what of its error is the same both ways: it counts for either. ``slope``
    is the nominal sensitivity.
    """
    up, down = ([run for run in runs if run.direction == way] for way in (RISING, FALLING))
    gaps = np.unique(np.concatenate([run.gap for run in (*up, *down)])) if up and down else np.zeros(0)
    count, weights, shared = len(errors.readings), np.zeros(len(errors.readings)), 0
    for gap in gaps:
        both = [[_at(run, float(gap), count) for run in way] for way in (up, down)]
        found = [[w for w in way if w is not None] for way in both]
        if all(found):
            shared += 1
            weights += np.mean(found[1], axis=0) - np.mean(found[0], axis=0)
    if not shared:
        return None
    weights /= shared
    return Backlash(
        value=float(weights @ errors.readings.y) / slope,
        expanded=errors.expanded(weights, -slope * weights, scale=1.0 / slope, both_ways=True),
        count=shared,
    )


def _at(run: GapRun, gap: float, count: int) -> np.ndarray | None:
    near = np.abs(run.gap - gap) <= SAME_GAP * max(abs(gap), 1e-12)
    return run.spread(near.astype(float), count) if near.any() else None
