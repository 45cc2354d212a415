"""A text file as a sheet of cells, whatever stands above its table."""

from __future__ import annotations

import csv
import io
from collections import Counter

from vibcal_nb.inputs.files.table_files import MOST_ROWS, SEPARATORS, TableRefused, find_encoding, stated_separator
from vibcal_nb.inputs.grids.grid import Cell, Grid


def read_csv_grid(data: bytes, *, encoding: str | None = None, separator: str | None = None) -> Grid:
    """Read a text file; what is not given is found from the file itself.

    The separator is the one that most lines have in the same number: a head above the table has fewer. Raises
    ``TableRefused``.
    """
    text = decode(data, encoding)
    lines = text.splitlines()
    found = separator or stated_separator(text) or likeliest_separator(lines)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=found, strict=False)
    rows: list[tuple[Cell, ...]] = []
    try:
        for cells in reader:
            rows.append(_trimmed([Cell(cell.strip()) for cell in cells]))
            if len(rows) > MOST_ROWS:
                raise TableRefused(f"more than {MOST_ROWS:,} rows", "split the table by visit")
    except csv.Error as error:
        raise TableRefused(f"row {len(rows) + 1} that is no CSV ({error})", "export the table again") from None
    return Grid(name="", rows=tuple(rows), decimal_comma=found != ",", keeps_zeros=True)


def decode(data: bytes, encoding: str | None = None) -> str:
    """Return a text file's text. Raises ``TableRefused`` where it is none, or not in the encoding that is stated."""
    found = encoding or find_encoding(data)
    try:
        text = data.decode(found, errors="strict" if encoding else "replace")
    except (UnicodeDecodeError, LookupError):
        remedy = "give the encoding that it was saved in, such as windows-1252, or leave it out"
        raise TableRefused(f"bytes that are not {found}", remedy) from None
    if "\0" in text:
        raise TableRefused("NUL bytes, which no text file has", "export the table again as CSV or XLSX")
    return text.removeprefix("\ufeff")


def likeliest_separator(lines: list[str]) -> str:
    """Return the one of semicolon, tab and comma that most lines hold in the same number."""

    def agreeing(separator: str) -> tuple[int, int]:
        counts = Counter(line.count(separator) for line in lines if separator in line)
        number, lines_with = max(counts.items(), key=lambda item: (item[1], item[0]), default=(0, 0))
        return lines_with, number

    return max(SEPARATORS, key=agreeing)


def _trimmed(cells: list[Cell]) -> tuple[Cell, ...]:
    end = len(cells)
    while end and not cells[end - 1]:
        end -= 1
    return tuple(cells[:end])
