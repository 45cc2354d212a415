"""The numbers of a comparison as tables: those of the whole, and those of single readings, a table a measure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.records.compare.comparison import Comparison
from vibcal_nb.records.compare.comparison_words import count_line, number_cells
from vibcal_nb.records.compare.number_changes import NumberChange, of_reading

BESIDE = ("before", "after", "change", "change / U")


def whole_table(comparison: Comparison) -> Table:
    """Return the numbers that are of no single reading, the largest change against its U first."""
    rows = [(change.what, change) for change in comparison.numbers if of_reading(change.what) is None]
    note = "U: expanded uncertainty of the later. The errors of two visits' readings are their own."
    return _table(rows, of="quantity", caption=count_line(comparison), note=note if rows else "")


def reading_tables(comparison: Comparison) -> Iterator[Table]:
    """Yield the numbers of single readings, a table a place and measure."""
    for name, rows in by_measure(comparison).items():
        yield _table([(str(number), change) for number, change in rows], of="reading", caption=name)


def by_measure(comparison: Comparison) -> dict[str, list[tuple[int, NumberChange]]]:
    """Return numbers of single readings with the reading's number, by place and measure: "at 50 Hz, deviation, %"."""
    found: dict[str, list[tuple[int, NumberChange]]] = {}
    for change in comparison.numbers:
        place = of_reading(change.what)
        if place is not None:
            found.setdefault(place.before + place.measure, []).append((place.number, change))
    return found


def kept_columns(changes: Sequence[NumberChange]) -> list[int]:
    """Return the places in ``BESIDE`` of the columns that say something of any change."""
    cells = [number_cells(change) for change in changes]
    return [place for place in range(len(BESIDE)) if any(row[place] for row in cells)]


def _table(rows: Sequence[tuple[str, NumberChange]], *, of: str, caption: str, note: str = "") -> Table:
    kept = kept_columns([change for _, change in rows])
    return Table(
        caption=caption,
        headings=(of, *(BESIDE[place] for place in kept)) if rows else (),
        rows=tuple(Row(cells=(name, *(number_cells(change)[place] for place in kept))) for name, change in rows),
        note=note,
    )
