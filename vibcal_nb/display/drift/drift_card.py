"""What the card of a drift says: until when in one sentence, and each quantity."""

from __future__ import annotations

from vibcal_nb.analysis.drift.drift import DriftResult, QuantityDrift
from vibcal_nb.display.card.card_parts import Quantity
from vibcal_nb.display.drift.drift_statements import month
from vibcal_nb.display.writing.names import plural
from vibcal_nb.display.writing.numbers import percent_with_uncertainty
from vibcal_nb.metrology.conformity.decision import FAIL
from vibcal_nb.metrology.uncertainty.coverage import expand


def drift_sentence(result: DriftResult) -> str:
    """Say in one plain sentence until when the channel is probably within its tolerance."""
    judged = [item for item in result.quantities if item.tolerance_pct is not None]
    failing = [item for item in judged if item.verdict == FAIL]
    if failing:
        return f"{failing[0].quantity}: {_until(failing[0])}"
    known = [item for item in judged if item.date is not None]
    if result.gates:
        return result.gates[0].found
    if not known:
        visits = max((item.visits for item in result.quantities), default=0)
        return f"{plural(visits, 'visit')} cannot tell how it drifts"
    first = min(known, key=lambda item: _years(item))
    return f"{first.quantity}: {_until(first)}"


def _years(item: QuantityDrift) -> float:
    years = None if item.date is None else item.date.years
    return float("inf") if years is None else years


def _until(item: QuantityDrift) -> str:
    found = item.date
    if found is None:
        return "no date is given"
    if found.years == 0.0:
        return f"not within ± {item.tolerance_pct:g} % with {100.0 * found.level:g} % even now"
    until = month(item, found.years, found.horizon_years)
    return f"within ± {item.tolerance_pct:g} % with {100.0 * found.level:g} % until {until}"


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
