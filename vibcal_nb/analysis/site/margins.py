"""How near a result lies to the limit that is nearest: one figure by which thousands of results are compared."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.analysis.result import Result
from vibcal_nb.metrology.conformity.decision import Decision


@dataclass(frozen=True, kw_only=True)
class Margin:
    """What lies nearest to a limit of its own.

    ``margin_pct`` is the distance from the nearer limit in % of the room there is (half the width of a
    two-sided tolerance, the limit itself of a one-sided one): 100 in the middle, 0 on a limit, negative outside.
    """

    name: str
    value_pct: float
    margin_pct: float


def margin_of(name: str, decision: Decision) -> Margin | None:
    """Return the margin of a judged value; None where its tolerance leaves no room to compare with."""
    lower, upper, value = decision.limits.lower, decision.limits.upper, decision.value
    if lower is not None and upper is not None:
        room, distance = 0.5 * (upper - lower), min(value - lower, upper - value)
    else:
        room = abs(upper if upper is not None else lower or 0.0)
        distance = upper - value if upper is not None else value - (lower or 0.0)
    if room <= 0.0:
        return None
    return Margin(name=name, value_pct=value, margin_pct=100.0 * distance / room)


def worst_margin(result: Result) -> Margin | None:
    """Return the least margin of all that a result was judged by; None where nothing was judged."""
    found = [margin_of(item[0], item[1]) for item in result.judged()]
    return min((item for item in found if item is not None), key=lambda item: item.margin_pct, default=None)
