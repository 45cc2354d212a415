"""A table as it is shown: headings with units, text cells, struck-through rows, verdict marks. HTML and text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape

from vibcal_nb.display.style import verdict_text
from vibcal_nb.display.writing.chip import chip_html

_CAPTION = 'style="text-align: left; font-weight: bold"'
LONGEST_NUMBER = 24  # characters: up to so many, a number stays on one line with its unit


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row: a text per column; ``struck`` for what is shown and not used; a verdict colours the last cell."""

    cells: tuple[str, ...]
    struck: bool = False
    verdict: str | None = None


@dataclass(frozen=True, kw_only=True)
class Table:
    """Headings, rows, a caption above and a note below. Cells are plain text and escaped on the way out.

    ``text_columns`` are aligned left; all others hold numbers and are aligned right.
    """

    caption: str
    headings: tuple[str, ...]
    rows: tuple[Row, ...]
    text_columns: tuple[int, ...] = (0,)
    note: str = ""

    def first(self, rows: int) -> Table:
        """Return the table with its first rows alone."""
        return replace(self, rows=self.rows[:rows])

    def after(self, rows: int) -> Table:
        """Return the table without its first rows, caption and note."""
        return replace(self, rows=self.rows[rows:], caption="", note="")

    def parted(self, first: Sequence[bool]) -> tuple[Table, Table]:
        """Return the table with the rows that are ``first`` alone, and one of all others, without caption and note."""
        kept = tuple(row for row, is_first in zip(self.rows, first, strict=True) if is_first)
        rest = tuple(row for row, is_first in zip(self.rows, first, strict=True) if not is_first)
        return replace(self, rows=kept), replace(self, rows=rest, caption="", note="")

    def thinned(self, most: int) -> Table:
        """Return the table with at most so many rows: the first half of them as they stand, then every so many-th."""
        if len(self.rows) <= most:
            return self
        first = most // 2
        rest = self.rows[first:]
        step = -(-len(rest) // (most - first))
        return replace(self, rows=(*self.rows[:first], *rest[::step]))

    def to_html(self) -> str:
        """Return the table as an HTML fragment that needs no style sheet."""
        head = "".join(self._cell("th", heading, column) for column, heading in enumerate(self.headings))
        head = f"<thead><tr>{head}</tr></thead>" if any(self.headings) else ""
        judged = any(row.verdict is not None for row in self.rows)
        body = "".join(self._row(row, judged) for row in self.rows)
        note = f'<p style="font-size: 90%; margin: 0.2em 0 1em 0">{escape(self.note)}</p>' if self.note else ""
        caption = f"<caption {_CAPTION}>{escape(self.caption)}</caption>" if self.caption else ""
        return f"<table>{caption}{head}<tbody>{body}</tbody></table>{note}"

    def _row(self, row: Row, judged: bool) -> str:
        cells = "".join(self._cell("td", text, column, struck=row.struck) for column, text in enumerate(row.cells))
        if not any(self.headings):
            name = escape(row.cells[0])
            cells = f'<th scope="row" style="text-align: left; font-weight: normal">{name}</th>' + "".join(
                self._cell("td", text, column, struck=row.struck) for column, text in enumerate(row.cells[1:], start=1)
            )
        if judged:
            chip = "" if row.verdict is None else chip_html(row.verdict)
            cells += f'<td style="text-align: left">{chip}</td>'
        return f"<tr>{cells}</tr>"

    def _cell(self, tag: str, text: str, column: int, *, struck: bool = False) -> str:
        style = f"text-align: {'left' if column in self.text_columns else 'right'}"
        if tag == "td" and column not in self.text_columns and " " in text and len(text) <= LONGEST_NUMBER:
            style += "; white-space: nowrap"
        inner = f"<s>{escape(text)}</s>" if struck and text else escape(text)
        if tag == "th" and not text:
            tag = "td"  # heads nothing
        scope = ' scope="col"' if tag == "th" else ""
        return f'<{tag}{scope} style="{style}">{inner}</{tag}>'

    def to_text(self) -> str:
        """Return the table as aligned plain text."""
        lines = [self.headings, *(self._plain(row) for row in self.rows)]
        widths = [max(len(line[i]) if i < len(line) else 0 for line in lines) for i in range(max(map(len, lines)))]
        out = [self.caption] + ["  ".join(self._pad(line, widths)).rstrip() for line in lines]
        return "\n".join([*out, self.note] if self.note else out)

    def _plain(self, row: Row) -> tuple[str, ...]:
        cells = tuple(f"({cell})" if row.struck and cell else cell for cell in row.cells)
        return cells if row.verdict is None else (*cells, verdict_text(row.verdict))

    def _pad(self, cells: Sequence[str], widths: Sequence[int]) -> list[str]:
        left = (*self.text_columns, len(self.headings) - 1)
        return [
            cell.ljust(width) if i in left else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(cells, widths, strict=False))
        ]


def noted_once(tables: Sequence[Table]) -> tuple[Table, ...]:
    """Return tables that stand one below the other; a note that several share stands below the last of them alone."""
    return tuple(
        replace(item, note="") if any(item.note == below.note for below in tables[place:]) else item
        for place, item in enumerate(tables, start=1)
    )
