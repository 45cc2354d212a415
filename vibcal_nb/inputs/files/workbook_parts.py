"""What the parts of a workbook hold, measured in one pass before a reader builds anything from them.

A few kilobytes may unpack to more than fits, and a reader keeps a whole row in memory, a whole table of texts, and
goes over an unfinished tag again with every block that it reads. Here nothing is kept.
"""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import Any
from xml.parsers import expat

from vibcal_nb.problems import Refused

MOST_UNPACKED = 200_000_000
MOST_ITEMS = 2_000_000  # elements and attributes: some 30 000 readings in twelve columns
MOST_OTHERS = 100_000  # of those that are no cells: a reader makes an object of each format
MOST_IN_ROW = 100_000
MOST_CHARACTERS = 100_000  # of one cell; spreadsheets themselves stop at 32 767 (common practice, no source)
MOST_DEEP = 100
LONGEST_TAG = 1_000_000
_BLOCK = 1 << 16
_OF_CELLS = {"row", "c", "v", "f", "is", "si", "t"}


class Excess(Refused):
    """A part that goes beyond a bound; the text is what was found, as a phrase."""


def check_parts(path: Path) -> None:
    """Go through all parts of a workbook once.

    Raises ``Excess``, and whatever reading a broken archive raises. A part that is no XML is no concern here: a reader
    that takes it for XML stops where this one does.
    """
    with zipfile.ZipFile(path) as archive:
        size = sum(item.file_size for item in archive.infolist())
        if size > MOST_UNPACKED:
            raise Excess(f"{size / 1e6:.0f} MB once unpacked")
        measure = _Measure()
        for item in archive.infolist():
            with archive.open(item) as part:
                measure.go_through(part)


class _Measure:
    """Counts over all parts, and depth, row and text of the part that is being read."""

    def __init__(self) -> None:
        self.items = self.others = 0

    def go_through(self, part: Any) -> None:
        self.depth = self.in_row = self.characters = 0
        parser = expat.ParserCreate()
        parser.buffer_text = True
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._text
        parser.StartDoctypeDeclHandler = self._doctype
        fed = 0
        try:
            while block := part.read(_BLOCK):
                parser.Parse(block, False)
                fed += len(block)
                if fed - max(parser.CurrentByteIndex, 0) > LONGEST_TAG:
                    raise Excess(f"a tag of more than {LONGEST_TAG // 1_000_000} MB")
        except expat.ExpatError:
            return

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        new = 1 + len(attributes)
        self.items += new
        self.depth += 1
        self.characters = 0
        plain = name.rpartition(":")[2]
        self.others += 0 if plain in _OF_CELLS else new
        self.in_row = 0 if plain == "row" else self.in_row + new if plain == "c" else self.in_row
        if self.items > MOST_ITEMS or self.others > MOST_OTHERS:
            raise Excess("a workbook of more cells and formats than a person makes")
        if self.in_row > MOST_IN_ROW:
            raise Excess(f"a row of more than {MOST_IN_ROW:,} cells")
        if self.depth > MOST_DEEP:
            raise Excess(f"elements nested more than {MOST_DEEP} deep")

    def _end(self, _: str) -> None:
        self.depth -= 1
        self.characters = 0

    def _text(self, text: str) -> None:
        self.characters += len(text)
        if self.characters > MOST_CHARACTERS:
            raise Excess(f"a text of more than {MOST_CHARACTERS:,} characters")

    def _doctype(self, *_: Any) -> None:
        # ECMA-376 part 2, clause on XML usage (from memory): a package holds no document type declaration
        raise Excess("a document type declaration, which no workbook has")
