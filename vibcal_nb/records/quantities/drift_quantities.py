"""The quantities of a drift result, as JSON."""

from __future__ import annotations

from typing import Any

from vibcal_nb.analysis.drift.drift import DriftResult, QuantityDrift
from vibcal_nb.analysis.drift.normalized_error import Change
from vibcal_nb.records.quantities.digits import plain


def drift_quantities(result: DriftResult) -> dict[str, Any]:
    """Return what changed, trends, dates and proposals; years count from the last observation of each quantity."""
    found = result.reliability
    return {
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


def _quantity(item: QuantityDrift) -> dict[str, Any]:
    trend, date = item.trend, item.date
    return {
        "quantity": item.quantity,
        "visits": item.visits,
        "changes": [_change(change) for change in item.changes],
        "adjustments": [_change(change) for change in item.adjustments],
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
    return {
        "from": [change.before.date.isoformat(), change.before.condition],
        "to": [change.after.date.isoformat(), change.after.condition],
        "change_pct": plain(change.change_pct, beside=change.expanded.U),
        "expanded_uncertainty_pct": plain(change.expanded.U),
        "E_n": plain(change.E_n, beside=1.0),
    }
