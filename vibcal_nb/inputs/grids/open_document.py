"""The sheets of an ODS file, read from its content.xml as a stream.

Elements and attributes: OASIS Open Document Format for Office Applications 1.2, part 1: table:table (9.1.2),
table:table-row (9.1.3), table:table-cell and table:covered-table-cell (9.1.4, 9.1.5), text:p (5.1.3),
office:value-type and its values (19.385, 19.384, 19.369), table:number-columns-repeated (19.675).
"""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import Any
from xml.parsers import expat

from vibcal_nb.inputs.files.table_files import MOST_CELLS, MOST_COLUMNS, MOST_ROWS, TableRefused
from vibcal_nb.inputs.files.workbook_parts import MOST_CHARACTERS, MOST_DEEP, MOST_UNPACKED
from vibcal_nb.inputs.grids.grid import EMPTY, Cell, Grid, Kind
from vibcal_nb.inputs.grids.workbook_grid import number_text

_BLOCK = 1 << 16
_OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0"
_TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0"
_TEXT = "urn:oasis:names:tc:opendocument:xmlns:text:1.0"
_CELLS = (f"{_TABLE} table-cell", f"{_TABLE} covered-table-cell")
_PAST = (f"{_OFFICE} annotation", f"{_TABLE} tracked-changes", f"{_TABLE} shapes")  # texts in them are no cell's


def read_open_document_grids(path: Path) -> tuple[Grid, ...]:
    """Read every sheet that holds cells. Raises ``TableRefused``, ``OSError``."""
    reader = _Reader()
    try:
        with zipfile.ZipFile(path) as archive, archive.open("content.xml") as part:
            unpacked = 0
            while block := part.read(_BLOCK):
                unpacked += len(block)
                if unpacked > MOST_UNPACKED:
                    raise TableRefused(f"more than {MOST_UNPACKED // 1_000_000} MB once unpacked", _SMALLER)
                reader.parser.Parse(block, False)
            reader.parser.Parse(b"", True)
    except (TableRefused, OSError):
        raise
    except Exception as error:  # an archive breaks in as many ways as it has fields
        found = f"a file that is no readable ODS ({type(error).__name__})"
        raise TableRefused(found, "save it again from a spreadsheet") from None
    return tuple(reader.grids)


_SMALLER = "give a table of the size a person writes"


class _Reader:
    """Follows the elements; keeps the rows of one sheet, the cells of one row, the texts of one cell."""

    def __init__(self) -> None:
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._characters
        self.parser.StartDoctypeDeclHandler = self._doctype
        self.grids: list[Grid] = []
        self.name = ""
        self.rows: list[tuple[Cell, ...]] = []
        self.row: list[Cell] = []
        self.cell: dict[str, str] | None = None
        self.texts: list[str] = []
        self.repeated = 1
        self.depth = self.past = self.count = self.size = self.blank_rows = self.blank_cells = 0

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        if self.depth > MOST_DEEP:
            raise TableRefused(f"elements nested more than {MOST_DEEP} deep", _SMALLER)
        if self.past or name in _PAST:
            self.past += 1
        elif name == f"{_TABLE} table":
            self.name, self.rows, self.blank_rows = attributes.get(f"{_TABLE} name", ""), [], 0
        elif name == f"{_TABLE} table-row":
            self.row, self.blank_cells = [], 0
            self.repeated = _times(attributes.get(f"{_TABLE} number-rows-repeated"))
        elif name in _CELLS:
            self.cell, self.texts, self.size = attributes, [], 0
        elif name == f"{_TEXT} p" and self.cell is not None and self.texts:
            self.texts.append("\n")
        elif name in (f"{_TEXT} s", f"{_TEXT} tab", f"{_TEXT} line-break") and self.cell is not None:
            self.texts.append(" ")

    def _characters(self, text: str) -> None:
        if self.cell is not None and not self.past:
            self.size += len(text)
            if self.size > MOST_CHARACTERS:
                raise TableRefused(f"a text of more than {MOST_CHARACTERS:,} characters", _SMALLER)
            self.texts.append(text)

    def _end(self, name: str) -> None:
        self.depth -= 1
        if self.past:
            self.past -= 1
        elif name in _CELLS and self.cell is not None:
            self._add_cell(_cell(self.cell, "".join(self.texts).strip()), self.cell)
            self.cell = None
        elif name == f"{_TABLE} table-row":
            self._add_row()
        elif name == f"{_TABLE} table" and any(self.rows):
            self.grids.append(Grid(name=self.name, rows=tuple(self.rows)))

    def _doctype(self, *_: Any) -> None:
        raise TableRefused("a document type declaration, which no spreadsheet has", "save it again from a spreadsheet")

    def _add_cell(self, cell: Cell, attributes: dict[str, str]) -> None:
        """Empty cells are counted and made only when one follows that is not: a row ends in a thousand of them."""
        times = _times(attributes.get(f"{_TABLE} number-columns-repeated"))
        if not cell:
            self.blank_cells += times
            return
        width = len(self.row) + self.blank_cells + times
        self.count += self.blank_cells + times
        if width > MOST_COLUMNS or self.count > MOST_CELLS:
            raise TableRefused(f"more than {MOST_COLUMNS} columns or {MOST_CELLS:,} cells", _SMALLER)
        self.row += [EMPTY] * self.blank_cells + [cell] * times
        self.blank_cells = 0

    def _add_row(self) -> None:
        if not self.row:
            self.blank_rows += self.repeated
            return
        self.count += len(self.row) * (self.repeated - 1)
        if len(self.rows) + self.blank_rows + self.repeated > MOST_ROWS or self.count > MOST_CELLS:
            raise TableRefused(f"more than {MOST_ROWS:,} rows or {MOST_CELLS:,} cells", "split the table by visit")
        self.rows += [()] * self.blank_rows + [tuple(self.row)] * self.repeated
        self.blank_rows = 0


def _times(text: str | None) -> int:
    return int(text) if text and text.isdigit() and len(text) < 10 and int(text) else 1


def _cell(attributes: dict[str, str], text: str) -> Cell:
    kind = attributes.get(f"{_OFFICE} value-type")
    value = attributes.get(f"{_OFFICE} value")
    if kind in ("float", "percentage", "currency") and value is not None:
        number = float(value)
        shown: Kind = "percentage" if kind == "percentage" else "number"
        return Cell(number_text(number), shown, number)
    day = attributes.get(f"{_OFFICE} date-value")
    if kind == "date" and day is not None:
        return Cell(day.removesuffix("T00:00:00"), "date")
    if not text and attributes.get(f"{_TABLE} formula"):
        return Cell(attributes[f"{_TABLE} formula"], "formula")
    return Cell(text)
