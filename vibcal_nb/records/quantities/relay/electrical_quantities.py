"""Electrical health as records know it: its quantities."""

from __future__ import annotations

from typing import TypedDict

from vibcal_nb.analysis.relay.electrical import ElectricalResult, analyse_electrical
from vibcal_nb.model.names import ELECTRICAL
from vibcal_nb.records.quantities.analysis import analysis_of_test
from vibcal_nb.records.quantities.digits import plain as _plain


class HealthItemEntry(TypedDict):
    """One item as it was read."""

    row: int
    """Row of the reading table."""
    item: str
    """What was measured."""
    value: float | None
    """What was read, in ``unit``."""
    unit: str
    """Unit of the value and the limits."""
    expanded_uncertainty: float | None
    """U of it: last digit, and gain of the widest readout that the visit names."""
    min: float | None
    """The least allowed; null where that side is open."""
    max: float | None
    """The most allowed; null where that side is open."""
    verdict: str | None
    """Verdict on it; null where the channel states no limits."""


class HealthEntry(TypedDict):
    """The electrical health of a channel at rest."""

    items: list[HealthItemEntry]
    """The items that were read."""
    unread: list[str]
    """Items with limits that were not read."""
    verdict: str
    """Verdict of the test."""


def _quantities(result: ElectricalResult) -> HealthEntry:
    return HealthEntry(
        items=[
            HealthItemEntry(
                row=item.row.row,
                item=item.row.item,
                value=_plain(item.value),
                unit=item.unit,
                expanded_uncertainty=_plain(item.expanded.U),
                min=None if item.limit is None else item.limit.lower,
                max=None if item.limit is None else item.limit.upper,
                verdict=None if item.decision is None else item.decision.verdict,
            )
            for item in result.items
        ],
        unread=list(result.unread),
        verdict=result.verdict,
    )


ANALYSIS = analysis_of_test(
    ELECTRICAL,
    analyse_electrical,
    notebook="electrical_health.ipynb",
    method="values at rest against the channel's limits",
    quantities=_quantities,
)
