"""Delays from the level being exceeded to the relay, judged against the pair that the set point states.

U holds what the table shows: the last digit of each, and their scatter. How the time was taken is not in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.readings.judged_point import judge
from vibcal_nb.metrology.conformity.decision import Decision, DecisionRule
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine
from vibcal_nb.model.relay.check_rows import SetPointRow
from vibcal_nb.model.relay.set_points import SetPoint

ROOT_12 = math.sqrt(12.0)


@dataclass(frozen=True, kw_only=True)
class DelayTaken:
    """The mean of ``count`` delays in s, with U; ``decision`` is None where the set point states no pair."""

    mean_s: float
    expanded: Expanded
    count: int
    decision: Decision | None


def judge_delays(
    set_point: SetPoint, rows: Sequence[SetPointRow], rule: DecisionRule, *, probability: float
) -> DelayTaken | None:
    """Judge the delays of rows that acted; None where none was taken."""
    taken = [(row.delay_s, row.delay_decimals) for row in rows if row.delay_s is not None]
    if not taken:
        return None
    seconds = np.array([value for value, _ in taken])
    decimals = [digits for _, digits in taken if digits is not None]
    step = math.pow(10.0, -max(decimals)) if decimals else 0.0
    count = len(seconds)
    parts = [(step / ROOT_12, math.inf)]
    if count > 1:
        parts.append((float(seconds.std(ddof=1)) / math.sqrt(count), count - 1.0))
    expanded = combine(*parts, probability=probability)
    low, high = set_point.delay_s or (None, None)
    mean = float(seconds.mean())
    return DelayTaken(
        mean_s=mean, expanded=expanded, count=count, decision=judge(mean, expanded, rule, lower=low, upper=high)
    )
