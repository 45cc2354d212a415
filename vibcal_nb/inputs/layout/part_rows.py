"""The rows of one table of a sheet: what the layout states, then cells of the head, units, and the row's own cells."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.inputs.grids.grid import Cell, Grid, address, parse_address
from vibcal_nb.inputs.layout.laid_out import NUMBERS, LaidOut, LaidRow, looks_like_number
from vibcal_nb.inputs.layout.part_columns import PartColumns, span
from vibcal_nb.model.layout import Layout, TablePart

UNIT_OF = {"applied": "applied_unit", "output": "output_unit"}
FEWEST_FILLED = 3  # cells of a row that is not yet read, and is no remark either


def add_rows(grid: Grid, part: TablePart, columns: PartColumns, *, layout: Layout, stem: str, laid: LaidOut) -> None:
    """Add a row for each reading; rows without one are left out with the reason."""
    filler = _Filler(grid, part, columns, layout, stem)
    for row in span(grid, part):
        if filler.holds_reading(row):
            laid.rows += filler.readings_of(row)
            continue
        for column in range(grid.width):
            if grid.at(row, column):
                key = grid.name, address(row, column)
                laid.why.setdefault(key, f"row {row} holds no level or output")


class _Filler:
    def __init__(self, grid: Grid, part: TablePart, columns: PartColumns, layout: Layout, stem: str) -> None:
        self.grid, self.part, self.columns, self.layout, self.stem = grid, part, columns, layout, stem
        self.words = {
            name: {word.strip().casefold(): meant for word, meant in words.items()}
            for name, words in part.values.items()
        }
        self.last: dict[str, tuple[str, str]] = {}  # of columns that are filled down: text and address

    def holds_reading(self, row: int) -> bool:
        """Whether a row has a level or an output, or is one of a sheet that is not yet filled in."""
        own = self.columns.columns
        essential = [column for column, name in own.items() if name in UNIT_OF] + list(self.columns.wide)
        cells = [self.grid.at(row, column) for column in essential]
        if any(looks_like_number(cell) for cell in cells):
            return True
        return not any(cells) and sum(bool(self.grid.at(row, column)) for column in own) >= FEWEST_FILLED

    def readings_of(self, row: int) -> Iterator[LaidRow]:
        """Yield the readings of a row: one, or one a column whose heading is a value."""
        stated = {name: self._stated(self.grid.at(row, place)) for place, name in self.columns.stated.items()}
        for column in self.columns.wide or (None,):
            if column is not None and not self.grid.at(row, column):
                continue
            cells: dict[str, str] = {}
            source: dict[str, str | None] = {}
            self._head(cells, source)
            self._row(cells, source, row, column)
            for name, words in self.words.items():
                if name in cells:
                    cells[name] = words.get(cells[name].strip().casefold(), cells[name])
            yield LaidRow(
                sheet=self.grid.name,
                row=row,
                cells=cells,
                source=source,
                stated={name: text for name, text in stated.items() if text},
                keeps_zeros=self.grid.keeps_zeros,
            )

    def _head(self, cells: dict[str, str], source: dict[str, str | None]) -> None:
        for name, text in self.part.constants.items():
            cells[name], source[name] = text.replace("{sheet}", self.grid.name).replace("{file}", self.stem), None
        for name, place in self.part.cells.items():
            at = parse_address(place)
            if at is not None and self.grid.at(*at):
                cells[name], source[name] = self.grid.at(*at).text, place.upper()

    def _row(self, cells: dict[str, str], source: dict[str, str | None], row: int, wide: int | None) -> None:
        named = dict(self.columns.columns)
        if wide is not None and self.part.wide is not None:
            column = self.part.wide.column
            cells[column], source[column] = self.columns.wide[wide], address(self.part.headings_row, wide)
            named[wide] = self.part.wide.cells
        for place, name in named.items():
            unit = UNIT_OF.get(name)
            if unit is not None and unit not in self.part.constants and place in self.columns.units:
                cells[unit], source[unit] = self.columns.units[place]
            text, where = self._text(row, place, name)
            if text:
                cells[name], source[name] = text, where
        self._remark(cells, source, row)

    def _text(self, row: int, place: int, name: str) -> tuple[str, str]:
        cell, where = self.grid.at(row, place), address(row, place)
        text = self._number(cell) if name in NUMBERS else cell.text
        if name not in self.part.fill_down:
            return text, where
        if text:
            self.last[name] = text, where
        return self.last.get(name, (text, where))

    def _remark(self, cells: dict[str, str], source: dict[str, str | None], row: int) -> None:
        """Texts beside the row, below no heading, are remarks: what a person wrote is not lost."""
        beside = [
            (column, cell.text)
            for column, cell in enumerate(self.grid.rows[row - 1])
            if cell and column not in self.columns.headings and not looks_like_number(cell)
        ]
        if beside:
            cells["note"] = "; ".join([*filter(None, [cells.get("note")]), *(text for _, text in beside)])
            source["note"] = source.get("note") or address(row, beside[0][0])

    def _stated(self, cell: Cell) -> str:
        """A number as it is shown: a percentage in %, without its sign."""
        if cell.kind == "percentage" and cell.number is not None:
            return f"{100.0 * cell.number:.10g}"
        return self._number(cell).removesuffix("%").strip()

    def _number(self, cell: Cell) -> str:
        """A number as the reading table has it: with a decimal point."""
        comma = self.layout.decimal == "," or (self.layout.decimal is None and self.grid.decimal_comma)
        if not comma or cell.number is not None or not looks_like_number(cell):
            return cell.text
        if cell.text.count(",") != 1 or "." in cell.text:
            return cell.text
        return cell.text.replace(",", ".")
