"""Where on a sheet the tables are: a row of headings, perhaps units below it, then rows with numbers."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.inputs.grids.grid import Grid
from vibcal_nb.inputs.layout.laid_out import looks_like_number
from vibcal_nb.inputs.propose.heads import is_unit, value_in

FEWEST = 2  # headings, and numbers in a row below them
AHEAD = 3  # rows below the headings in which numbers begin
HIGHEST = 2000  # rows that are looked at


@dataclass(frozen=True, kw_only=True)
class FoundPart:
    """Rows of a table, as a spreadsheet counts; ``units_row`` None where there is none."""

    headings_row: int
    units_row: int | None
    first_row: int
    last_row: int


def find_parts(grid: Grid) -> list[FoundPart]:
    """Return the tables of a sheet from top to bottom."""
    found = []
    row, last = 1, min(len(grid.rows), HIGHEST)
    while row <= last:
        part = _part_at(grid, row)
        if part is None:
            row += 1
            continue
        found.append(part)
        row = part.last_row + 1
    return found


def _part_at(grid: Grid, row: int) -> FoundPart | None:
    heads = {c for c in range(grid.width) if _is_heading(grid, row, c)}
    if len(heads) < FEWEST:
        return None
    units = row + 1 if _is_units_row(grid, row + 1, heads) else None
    first = next((r for r in range((units or row) + 1, row + AHEAD + 1) if _holds_numbers(grid, r, heads)), None)
    if first is None:
        return None
    later = [c for c in range(grid.width) if _is_heading(grid, row + 1, c)]
    if units is None and first > row + 1 and len(later) > len(heads):  # the row below fits better
        return None
    end = first
    while end < len(grid.rows) and _goes_on(grid, end + 1, heads):
        end += 1
    return FoundPart(headings_row=row, units_row=units, first_row=first, last_row=end)


def _is_heading(grid: Grid, row: int, column: int) -> bool:
    """Words, or a value with its unit, which heads a column of one level."""
    cell = grid.at(row, column)
    if not cell or cell.kind == "date":
        return False
    return not looks_like_number(cell) or (cell.number is None and value_in(cell.text) is not None)


def _is_units_row(grid: Grid, row: int, heads: set[int]) -> bool:
    cells = [grid.at(row, column) for column in heads]
    filled = [cell for cell in cells if cell]
    if not filled or any(looks_like_number(cell) for cell in filled):
        return False
    return 2 * sum(is_unit(cell.text) or cell.text in "-–—" for cell in filled) > len(filled)


def _holds_numbers(grid: Grid, row: int, heads: set[int]) -> bool:
    return sum(looks_like_number(grid.at(row, column)) for column in heads) >= FEWEST


def _goes_on(grid: Grid, row: int, heads: set[int]) -> bool:
    """Whether a table goes on: a row with numbers, or with one number and words, but no row of headings or blank."""
    cells = [grid.at(row, column) for column in heads]
    numbers = sum(looks_like_number(cell) for cell in cells)
    return numbers >= FEWEST or (numbers == 1 and sum(map(bool, cells)) > 1 and not _is_summary(grid, row))


def _is_summary(grid: Grid, row: int) -> bool:
    """A row that begins with words and ends with what was worked out: a mean, a remark with a number."""
    first = next((cell for cell in grid.rows[row - 1] if cell), None)
    return first is not None and not looks_like_number(first)
