"""What each column of one table of a sheet is, by its layout; columns with numbers that no entry names are problems."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from vibcal_nb.inputs.grids.grid import Grid, address, letters
from vibcal_nb.inputs.layout.headings import HZ, RPM, find_columns, folded, headings_of
from vibcal_nb.inputs.layout.laid_out import LaidOut, looks_like_number
from vibcal_nb.inputs.layout.read_layout import BY_LETTER, COLUMNS
from vibcal_nb.model.keys.reading_columns import SHEET_COLUMNS
from vibcal_nb.model.layout import TablePart
from vibcal_nb.problems import Problem, shown


@dataclass(frozen=True, kw_only=True)
class PartColumns:
    """What is known of each column of the sheet, from 0.

    ``columns`` holds columns of the reading table, ``stated`` what is worked out already, ``wide`` the value that the
    heading stands for, ``units`` the text and the address of the unit.
    """

    headings: Mapping[int, str]
    columns: Mapping[int, str]
    stated: Mapping[int, str]
    wide: Mapping[int, str]
    units: Mapping[int, tuple[str, str]]


def span(grid: Grid, part: TablePart) -> range:
    """Return the rows of a sheet that may hold readings of a part."""
    last = min(part.last_row or len(grid.rows), len(grid.rows))
    return range(part.first_below, last + 1)


def find_part_columns(
    grid: Grid,
    part: TablePart,
    *,
    shared: Mapping[str, str],
    file: str,
    laid: LaidOut,
    problems: list[Problem],
) -> PartColumns:
    """Find what each column is; every problem is noted, and why columns are left out.

    ``shared`` maps headings, too, where the part has them.
    """

    def note(column: str | None, found: str, remedy: str) -> None:
        problems.append(Problem(file=file, row=part.headings_row, column=column, found=found, remedy=remedy))

    def find(names: Mapping[str, str]) -> dict[int, str]:
        return find_columns(names, headings, file=file, row=part.headings_row, problems=problems)

    headings = headings_of(grid, part)
    if not headings:
        note(None, "an empty row where the headings should be", "give headings_row")
    there = {folded(heading) for heading in headings.values()}
    also = {name: column for name, column in shared.items() if folded(name) in there and name not in part.columns}
    columns = find({**also, **part.columns})
    columns |= _as_they_are(headings, part, columns)
    stated, wide, ignored = find(part.stated), find(part.wide.values if part.wide else {}), find(part.ignore)
    seen: dict[str, int] = {}
    for column, name in columns.items():
        first = seen.setdefault(name, column)
        if first != column:
            found = f"the column {name} in both {letters(first)} and {letters(column)}"
            note(None, found, "map one of the two, and ignore the other")
    for column, name in columns.items():
        unit = folded(grid.at(part.units_row, column).text) if part.units_row else ""
        other = {"frequency_hz": "frequency_rpm", "frequency_rpm": "frequency_hz"}.get(name)
        if other and unit in (RPM if name == "frequency_hz" else HZ):
            note(headings.get(column), f"the unit {shown(unit)} below what is taken for {name}", f"take it for {other}")
    reasons = ignored | {
        c: f"worked out in the table already ({name}): compared, not used" for c, name in stated.items()
    }
    _leave_out(grid, part, reasons, laid)
    for name in _unnamed(grid, part, headings, {*columns, *stated, *wide, *ignored}, laid) if headings else ():
        found = f"numbers below {shown(name)}, which the layout does not name"
        note(name, found, "name it under columns, stated, wide or ignore")
    return PartColumns(
        headings=headings, columns=columns, stated=stated, wide=wide, units=_units(grid, part, {*columns, *wide})
    )


def _as_they_are(headings: Mapping[int, str], part: TablePart, columns: Mapping[int, str]) -> dict[int, str]:
    """Headings that are columns of the reading table by name, and that the layout does not name otherwise."""
    named = {folded(name) for names in (part.ignore, part.stated) for name in names}
    given = {*columns.values(), *part.constants, *part.cells}
    plain = {column: folded(heading).replace(" ", "_") for column, heading in headings.items()}
    return {
        column: name
        for column, name in plain.items()
        if name in COLUMNS and name not in given and column not in columns and folded(headings[column]) not in named
    }


def _leave_out(grid: Grid, part: TablePart, reasons: Mapping[int, str], laid: LaidOut) -> None:
    for column, why in reasons.items():
        for row in span(grid, part):
            if grid.at(row, column):
                laid.why[grid.name, address(row, column)] = why


def _unnamed(grid: Grid, part: TablePart, headings: Mapping[int, str], known: set[int], laid: LaidOut) -> list[str]:
    """Headings, or letters, of columns with numbers that no entry names: what they are is for a person to say."""
    found = []
    for column in range(grid.width):
        heading = headings.get(column, "")
        if column in known or folded(heading) in SHEET_COLUMNS.names:
            continue
        numbers = [row for row in span(grid, part) if looks_like_number(grid.at(row, column))]
        if heading and numbers:
            found.append(heading if list(headings.values()).count(heading) == 1 else f"{BY_LETTER}{letters(column)}")
        for row in numbers:
            where = "is not named in the layout" if heading else "has no heading"
            laid.why[grid.name, address(row, column)] = f"beside the table: column {letters(column)} {where}"
    return found


def _units(grid: Grid, part: TablePart, columns: set[int]) -> dict[int, tuple[str, str]]:
    row = part.units_row
    if row is None:
        return {}
    return {c: (grid.at(row, c).text, address(row, c)) for c in columns if grid.at(row, c)}
