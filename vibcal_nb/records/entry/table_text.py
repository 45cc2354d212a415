"""A reading table's text: rows are added and single cells changed, all else stays byte for byte."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from vibcal_nb.inputs.files.merge_marks import REMEDY, merge_marks
from vibcal_nb.inputs.files.numbers_as_typed import NumberRefused, read_number
from vibcal_nb.inputs.files.table_files import REMARK, STATED, find_encoding, find_separator, stated_separator
from vibcal_nb.inputs.read_readings import NUMBERS, OPTIONAL, REQUIRED
from vibcal_nb.model.keys.reading_columns import OF_CHECKS
from vibcal_nb.problems import InputRefused, Problem
from vibcal_nb.records.entry.keys import Cells

COLUMNS = (*REQUIRED[:3], "frequency_hz", *REQUIRED[3:], *(name for name in OPTIONAL if name not in OF_CHECKS))
"""The columns of a table that is begun here."""


@dataclass(frozen=True, kw_only=True)
class TableRow:
    """A line or more of the file as it stands, and its cells as texts."""

    text: str
    cells: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class TableText:
    """A CSV table; ``rows`` are all of the file, as a spreadsheet counts them, ``heading`` the place of the headings.

    ``names`` are the contract's columns by place, '' for one that is none of them. ``comma`` says whether numbers are
    written with a decimal comma.
    """

    encoding: str
    separator: str
    ending: str
    comma: bool
    rows: tuple[TableRow, ...]
    heading: int
    names: tuple[str, ...]

    @property
    def data(self) -> bytes:
        """The file."""
        text = "".join(row.text for row in self.rows)
        try:
            return text.encode(self.encoding)
        except UnicodeEncodeError:  # a remark with a letter that the old code page does not have
            return text.encode("utf-8-sig")

    def cells(self, number: int) -> dict[str, str]:
        """Return a row's cells by column; ``number`` counts as a spreadsheet does."""
        cells = self.rows[number - 1].cells
        return {name: cell.strip() for name, cell in zip(self.names, cells, strict=False) if name}

    def below(self) -> Iterator[tuple[int, dict[str, str]]]:
        """Yield number and cells of each row below the headings that holds anything."""
        for number in range(self.heading + 2, len(self.rows) + 1):
            cells = self.cells(number)
            if any(cells.values()):
                yield number, cells

    def with_row(self, cells: Cells) -> TableText:
        """Return the table with a row added at its end, and the columns that it needs."""
        table = self._with_columns(name for name, cell in cells.items() if cell)
        values = table._values(cells)
        rows = list(table.rows)
        if rows and not rows[-1].text.endswith(("\n", "\r")):
            rows[-1] = replace(rows[-1], text=rows[-1].text + table.ending)
        rows.append(table._row([values.get(name, "") for name in table.names]))
        return replace(table, rows=tuple(rows))

    def with_cells(self, number: int, cells: Cells) -> TableText:
        """Return the table with cells of one row changed."""
        table = self._with_columns(name for name, cell in cells.items() if cell)
        values = table._values(cells)
        old = table.rows[number - 1].cells
        padded = [*old, *([""] * (len(table.names) - len(old)))]
        new = [
            values.get(name, cell) if name else cell
            for name, cell in zip((*table.names, *[""] * len(padded)), padded, strict=False)
        ]
        rows = list(table.rows)
        rows[number - 1] = table._row(new)
        return replace(table, rows=tuple(rows))

    def _with_columns(self, wanted: Iterator[str]) -> TableText:
        more = [name for name in wanted if name not in self.names and not self._is_as_rpm(name)]
        if not more:
            return self
        heading = [*self.rows[self.heading].cells, *more]
        rows = list(self.rows)
        rows[self.heading] = self._row(heading)
        return replace(self, rows=tuple(rows), names=(*self.names, *more))

    def _is_as_rpm(self, name: str) -> bool:
        return name == "frequency_hz" and "frequency_rpm" in self.names

    def _values(self, cells: Cells) -> dict[str, str]:
        """Return cells as this table writes them: its decimal mark, its column of frequency."""
        values = dict(cells)
        if "frequency_hz" in values and self._is_as_rpm("frequency_hz"):
            values["frequency_rpm"] = f"{60.0 * float(values.pop('frequency_hz')):.8g}"
        if self.comma:
            values |= {name: values[name].replace(".", ",") for name in NUMBERS if name in values}
        return values

    def _row(self, cells: Sequence[str]) -> TableRow:
        out = io.StringIO(newline="")
        csv.writer(out, delimiter=self.separator, lineterminator=self.ending).writerow(cells)
        return TableRow(text=out.getvalue(), cells=tuple(cells))


def new_table() -> TableText:
    """Return an empty table: headings alone, comma, UTF-8."""
    return read_table_text(f"{','.join(COLUMNS)}\n".encode(), columns={}, file="readings.csv")


def read_table_text(data: bytes, *, columns: Mapping[str, str], file: str) -> TableText:
    """Return a CSV table as it stands; ``columns`` maps other headings. Raises ``InputRefused`` where it has none."""
    encoding = find_encoding(data)
    text = data.decode(encoding, errors="replace")
    marks = merge_marks(text)
    if marks is not None:
        raise InputRefused([Problem(file=file, found=marks, remedy=REMEDY)])
    lines = (line for line in text.splitlines() if line.strip() and not line.lstrip('"').startswith(REMARK))
    separator = stated_separator(text) or find_separator(next(lines, ""))
    try:
        rows = tuple(_rows(text, separator))
    except csv.Error as error:
        problem = Problem(file=file, found=f"a file that is no CSV ({error})", remedy="export the table again")
        raise InputRefused([problem]) from None
    heading = next((place for place, row in enumerate(rows) if _is_heading(place, row.cells)), None)
    if heading is None:
        remedy = "put the headings into row 1, or remove the file"
        raise InputRefused([Problem(file=file, found="an empty file", remedy=remedy)])
    names = tuple(columns.get(cell.strip(), cell.strip().lower().replace(" ", "_")) for cell in rows[heading].cells)
    return TableText(
        encoding=encoding,
        separator=separator,
        ending="\r\n" if "\r\n" in text else "\n",
        comma=separator != "," and any(_has_comma(names, row.cells) for row in rows[heading + 1 :]),
        rows=rows,
        heading=heading,
        names=names,
    )


def _rows(text: str, separator: str) -> Iterator[TableRow]:
    """Yield each row with the lines that it is made of: a quoted cell may go over several."""
    taken: list[str] = []

    def lines() -> Iterator[str]:
        for line in io.StringIO(text, newline=""):
            taken.append(line)
            yield line

    for cells in csv.reader(lines(), delimiter=separator):
        yield TableRow(text="".join(taken), cells=tuple(cells))
        taken.clear()


def _is_heading(place: int, cells: Sequence[str]) -> bool:
    first = cells[0].strip() if cells else ""
    stated = place == 0 and first.lower().startswith(STATED)
    return any(cell.strip() for cell in cells) and not first.startswith(REMARK) and not stated


def _has_comma(names: Sequence[str], cells: Sequence[str]) -> bool:
    return any(name in NUMBERS and _is_comma_number(cell) for name, cell in zip(names, cells, strict=False))


def _is_comma_number(cell: str) -> bool:
    try:
        read_number(cell, decimal_comma=True)
    except NumberRefused:
        return False
    return "," in cell
