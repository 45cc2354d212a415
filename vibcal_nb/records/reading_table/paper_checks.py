"""The lines of the printed sheet for set points, votes and electrical items, each test with headings of its own."""

from __future__ import annotations

from typing import Any

from vibcal_nb.analysis.relay.planned_checks import PlannedCheck
from vibcal_nb.model.names import ELECTRICAL, SET_POINT, VOTING

HEADINGS = {
    SET_POINT: ("Hz", "set to", "unit", "applied", "acted", "delay s", "repeat", "for", None),
    VOTING: ("in trip", None, None, None, "acted", None, None, "for", None),
    ELECTRICAL: ("item", None, None, None, "value", "unit", "from", "to", "for"),
}
MERGED = {SET_POINT: ((8, 9),), VOTING: ((1, 4), (8, 9)), ELECTRICAL: ((1, 4),)}
"""The places, from and to, that stand as one cell in lines of a test."""


def check_line(check: PlannedCheck) -> tuple[Any, ...]:
    """Return the cells of a line; those to be filled in are None."""
    if check.test == VOTING:
        return (check.in_trip or "none", None, None, None, None, None, None, check.purpose, None)
    if check.test == ELECTRICAL:
        limits = (_short(check.lower), _short(check.upper))
        return (check.item, None, None, None, None, check.unit, *limits, check.purpose)
    where = (_short(check.frequency_hz), _short(check.level), check.unit)
    return (*where, None, None, None, "" if check.repeat is None else str(check.repeat), check.purpose, None)


def _short(value: float | None) -> str:
    return "" if value is None else f"{value:.5g}"
