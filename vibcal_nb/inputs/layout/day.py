"""The day that a table states, however it is written: as a date, as a spreadsheet's serial number, or as text.

Serial numbers count days from 1899-12-30 (ECMA-376, part 1, 18.17.4.1, the 1900 date base after its leap-year bug).
"""

from __future__ import annotations

import re
from datetime import date, timedelta

from vibcal_nb.inputs.grids.grid import Cell

_FIRST = date(1899, 12, 30)
_SERIALS = range(20_000, 80_000)  # 1954 to 2119
_PARTS = re.compile(r"(\d{1,4})\s*[./\-\s]\s*(\d{1,2})\s*[./\-\s]\s*(\d{1,4})")
_ORDERS = {"day-month-year": (2, 1, 0), "month-day-year": (2, 0, 1), "year-month-day": (0, 1, 2)}


class DayUnclear(ValueError):  # a finding, named as one says it
    """A text that can be read as more than one day, or as none; the message says what to do."""


def read_day(cell: Cell, form: str | None = None) -> date:
    """Return the day of a cell. Raises ``DayUnclear`` where ``form`` does not tell day and month apart."""
    if cell.kind == "date":
        return date.fromisoformat(cell.text[:10])
    if cell.number is not None and cell.number in _SERIALS:
        return _FIRST + timedelta(days=int(cell.number))
    found = _PARTS.search(cell.text)
    if found is None:
        raise DayUnclear("give a cell with a day such as 2026-05-19")
    parts = [int(part) for part in found.groups()]
    forms = [form] if form else [name for name in _ORDERS if (parts[0] > 31) == (name == "year-month-day")]
    days = {day for name in forms if (day := _day(parts, name)) is not None}
    if len(days) == 1:
        return days.pop()
    if not days:
        raise DayUnclear("give a cell with a day such as 2026-05-19, or say how it is written by day_form")
    raise DayUnclear("say by day_form whether the day or the month stands first")


def _day(parts: list[int], form: str) -> date | None:
    year, month, day = (parts[place] for place in _ORDERS[form])
    if year < 100:
        year += 2000
    try:
        return date(year, month, day)
    except ValueError:
        return None
