"""Rows of set points, votes and electrical items in a workbook: what is planned, filled in, offered and watched."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.analysis.relay.planned_checks import PlannedCheck
from vibcal_nb.model.names import ACTED, ELECTRICAL, SET_POINT, VOTING
from vibcal_nb.records.reading_table.reading_sheet_rows import OF_CHECKS, check_cells, place_of
from vibcal_nb.records.reading_table.sheet_rules import mark_input, offer

_FILLED_IN = {SET_POINT: ("applied", "acted", "delay_s"), VOTING: ("acted",), ELECTRICAL: ("value",)}
_OPEN = {
    SET_POINT: ("frequency_hz", "applied_unit", "output", "output_unit", "direction", "repeat"),
    VOTING: (),
    ELECTRICAL: ("unit",),
}
_OPEN_IN_ALL = ("condition", "exclude", "note")
_OF_READINGS = ("expected", "output", "output_unit")


def write_check_rows(sheet: Any, first: int, checks: Sequence[PlannedCheck], *, condition: str) -> None:
    """Write the rows from row ``first`` on; what their tests leave blank is locked."""
    for number, check in enumerate(checks, start=first):
        cells = check_cells(check, condition=condition) | {"outside": _asked_formula(check, number)}
        for column, value in cells.items():
            _write(sheet[f"{place_of(column)}{number}"], value, is_formula=column == "outside")
        for column in (*_FILLED_IN[check.test], *_OPEN[check.test], *_OPEN_IN_ALL):
            _open(sheet[f"{place_of(column)}{number}"])
        for column in _FILLED_IN[check.test]:
            mark_input(sheet[f"{place_of(column)}{number}"])


def offer_words(sheet: Any, first: int, last: int, checks: Sequence[PlannedCheck]) -> None:
    """Drop-downs of the words that these rows take."""
    names = list(dict.fromkeys(check.set_point for check in checks if check.set_point))
    for column, choices in (("acted", ACTED), ("set_point", names)):
        if choices:
            offer(sheet, f"{place_of(column)}{first}:{place_of(column)}{last}", choices)


def hide_unused(sheet: Any, checks: Sequence[PlannedCheck]) -> None:
    """Hide what no row fills where nothing but ``checks`` is planned; a person may show it again."""
    limits = () if any(check.test == ELECTRICAL for check in checks) else ("lowest", "highest")
    used = {column for check in checks for column in _FILLED_IN[check.test]}
    used |= {column for check in checks for column, value in check_cells(check, condition="").items() if value}
    for column in (*_OF_READINGS, *limits, *OF_CHECKS):
        if column not in used:
            sheet.column_dimensions[place_of(column)].hidden = True


def _write(cell: Any, value: str | float | None, *, is_formula: bool) -> None:
    from openpyxl.styles import Alignment

    cell.value = value
    if isinstance(value, str) and not is_formula:
        cell.data_type = "s"  # a name that begins with an equals sign is no formula
        cell.alignment = Alignment(horizontal="left", indent=1)


def _open(cell: Any) -> None:
    from openpyxl.styles import Protection

    cell.protection = Protection(locked=False)


def _asked_formula(check: PlannedCheck, number: int) -> str | None:
    """What to say of a row: its level or the relay's answer is missing, or the value is outside its limits."""
    names = ("applied", "acted", "value", "unit", "lowest", "highest")
    applied, acted, value, unit, lowest, highest = (f"{place_of(name)}{number}" for name in names)
    if check.test == SET_POINT:
        return f'=IF({acted}="",IF(ISNUMBER({applied}),"acted?",""),IF(ISNUMBER({applied}),"","applied?"))'
    if check.test == ELECTRICAL:
        low, high = f"AND(ISNUMBER({lowest}),{value}<{lowest})", f"AND(ISNUMBER({highest}),{value}>{highest})"
        judged = f'IF({unit}="{check.unit}",IF(OR({low},{high}),"OUTSIDE",""),"no limits")'
        return f'=IF(ISNUMBER({value}),{judged},"")'
    return None
