"""Every number of a file: part of a reading, or named as left out with the reason. None is lost without a word."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from vibcal_nb.inputs.grids.grid import Cell, Grid, address
from vibcal_nb.inputs.layout.laid_out import LaidOut, looks_like_number
from vibcal_nb.model.layout import Layout


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    """A cell that is no part of any reading, and why; ``is_number`` tells numbers from words."""

    sheet: str
    address: str
    text: str
    why: str
    is_number: bool


@dataclass(frozen=True, kw_only=True)
class Account:
    """What became of the cells of a file: ``used`` (sheet and address) are in readings, ``left_out`` are the others."""

    used: frozenset[tuple[str, str]]
    left_out: tuple[LeftOut, ...]

    @property
    def numbers_left_out(self) -> tuple[LeftOut, ...]:
        """The numbers among what is left out."""
        return tuple(item for item in self.left_out if item.is_number)

    def by_reason(self) -> dict[tuple[str, str], list[LeftOut]]:
        """Return what is left out by sheet and reason, in the order of the file."""
        found: dict[tuple[str, str], list[LeftOut]] = {}
        for item in self.left_out:
            found.setdefault((item.sheet, item.why), []).append(item)
        return found


def account_for(grids: Sequence[Grid], laid: LaidOut, layout: Layout) -> Account:
    """Account for every cell that is not empty, of every sheet of the file, those that the layout does not name too."""
    used = frozenset((row.sheet, place) for row in laid.rows for place in row.source.values() if place is not None)
    left = [item for grid in grids for item in _left_out(grid, laid, layout, used)]
    return Account(used=used, left_out=tuple(left))


def _left_out(grid: Grid, laid: LaidOut, layout: Layout, used: frozenset[tuple[str, str]]) -> Iterator[LeftOut]:
    is_read = grid in laid.read
    tops = [part.headings_above or part.headings_row for part in layout.parts]
    headings = {row for part in layout.parts for row in (part.headings_row, part.headings_above) if row}
    units = {part.units_row for part in layout.parts if part.units_row}
    for row, column, cell in grid.filled():
        place = grid.name, address(row, column)
        if place in used:
            continue
        why = laid.why.get(place)
        if not is_read:
            why = "the layout does not name this sheet"
        elif place[1] == (layout.day_cell or "").upper():
            why = "the day of the table: held against that of the visit"
        elif row in headings:
            why = "a heading"
        elif row in units:
            why = "a unit of no level and no output"
        elif why is None:
            why = "above the headings" if row < min(tops) else _beyond(grid, row, column, cell)
        yield LeftOut(sheet=place[0], address=place[1], text=cell.text, why=why, is_number=looks_like_number(cell))


def _beyond(grid: Grid, row: int, column: int, cell: Cell) -> str:
    return "outside the rows of the layout" if looks_like_number(cell) else "words that are no part of a reading"
