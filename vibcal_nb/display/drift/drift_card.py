"""What the card of a drift says: until when in one sentence, each quantity, and what to do."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from vibcal_nb.analysis.drift.drift import DriftResult, QuantityDrift
from vibcal_nb.analysis.drift.normalized_error import Change
from vibcal_nb.display.card.card_parts import Quantity
from vibcal_nb.display.drift.drift_statements import month
from vibcal_nb.display.writing.names import listed, plural
from vibcal_nb.display.writing.numbers import percent_with_uncertainty
from vibcal_nb.metrology.conformity.decision import FAIL
from vibcal_nb.metrology.uncertainty.coverage import expand
from vibcal_nb.units import DAYS_PER_YEAR


def drift_sentence(result: DriftResult) -> str:
    """Say in one plain sentence until when the channel is probably within its tolerance."""
    judged = _judged(result)
    failing = [item for item in judged if item.verdict == FAIL]
    known = failing[:1] or [item for item in judged if item.date is not None]
    if not failing and result.gates:
        return result.gates[0].found
    unsteady = [item for item in judged if item.trend is not None and item.trend.steady is False]
    if unsteady and not failing:
        return f"{_named(unsteady)} did not drift steadily: until when it stays within cannot be told"
    if not known:
        visits = max((item.visits_since_exchange for item in result.quantities), default=0)
        since = " since the last exchange" if any(item.exchange for item in judged) else ""
        return f"{plural(visits, 'visit')}{since} cannot tell how it drifts"
    first = min(known, key=_years)
    due = f"the next visit is due after {result.settings.steps.current_months:g} months"
    return f"{first.quantity}: {_until(first)}; {due}"


def _judged(result: DriftResult) -> list[QuantityDrift]:
    return [item for item in result.quantities if item.tolerance_pct is not None]


def _years(item: QuantityDrift) -> float:
    years = None if item.date is None else item.date.years
    return float("inf") if years is None else years


def _until(item: QuantityDrift) -> str:
    found = item.date
    if found is None:
        return "no date is given"
    within = f"within ± {item.tolerance_pct:g} % ({100.0 * found.level:g} % probable)"
    if found.years == 0.0:
        return f"it is not {within} even now"
    if found.years is None:
        return f"if it drifts on as it did, it stays {within} for {found.horizon_years:g} years, as far as is looked"
    until = month(item, found.years, found.horizon_years)
    return f"if it drifts on as it did, it stays {within} until {until}"


def drift_steps(result: DriftResult) -> tuple[str, ...]:
    """Say what to do: adjust or exchange, find out what happened, come again, and by when."""
    judged = _judged(result)
    return tuple(_asked(result, judged)) if judged else ()


def _asked(result: DriftResult, judged: list[QuantityDrift]) -> Iterator[str]:
    off = [item for item in judged if item.date is not None and item.date.years == 0.0]
    if off:
        yield f"adjust or exchange what is off, and read it as left: {_named(off)}"
    events: dict[tuple[date, date], list[str]] = {}
    for item in judged:
        if item.trend is not None and item.trend.steady is False:
            change = _least_steady(item)
            said = f"{item.quantity} changed by {percent_with_uncertainty(change.change_pct, change.expanded)}"
            events.setdefault((change.before.date, change.after.date), []).append(said)
    for (start, end), said_of in events.items():
        yield f"find out what happened between {start} and {end}: {listed(said_of)}, and not steadily"
    early = [item for item in judged if item.verdict == FAIL and item not in off]
    if early:
        first = min(early, key=_years)
        yield (
            f"come again by {month(first, _years(first), result.settings.horizon_years)}, "
            f"or adjust or exchange before: {_named(early)}"
        )
    due = max(item.observations[-1].date for item in judged) + timedelta(
        days=DAYS_PER_YEAR / 12.0 * result.settings.steps.current_months
    )
    unknown = [item for item in judged if item.trend is None]
    if unknown:
        yield f"come again by {due:%Y-%m}: two visits to the same items give a rate"
    elif not off and not early:
        yield f"come again by {due:%Y-%m}"


def _least_steady(item: QuantityDrift) -> Change:
    """Return the step between two states since the last exchange that is most beyond its uncertainty."""
    since = item.since_exchange
    steps = [change for change in item.changes if change.before in since] or list(item.changes)
    return max(steps, key=lambda change: abs(change.E_n))


def _named(items: list[QuantityDrift]) -> str:
    return listed([item.quantity for item in items])


def drift_quantities(result: DriftResult) -> tuple[Quantity, ...]:
    """Return the last state of each quantity that has a tolerance, with its verdict."""
    return tuple(_last(item) for item in result.quantities if item.tolerance_pct is not None)


def _last(item: QuantityDrift) -> Quantity:
    last = item.observations[-1]
    return Quantity(
        name=f"{item.quantity}, {last.date.isoformat()}",
        value=percent_with_uncertainty(last.deviation_pct, expand(last.u_pct)),
        limit=f"± {item.tolerance_pct:g} %",
        decision=None,
        mark=item.verdict,
    )
