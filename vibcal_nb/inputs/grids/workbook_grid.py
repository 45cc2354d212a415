"""The sheets of an XLSX workbook as cells, with what a number is shown as."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.files.table_files import MOST_COLUMNS, MOST_ROWS, TableRefused, check_workbook
from vibcal_nb.inputs.grids.grid import EMPTY, Cell, Grid, Kind

MOST_SHEETS = 200


def read_workbook_grids(path: Path) -> tuple[Grid, ...]:
    """Read every sheet that holds cells. Raises ``TableRefused``, ``OSError``."""
    check_workbook(path)
    import openpyxl  # slow to import, and few tables need it

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of formats and extensions that the reader leaves out
            values = openpyxl.load_workbook(path, read_only=True, data_only=True)
            typed = openpyxl.load_workbook(path, read_only=True, data_only=False)
            try:
                return tuple(_sheets(values, typed))
            finally:
                values.close()
                typed.close()
    except TableRefused:
        raise
    except Exception as error:  # the reader raises whatever a broken file makes it raise
        found = f"a file that is no readable XLSX table ({type(error).__name__})"
        raise TableRefused(found, "save it again from a spreadsheet") from None


def _sheets(values: Any, typed: Any) -> Iterator[Grid]:
    if len(values.worksheets) > MOST_SHEETS:
        raise TableRefused(f"{len(values.worksheets)} sheets", "keep the sheets that hold readings")
    for sheet, formulas in zip(values.worksheets, typed.worksheets, strict=True):
        for each in (sheet, formulas):
            each.reset_dimensions()  # a file may claim a million columns
        rows = tuple(_rows(sheet, formulas))
        if any(rows):
            yield Grid(name=str(sheet.title), rows=rows)


def _rows(sheet: Any, formulas: Any) -> Iterator[tuple[Cell, ...]]:
    both = zip(sheet.iter_rows(max_col=MOST_COLUMNS), formulas.iter_rows(max_col=MOST_COLUMNS), strict=True)
    for number, (row, typed) in enumerate(both, start=1):
        if number > MOST_ROWS:
            raise TableRefused(f"more than {MOST_ROWS:,} rows", "split the table by visit")
        cells = [_cell(value, formula) for value, formula in zip(row, typed, strict=True)]
        while cells and not cells[-1]:
            cells.pop()
        yield tuple(cells)


def _cell(cell: Any, typed: Any) -> Cell:
    """A formula that no spreadsheet has calculated has no value; it stands for itself, and is no empty cell."""
    value = cell.value
    if value is None:
        return EMPTY if typed.value is None else Cell(str(typed.value).strip(), "formula")
    if isinstance(value, bool):
        return Cell(str(value).upper())
    if isinstance(value, datetime | date | time):
        return Cell(_day(value), "date")
    if isinstance(value, int | float):
        kind: Kind = "percentage" if "%" in str(getattr(cell, "number_format", "") or "") else "number"
        return Cell(number_text(float(value)), kind, float(value))
    return Cell(str(value).strip())


def number_text(value: float) -> str:
    """Write a number as one would type it."""
    return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)


def _day(value: datetime | date | time) -> str:
    if isinstance(value, datetime) and value.time() == time(0):
        return value.date().isoformat()
    return value.isoformat()
