"""How a table that is laid out otherwise becomes readings: what a person states of it, once for many files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

DEVIATION_PCT: Final = "deviation_pct"
SENSITIVITY: Final = "sensitivity"
STATED = (DEVIATION_PCT, SENSITIVITY)
"""What an old table may have worked out already; it is worked out again and compared."""

DAY_FORMS = ("day-month-year", "month-day-year", "year-month-day")
ALL_SHEETS: Final = "*"


@dataclass(frozen=True, kw_only=True)
class Wide:
    """Columns whose headings are values of ``column``; what stands below them is ``cells``.

    ``values`` is, by heading, the value that it stands for.
    """

    column: str
    values: Mapping[str, str]
    cells: str = "output"


@dataclass(frozen=True, kw_only=True)
class TablePart:
    """One table of a sheet.

    Rows count as a spreadsheet does. ``headings_row`` holds the headings, ``headings_above`` a row of headings that
    span several columns (each is put before those below it, with `` / `` between), ``units_row`` units. ``columns``
    maps a heading, or ``@`` and the letters of a column, to a column of the reading table; ``constants`` and ``cells``
    give a column a text, or the text of a cell, in every row; ``fill_down`` lists columns whose empty cells mean the
    one above; ``values`` replaces, by column, words. ``ignore`` is, by heading, why a column is left out, ``stated``
    what the table has worked out already (`STATED`).
    """

    headings_row: int = 1
    headings_above: int | None = None
    units_row: int | None = None
    first_row: int | None = None
    last_row: int | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    constants: Mapping[str, str] = field(default_factory=dict)
    cells: Mapping[str, str] = field(default_factory=dict)
    fill_down: tuple[str, ...] = ()
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    ignore: Mapping[str, str] = field(default_factory=dict)
    stated: Mapping[str, str] = field(default_factory=dict)
    wide: Wide | None = None

    @property
    def first_below(self) -> int:
        """The first row that may hold a reading."""
        return self.first_row or 1 + max(self.headings_row, self.units_row or 0)


@dataclass(frozen=True, kw_only=True)
class Layout:
    """How the files of one form are laid out.

    ``sheets`` are the sheets that hold readings: empty for the first one, ``*`` for all. ``decimal`` is the decimal
    mark of numbers that stand as text, None where the file tells. ``day_cell`` holds the day of the visit, ``day_form``
    how it is written where that is not plain. ``columns`` maps headings, wherever they stand, as a part's own do.
    """

    sheets: tuple[str, ...] = ()
    decimal: str | None = None
    encoding: str | None = None
    separator: str | None = None
    day_cell: str | None = None
    day_form: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    parts: tuple[TablePart, ...] = (TablePart(),)
