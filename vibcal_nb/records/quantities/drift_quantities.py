"""Drift as records know it: its quantities."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, TypedDict, cast

from vibcal_nb.analysis.drift.drift import DriftResult, QuantityDrift
from vibcal_nb.analysis.drift.normalized_error import Change
from vibcal_nb.inputs.earlier_visits import earlier_visits
from vibcal_nb.model.names import AS_FOUND, DRIFT
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.records.perform.history import analyse_history, read_history
from vibcal_nb.records.quantities.analysis import Analysis
from vibcal_nb.records.quantities.digits import plain

_Ends = TypedDict("_Ends", {"from": list[str], "to": list[str]})
"""Date and condition of the two states."""


class ExchangeEntry(TypedDict):
    """One item in place of another."""

    part: str
    """``sensor``, ``cable``, ``converter`` or ``monitor``."""
    before: str
    """The older item: its serial number, where it is stated."""
    after: str
    """The newer item."""


class ChangeEntry(_Ends):
    """One state of a quantity held against another: ``from`` and ``to`` are their dates and conditions."""

    change_pct: float | None
    """Change, % of nominal."""
    expanded_uncertainty_pct: float | None
    """U of the change, with what both states share removed, %."""
    E_n: float | None
    """Normalised error: the change over U."""
    exchanges: list[ExchangeEntry]
    """Items that were exchanged between the two states."""
    restated: list[str] | None
    """The nominal sensitivity before and after, where it was restated without an exchange."""


class QuantityEntry(TypedDict):
    """The drift of one quantity; years count from its last observation."""

    quantity: str
    """Its name."""
    visits: int
    """Number of visits that observed it."""
    changes: list[ChangeEntry]
    """Each as-found against the state before it."""
    adjustments: list[ChangeEntry]
    """Each as-left against the as-found of its visit."""
    breaks: list[ChangeEntry]
    """Changes between visits that are no drift: an item was exchanged, or the nominal sensitivity restated."""
    trend_from: list[str]
    """Date and condition of the first state that the trend rests on: that after the last exchange of an item."""
    rate_pct_per_year: float | None
    """Slope of the trend, % of nominal a year."""
    u_rate_pct_per_year: float | None
    """Standard uncertainty of the slope."""
    chi_squared: float | None
    """Chi-squared of the trend."""
    degrees_of_freedom: int | None
    """Its degrees of freedom."""
    steady: bool | None
    """Whether a straight trend describes the visits."""
    conformity_years: float | None
    """Years until the chosen probability of being within tolerance is reached."""
    conformity_interval_years: list[float | None] | None
    """Interval of that date, years."""
    proposed_months: dict[str, float | None]
    """Proposed interval in months, by method."""
    verdict: str
    """Verdict on this quantity."""


class ReliabilityEntry(TypedDict):
    """How often like channels were found out of tolerance."""

    observations: int
    """Number of intervals between visits."""
    out_of_tolerance: int
    """Number of them that ended out of tolerance."""
    rate_per_year: float | None
    """Rate of leaving the tolerance, 1/year."""
    rate_limits_per_year: list[float | None]
    """Limits of that rate, 1/year."""
    interval_months: float | None
    """Interval that keeps the wanted reliability, months."""


class DriftEntry(TypedDict):
    """The drift of a channel."""

    drift: list[QuantityEntry]
    """By quantity."""
    reliability: ReliabilityEntry | None
    """Of like channels; null where none was found again after a good visit."""
    verdict: str
    """Verdict."""


def _quantities(result: DriftResult) -> DriftEntry:
    found = result.reliability
    entry = {
        "drift": [_quantity(item) for item in result.quantities],
        "reliability": None
        if found is None
        else {
            "observations": int(found.years.size),
            "out_of_tolerance": found.out,
            "rate_per_year": plain(found.rate),
            "rate_limits_per_year": [plain(found.lower_rate), plain(found.upper_rate)],
            "interval_months": plain(result.reliability_proposal.months),
        },
        "verdict": result.verdict,
    }
    return cast(DriftEntry, entry)


def _quantity(item: QuantityDrift) -> dict[str, Any]:
    trend, date, first = item.trend, item.date, item.since_exchange[0]
    return {
        "quantity": item.quantity,
        "visits": item.visits,
        "changes": [_change(change) for change in item.changes],
        "adjustments": [_change(change) for change in item.adjustments],
        "breaks": [_change(change) for change in item.breaks],
        "trend_from": [first.date.isoformat(), first.condition],
        "rate_pct_per_year": None if trend is None else plain(trend.slope, beside=trend.u_slope),
        "u_rate_pct_per_year": None if trend is None else plain(trend.u_slope),
        "chi_squared": None if trend is None else plain(trend.chi_squared, beside=1.0),
        "degrees_of_freedom": None if trend is None else trend.degrees_of_freedom,
        "steady": None if trend is None else trend.steady,
        "conformity_years": None if date is None else _years(date.years),
        "conformity_interval_years": None if date is None else [_years(end) for end in date.interval_years],
        "proposed_months": {proposal.method: plain(proposal.months) for proposal in item.proposals},
        "verdict": item.verdict,
    }


def _years(value: float | None) -> float | None:
    """To a month or so: the interval comes from draws, whose last digits no platform promises."""
    return None if value is None else round(value, 2)


def _change(change: Change) -> dict[str, Any]:
    why = change.why_broken
    return {
        "from": [change.before.date.isoformat(), change.before.condition],
        "to": [change.after.date.isoformat(), change.after.condition],
        "change_pct": plain(change.change_pct, beside=change.expanded.U),
        "expanded_uncertainty_pct": plain(change.expanded.U),
        "E_n": plain(change.E_n, beside=1.0),
        "exchanges": [] if why is None else [asdict(exchange) for exchange in why.exchanges],
        "restated": None if why is None or why.restated is None else list(why.restated),
    }


def _cases(visit: VisitFolder) -> list[tuple[str, str]]:
    """One a channel, if there was a visit before; one that no earlier visit read has its record, which says so."""
    read = {reading.channel for reading in visit.table.readings if reading.condition == AS_FOUND}
    if not read or not earlier_visits(visit):
        return []
    return [(tag, AS_FOUND) for tag in visit.asset.channels if tag in read]


def _perform(folder: VisitFolder, *, channel: str, condition: str) -> DriftResult:
    return analyse_history(read_history(folder.path, channel=channel))


ANALYSIS = Analysis(
    name=DRIFT,
    notebook="drift_and_interval.ipynb",
    method="as-found against the previous as-left by E_n (ISO 13528); trend by generalised least squares",
    cases=_cases,
    perform=_perform,
    quantities=_quantities,
    reads_history=True,
)
