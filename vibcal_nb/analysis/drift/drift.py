"""Drift of a channel over its visits: what changed between them, where it is going, and when to come again.

A visit's as-found is held against the previous visit's as-left (or as-found, where nothing was adjusted). An
as-left result says that something was adjusted or renewed, and breaks the trend there; so does a nominal sensitivity
that was restated. An item that was exchanged ends it: another item has another rate, and the trend begins anew with
the last exchange. Everything is worked out from the visits' own readings, by the same analyses that judged them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from vibcal_nb.analysis.drift.interval import (
    IntervalProposal,
    IntervalSteps,
    propose_control_chart,
    propose_reliability,
    propose_staircase,
)
from vibcal_nb.analysis.drift.normalized_error import Change, compare
from vibcal_nb.analysis.drift.observations import Observation, covariance, without_adjustments
from vibcal_nb.analysis.drift.standing import Standing
from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.gates import unique, verdict_behind
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.result import Result
from vibcal_nb.metrology.conformity.decision import FAIL, NOT_VERIFIED, PASS, Verdict, worst_verdict
from vibcal_nb.metrology.over_time.conformity_date import ConformityDate, find_conformity_date
from vibcal_nb.metrology.over_time.ewma import EwmaChart
from vibcal_nb.metrology.over_time.reliability import Reliability, estimate_reliability
from vibcal_nb.metrology.over_time.trend import Trend, fit_trend
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import AS_FOUND, AS_LEFT
from vibcal_nb.units import DAYS_PER_YEAR


@dataclass(frozen=True, kw_only=True)
class DriftSettings:
    """The user's choices: level of the conformity date, its horizon, step sizes and targets of the intervals."""

    conformity_level: float = 0.95
    horizon_years: float = 10.0
    steps: IntervalSteps
    inner_pct: float = 80.0
    ewma_weight: float = 0.3
    ewma_k: float = 3.0
    target_reliability: float = 0.95


@dataclass(frozen=True, kw_only=True, eq=False)
class QuantityDrift:
    """Drift of one quantity, in % of nominal.

    ``changes`` run from a visit's last state to the next visit's as-found; ``adjustments`` from as-found to
    as-left of one visit; ``breaks`` are changes between visits that are no drift, because an item was exchanged or
    the nominal sensitivity restated. ``exchange`` is the last of all these in which an item was exchanged: ``trend``
    (t in years from the last observation) is of what was observed since. It and ``date`` are None where
    they cannot be given, with the reason in ``undetermined``. ``stable_pct`` are the as-found deviations with the
    adjustments and breaks taken out, one a visit.
    """

    quantity: str
    observations: tuple[Observation, ...]
    changes: tuple[Change, ...]
    adjustments: tuple[Change, ...]
    breaks: tuple[Change, ...]
    exchange: Change | None
    trend: Trend | None
    date: ConformityDate | None
    stable_pct: tuple[float, ...]
    chart: EwmaChart | None
    proposals: tuple[IntervalProposal, ...]
    undetermined: Mapping[str, str]
    verdict: Verdict

    @property
    def visits(self) -> int:
        """Number of visits that observed the quantity."""
        return len({item.date for item in self.observations})

    @property
    def since_exchange(self) -> tuple[Observation, ...]:
        """What was observed since the last exchange: all, where nothing was exchanged."""
        first = 0 if self.exchange is None else self.observations.index(self.exchange.after)
        return self.observations[first:]

    @property
    def visits_since_exchange(self) -> int:
        """Number of visits that the trend can rest on."""
        return len({item.date for item in self.since_exchange})

    @property
    def tolerance_pct(self) -> float | None:
        """Tolerance at the latest observation, in %."""
        return self.observations[-1].tolerance_pct


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class DriftResult(Result):
    """Drift of one channel up to a visit; ``case`` is that visit's, without readings of its own.

    ``reliability`` is of the like channels (None where none was found again after a good visit).
    """

    case: Case
    settings: DriftSettings
    quantities: tuple[QuantityDrift, ...]
    reliability: Reliability | None
    reliability_proposal: IntervalProposal
    undetermined: Mapping[str, str]
    verdict: Verdict
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = (
        "as-found against the previous as-left by E_n with what both share removed (ISO 13528); generalised least "
        "squares over the visits; probability of conformity (JCGM 106:2012)"
    )


@refusing
def analyse_drift(
    case: Case,
    observations: Iterable[Observation],
    *,
    like: Iterable[Sequence[Standing]],
    settings: DriftSettings,
    rng: np.random.Generator,
) -> DriftResult:
    """Analyse the drift of a channel from its observations at all visits, in any order.

    ``like`` holds where each like channel stood, this one among them, for their reliability. The verdict
    is pass where every quantity with a tolerance is, with the chosen probability, still within it at the end of
    the current interval; not verified where the visits cannot tell, or the last one's equipment was not in order.
    """
    grouped: dict[str, list[Observation]] = {}
    for item in sorted(observations, key=lambda o: (o.date, o.condition != AS_FOUND)):
        grouped.setdefault(item.quantity, []).append(item)
    quantities = tuple(_analyse_quantity(items, settings, rng) for items in grouped.values())
    found = _reliability(like)
    last = max((item.date for items in grouped.values() for item in items), default=None)
    gates = unique(g for items in grouped.values() for item in items if item.date == last for g in item.gates)
    return DriftResult(
        case=case,
        settings=settings,
        quantities=quantities,
        reliability=found,
        reliability_proposal=propose_reliability(found, target=settings.target_reliability, steps=settings.steps),
        undetermined={f"{key}, {q.quantity}": why for q in quantities for key, why in q.undetermined.items()},
        verdict=verdict_behind(worst_verdict([q.verdict for q in quantities if q.tolerance_pct is not None]), gates),
        gates=gates,
    )


def _analyse_quantity(items: list[Observation], settings: DriftSettings, rng: np.random.Generator) -> QuantityDrift:
    changes: list[Change] = []
    adjustments: list[Change] = []
    breaks: list[Change] = []
    exchange, since, stretch = None, items[:1], [0]
    for before, after in pairwise(items):
        change, adjusted = compare(before, after), after.condition == AS_LEFT
        broken = change.why_broken is not None
        (adjustments if adjusted else breaks if broken else changes).append(change)
        if change.why_broken is not None and change.why_broken.exchanges:
            exchange, since, stretch = change, [after], [0]
        else:
            since.append(after)
            stretch.append(stretch[-1] + int(adjusted or broken))
    undetermined: dict[str, str] = {}
    trend = _trend(since, stretch, undetermined, exchanged=exchange is not None)
    date = _date(trend, items[-1].tolerance_pct, settings, undetermined, rng)
    stable = tuple(level for _, level in without_adjustments(items))
    proposals, chart = _proposals(items, since, settings)
    return QuantityDrift(
        quantity=items[-1].quantity,
        observations=tuple(items),
        changes=tuple(changes),
        adjustments=tuple(adjustments),
        breaks=tuple(breaks),
        exchange=exchange,
        trend=trend,
        date=date,
        stable_pct=stable,
        chart=chart,
        proposals=proposals,
        undetermined=undetermined,
        verdict=_verdict(date, settings),
    )


def _years(items: Sequence[Observation]) -> list[float]:
    return [(item.date - items[-1].date).days / DAYS_PER_YEAR for item in items]


def _trend(
    items: list[Observation], stretch: list[int], undetermined: dict[str, str], *, exchanged: bool
) -> Trend | None:
    t, y = _years(items), [item.deviation_pct for item in items]
    try:
        return fit_trend(t, y, covariance=covariance(items), stretch=stretch)
    except ValueError as error:
        visits = len({item.date for item in items})
        one = "one visit since the last exchange shows no drift" if exchanged else "one visit shows no drift"
        reason = str(error).rstrip(".") if visits > 1 else one
        undetermined["trend"] = undetermined["conformity date"] = reason
        return None


def _date(
    trend: Trend | None,
    tolerance: float | None,
    settings: DriftSettings,
    undetermined: dict[str, str],
    rng: np.random.Generator,
) -> ConformityDate | None:
    if trend is None:
        return None
    if tolerance is None:
        undetermined["conformity date"] = "the quantity has no tolerance of its own"
        return None
    if trend.steady is False:
        undetermined["conformity date"] = (
            f"the visits do not follow one steady drift (chi-squared {trend.chi_squared:.1f}, limit "
            f"{trend.chi_squared_limit:.1f}): something happened between them, and its next time is not foreseen"
        )
        return None
    level, horizon = settings.conformity_level, settings.horizon_years
    return find_conformity_date(trend, tolerance=tolerance, level=level, horizon_years=horizon, rng=rng)


def _proposals(
    items: list[Observation], since: list[Observation], settings: DriftSettings
) -> tuple[tuple[IntervalProposal, ...], EwmaChart | None]:
    """The staircase asks how the channel was found last, the chart how it went ``since`` the last exchange."""
    found = next((item for item in reversed(items) if item.condition == AS_FOUND), None)
    if found is None or found.tolerance_pct is None:
        return (), None
    staircase = propose_staircase(
        found.deviation_pct, tolerance_pct=found.tolerance_pct, inner_pct=settings.inner_pct, steps=settings.steps
    )
    matrix, stable = covariance(since), tuple(level for _, level in without_adjustments(since))
    s = float(np.sqrt(max(matrix[-1, -1] + matrix[0, 0] - 2.0 * matrix[0, -1], 1e-12)))
    chart_proposal, chart = propose_control_chart(
        stable, s_pct=s, weight=settings.ewma_weight, k=settings.ewma_k, steps=settings.steps
    )
    return (staircase, chart_proposal), chart


def _verdict(date: ConformityDate | None, settings: DriftSettings) -> Verdict:
    if date is None:
        return NOT_VERIFIED
    years = settings.steps.current_months / 12.0
    return PASS if date.years is None or date.years >= years else FAIL


def _reliability(like: Iterable[Sequence[Standing]]) -> Reliability | None:
    """From every like channel: how long after a visit that left it in tolerance, and whether it was found out."""
    years, out = [], []
    for channel in like:
        for quantity in dict.fromkeys(item.quantity for item in channel):
            items = sorted(
                (item for item in channel if item.quantity == quantity),
                key=lambda item: (item.date, item.condition != AS_FOUND),
            )
            for before, after in pairwise(items):
                same = not after.broken
                if same and after.condition == AS_FOUND and after.date > before.date and before.within:
                    years.append((after.date - before.date).days / DAYS_PER_YEAR)
                    out.append(not after.within)
    return estimate_reliability(years, out) if years else None
