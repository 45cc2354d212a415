"""Whether a channel stood within its tolerance at its visits: all that drift asks of the channels that are alike."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from vibcal_nb.analysis.drift.observations import Observation, break_between
from vibcal_nb.model.names import AS_FOUND


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """Whether one quantity of a channel was ``within`` its tolerance at one visit, in one condition.

    ``broken``: something was exchanged or restated since the standing before it, so that the two say nothing of time.
    """

    quantity: str
    date: date
    condition: str
    within: bool
    broken: bool = False


def standings(observations: Iterable[Observation]) -> tuple[Standing, ...]:
    """Return what observations with a tolerance say of it, quantity by quantity, each in the order of time."""
    by_quantity: dict[str, list[Observation]] = {}
    for item in observations:
        if item.tolerance_pct is not None:
            by_quantity.setdefault(item.quantity, []).append(item)
    ordered = (sorted(items, key=lambda o: (o.date, o.condition != AS_FOUND)) for items in by_quantity.values())
    return tuple(standing for items in ordered for standing in _in_time(items))


def _in_time(items: list[Observation]) -> list[Standing]:
    broken = [False, *(break_between(before, after) is not None for before, after in pairwise(items))]
    return [
        Standing(
            quantity=item.quantity,
            date=item.date,
            condition=item.condition,
            within=item.tolerance_pct is not None and abs(item.deviation_pct) <= item.tolerance_pct,
            broken=parted,
        )
        for item, parted in zip(items, broken, strict=True)
    ]
