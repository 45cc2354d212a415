"""Drift in words: what changed, until when the channel probably stays within its tolerance, how little is known."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, timedelta

from vibcal_nb.analysis.drift.drift import DriftResult, QuantityDrift
from vibcal_nb.analysis.drift.normalized_error import Change
from vibcal_nb.display.writing.exchanges import break_text
from vibcal_nb.display.writing.findings import Finding, Wording, failures_first
from vibcal_nb.display.writing.names import listed, plural, spoken
from vibcal_nb.display.writing.numbers import fixed, number, percent_with_uncertainty
from vibcal_nb.metrology.conformity.decision import FAIL
from vibcal_nb.units import DAYS_PER_YEAR


def word_drift(result: DriftResult) -> Wording:
    """Say what the visits show of a channel's drift."""
    return Wording(
        findings=failures_first(list(_findings(result))), gaps=tuple(_gaps(result)), remarks=tuple(_remarks(result))
    )


def _findings(result: DriftResult) -> Iterator[Finding]:
    """What changed up to the last visit, and the dates; what changed before is a remark."""
    for item, change in _significant(result):
        if change.after.date == _last(result):
            yield True, change_sentence(item, change)
    for item in result.quantities:
        if item.tolerance_pct is not None and item.date is not None:
            yield item.verdict == FAIL, date_sentence(result, item)


def _last(result: DriftResult) -> date | None:
    return max((o.date for item in result.quantities for o in item.observations), default=None)


def _judged(result: DriftResult) -> Iterator[tuple[QuantityDrift, Change]]:
    """The changes between visits of the quantities that have a tolerance."""
    return ((item, change) for item in result.quantities if item.tolerance_pct is not None for change in item.changes)


def _significant(result: DriftResult) -> Iterator[tuple[QuantityDrift, Change]]:
    return ((item, change) for item, change in _judged(result) if change.significant)


def _gaps(result: DriftResult) -> Iterator[str]:
    for item in result.quantities:
        if item.tolerance_pct is not None and "conformity date" in item.undetermined:
            why = item.undetermined["conformity date"]
            yield f"No date is given for the {item.quantity}: {why}"


def _remarks(result: DriftResult) -> Iterator[str]:
    """What breaks the drift, which visits were not in order, and how much they can tell at all."""
    yield from dict.fromkeys(
        break_sentence(change)
        for item in result.quantities
        for change in (*item.breaks, *item.adjustments)
        if change.why_broken is not None
    )
    for item, change in _significant(result):
        if change.after.date != _last(result):
            yield f"Earlier: {change_sentence(item, change)}"
    yield from _comparisons(result)
    yield from _doubted_visits(result)
    exchanged = [item for item in result.quantities if item.exchange is not None]
    if exchanged:
        yield (
            f"The trend of {listed([item.quantity for item in exchanged])} begins with the last exchange, "
            "for another item has another rate"
        )
    visits = max((item.visits_since_exchange for item in result.quantities), default=0)
    if visits <= 1:
        yield f"One visit{' since the last exchange' if exchanged else ''} shows no drift"
    elif visits == 2:
        yield "Two visits give a slope and nothing to test it with: that the drift is steady is taken for granted"
    else:
        freedom = max((item.trend.degrees_of_freedom for item in result.quantities if item.trend), default=0)
        yield f"{visits} visits leave {plural(freedom, 'degree')} of freedom to test whether the drift is steady"


def _comparisons(result: DriftResult) -> Iterator[str]:
    """How many comparisons were made, where one of them is more than its uncertainty explains."""
    made, more = list(_judged(result)), len(list(_significant(result)))
    if more:
        by_chance = math.fsum(1.0 - change.expanded.probability for _, change in made)
        yield (
            f"Of {plural(len(made), 'comparison')} between visits {more} {'has' if more == 1 else 'have'} |Eₙ| above "
            f"1, where chance alone gives {number(by_chance, digits=1)} on average"
        )


def _doubted_visits(result: DriftResult) -> Iterator[str]:
    """Earlier visits whose equipment was not in order; the last one's keep the verdict from being a pass."""
    found = {gate.found: o.visit for q in result.quantities for o in q.observations for gate in o.gates}
    said = {gate.found for gate in result.gates}
    for text, visit in found.items():
        if text not in said:
            yield f"The visit {visit} was not verified. {text}"


def change_sentence(item: QuantityDrift, change: Change) -> str:
    """Say one change: between which states, how much, and whether more than its uncertainty explains."""
    before, after = change.before, change.after
    more = "more than" if change.significant else "no more than"
    return (
        f"The {item.quantity} changed by {percent_with_uncertainty(change.change_pct, change.expanded)} "
        f"from {before.date.isoformat()} {spoken(before.condition)} to {after.date.isoformat()} "
        f"{spoken(after.condition)}: {more} its uncertainty explains (Eₙ = {fixed(change.E_n, signed=True)})"
    )


def break_sentence(change: Change) -> str:
    """Say what was exchanged or restated between two states, so that what changed there is no drift."""
    assert change.why_broken is not None  # asked only where there is a break
    before, after = change.before, change.after
    return (
        f"Between {before.date.isoformat()} {spoken(before.condition)} and {after.date.isoformat()} "
        f"{spoken(after.condition)}: {break_text(change.why_broken)}; what changed there is no drift"
    )


def date_sentence(result: DriftResult, item: QuantityDrift) -> str:
    """Say until when the quantity is probably within its tolerance."""
    found = item.date
    assert found is not None and item.tolerance_pct is not None  # asked only where there is a date
    within = f"within ± {item.tolerance_pct:g} %"
    level = f"{100.0 * found.level:g} %"
    if found.years is None:
        return f"The {item.quantity} stays {within} with {level} for {found.horizon_years:g} years, as far as is looked"
    if found.years == 0.0:
        return f"The {item.quantity} is not {within} with {level} even now"
    low, high = found.interval_years
    span = f"{month(item, low, found.horizon_years)} to {month(item, high, found.horizon_years)}"
    return (
        f"If it drifts on as it did, the probability that the {item.quantity} is {within} falls below {level} in "
        f"{month(item, found.years, found.horizon_years)}; the visits leave that date open from {span} (95 %), "
        "which is no interval for when the tolerance is left"
    )


def month(item: QuantityDrift, years: float | None, horizon_years: float) -> str:
    """Write the calendar month so many years after the last observation; None is beyond the horizon."""
    last = item.observations[-1].date
    if years is None:
        return f"beyond {last.year + int(horizon_years)}"
    return (last + timedelta(days=DAYS_PER_YEAR * years)).strftime("%Y-%m")
