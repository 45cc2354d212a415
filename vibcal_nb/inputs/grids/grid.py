"""A sheet of cells with their addresses, as a spreadsheet names them: column letters and row numbers from 1."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

Kind = Literal["text", "number", "percentage", "date", "formula"]
_ADDRESS = re.compile(r"([A-Za-z]{1,3})([1-9]\d{0,6})", re.ASCII)
_LETTERS = re.compile(r"[A-Za-z]{1,3}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a cell: ``text`` as one would type it, ``number`` where the file itself says that it is one.

    A number that is shown as a percentage is given as the file holds it (0.012 for 1.2 %). A ``formula`` has no value,
    because no spreadsheet has calculated it.
    """

    text: str = ""
    kind: Kind = "text"
    number: float | None = None

    def __bool__(self) -> bool:
        return bool(self.text)


EMPTY = Cell()


@dataclass(frozen=True, kw_only=True)
class Grid:
    """A sheet: its name, empty of a text file, and its rows from row 1, without empty cells at their ends.

    ``decimal_comma`` says whether a comma in a text may be a decimal mark; ``keeps_zeros`` whether a number's last
    zeros are as typed.
    """

    name: str
    rows: tuple[tuple[Cell, ...], ...]
    decimal_comma: bool = False
    keeps_zeros: bool = False

    def at(self, row: int, column: int) -> Cell:
        """Return the cell of a row from 1 and a column from 0; an empty one beyond what the file holds."""
        if not 1 <= row <= len(self.rows):
            return EMPTY
        cells = self.rows[row - 1]
        return cells[column] if 0 <= column < len(cells) else EMPTY

    @property
    def width(self) -> int:
        """How many columns the widest row has."""
        return max((len(row) for row in self.rows), default=0)

    def filled(self) -> Iterator[tuple[int, int, Cell]]:
        """Yield row, column and cell of all that is not empty."""
        for row, cells in enumerate(self.rows, start=1):
            for column, cell in enumerate(cells):
                if cell:
                    yield row, column, cell


def letters(column: int) -> str:
    """Name a column from 0 as a spreadsheet does: A, B, ..., Z, AA."""
    name = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def address(row: int, column: int) -> str:
    """Name a cell as a spreadsheet does: ``C7``."""
    return f"{letters(column)}{row}"


def parse_address(text: str) -> tuple[int, int] | None:
    """Return row from 1 and column from 0 of an address such as ``C7``; None where it is none."""
    found = _ADDRESS.fullmatch(text.strip())
    return (int(found[2]), _column(found[1])) if found else None


def parse_letters(text: str) -> int | None:
    """Return the column, from 0, that letters name; None where they name none."""
    return _column(text) if _LETTERS.fullmatch(text.strip()) else None


def _column(name: str) -> int:
    number = 0
    for letter in name.strip().upper():
        number = 26 * number + ord(letter) - ord("A") + 1
    return number - 1
