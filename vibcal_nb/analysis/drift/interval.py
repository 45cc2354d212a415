"""When to come again: interval methods of ILAC-G24:2022 / OIML D 10:2022, each with what it assumes.

The guide describes the methods and leaves every step size to the user, so they are parameters here. No method
knows the channel better than the visits do: each proposal says what it rests on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from vibcal_nb.metrology.over_time.ewma import EwmaChart, chart_ewma
from vibcal_nb.metrology.over_time.reliability import Reliability

FEWEST_FOR_CHART = 5  # below this a chart's limits rest on stated uncertainty and on little history
FEWEST_FOR_RELIABILITY = 20


@dataclass(frozen=True, kw_only=True)
class IntervalSteps:
    """The user's choices: the current interval, how much longer or shorter a step makes it, and its bounds."""

    current_months: float
    extend_months: float
    shorten_months: float
    shortest_months: float
    longest_months: float

    def __post_init__(self) -> None:
        if not 0.0 < self.shortest_months <= self.longest_months:
            raise ValueError(
                f"intervals from {self.shortest_months:g} to {self.longest_months:g} months: give the shortest above "
                "0 and no longer than the longest."
            )

    def bounded(self, months: float) -> float:
        """Return the interval within the shortest and the longest."""
        return min(max(months, self.shortest_months), self.longest_months)


@dataclass(frozen=True, kw_only=True)
class IntervalProposal:
    """An interval in months that a method proposes (None: it cannot say), why, and what it takes for granted."""

    method: str
    months: float | None
    reason: str
    assumptions: str
    caution: str | None = None


def propose_staircase(
    deviation_pct: float, *, tolerance_pct: float, inner_pct: float, steps: IntervalSteps
) -> IntervalProposal:
    """Propose by the staircase: longer where found within ``inner_pct`` % of the tolerance, shorter where outside it.

    Source: ILAC-G24:2022 / OIML D 10:2022, method 1, "automatic adjustment or staircase" (from memory, with the
    guide's example of 80 %).
    """
    share = 100.0 * abs(deviation_pct) / tolerance_pct
    found = f"found {share:.0f} % of the tolerance from nominal"
    if share > 100.0:
        months, reason = steps.current_months - steps.shorten_months, f"{found}, outside it: shorter"
    elif share > inner_pct:
        months, reason = steps.current_months, f"{found}, between {inner_pct:g} and 100 %: as it is"
    else:
        months, reason = steps.current_months + steps.extend_months, f"{found}, within {inner_pct:g} %: longer"
    return IntervalProposal(
        method="staircase",
        months=steps.bounded(months),
        reason=reason,
        assumptions="the last as-found result alone decides; one visit's chance is taken for the channel's nature",
    )


def propose_control_chart(
    levels_pct: Sequence[float], *, s_pct: float, weight: float, k: float, steps: IntervalSteps
) -> tuple[IntervalProposal, EwmaChart | None]:
    """Propose by a control chart (EWMA) of the as-found deviations with adjustments taken out, from the first visit.

    ``s_pct`` is the standard uncertainty of one such deviation from the first. Source: ILAC-G24:2022 / OIML D
    10:2022, method 2, "control chart" (from memory); NIST/SEMATECH e-Handbook, 6.3.2.4, for the chart.
    """
    assumes = (
        "the scatter of a stable channel is its stated uncertainty; adjustments are taken out; a slow drift shows "
        "before it reaches the tolerance"
    )
    later = list(levels_pct[1:])
    if not later:
        reason = "one visit makes no chart"
        return IntervalProposal(method="control chart", months=None, reason=reason, assumptions=assumes), None
    chart = chart_ewma(later, start=levels_pct[0], s=s_pct, weight=weight, k=k)
    where = f"the average stands at {chart.z[-1]:.2f} %, limits {chart.lower_limit:.2f} to {chart.upper_limit:.2f} %"
    if chart.out:
        months, reason = steps.current_months - steps.shorten_months, f"{where}; {_left(chart)}: shorter"
    elif len(later) < FEWEST_FOR_CHART:
        months, reason = steps.current_months, f"{where}; within, and too few visits to extend on: as it is"
    else:
        months, reason = steps.current_months + steps.extend_months, f"{where}; within: longer"
    caution = None
    if len(later) < FEWEST_FOR_CHART:
        caution = f"{len(levels_pct)} visits are little for a chart, which wants {FEWEST_FOR_CHART + 1} or more"
    proposal = IntervalProposal(
        method="control chart", months=steps.bounded(months), reason=reason, assumptions=assumes, caution=caution
    )
    return proposal, chart


def _left(chart: EwmaChart) -> str:
    """Say when an average left its limits: it may have come back since."""
    if chart.out[-1] == chart.x.size:
        return "it stands outside them"
    when = ", ".join(str(number + 1) for number in chart.out)
    return f"it stood outside them after visit {when} of {chart.x.size + 1} and is back within"


def propose_reliability(found: Reliability | None, *, target: float, steps: IntervalSteps) -> IntervalProposal:
    """Propose the interval after which the share of like channels in tolerance falls to ``target``.

    Source: ILAC-G24:2022 / OIML D 10:2022, statistical methods (from memory); see ``reliability``.
    """
    assumes = "the channels are alike; each leaves its tolerance at one constant rate, not faster with age"
    if found is None:
        reason = "no like channel was found again after a good visit"
        return IntervalProposal(method="reliability", months=None, reason=reason, assumptions=assumes)
    years, (low, high) = found.interval_for(target), found.interval_limits(target)
    count = f"{found.out} of {found.years.size} found out of tolerance"
    span = f"{_months(low)} to {'no bound' if high is None else _months(high)} months"
    reason = f"{count}; {100.0 * target:g} % are in tolerance for {_months(years)} months (95 %: {span})"
    if years is None:
        reason = f"{count}; {100.0 * target:g} % are in tolerance for {span} (95 %)"
    caution = None
    if found.years.size < FEWEST_FOR_RELIABILITY:
        caution = f"{found.years.size} observations are few: the interval's own limits are the answer"
    months = 12.0 * years if years is not None else 12.0 * low
    return IntervalProposal(
        method="reliability", months=steps.bounded(months), reason=reason, assumptions=assumes, caution=caution
    )


def _months(years: float | None) -> str:
    return "–" if years is None or not math.isfinite(years) else f"{12.0 * years:.1f}"
