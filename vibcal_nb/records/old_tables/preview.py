"""What was understood of old tables, and what was not, in lines to read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from vibcal_nb.inputs.layout.account import LeftOut
from vibcal_nb.inputs.layout.laid_out import LaidRow
from vibcal_nb.model.readings import PendingRow
from vibcal_nb.records.old_tables.bring import Brought, BroughtFile, BroughtRow

SHOWN_ROWS = 3  # of each test
SHOWN_CELLS = 8


def preview(brought: Brought) -> Iterator[str]:
    """Yield what became of each file, the first rows of each test, and what agrees or is asked."""
    for file in brought.files:
        yield from _file(file, [row for row in brought.rows if row.file == file.path.name])
    if brought.compared is not None and brought.compared.count:
        yield f"Of {brought.compared.count} values that the tables state themselves, {brought.compared.agree} agree."
    for question in brought.questions:
        yield f"? {question.sentence}"


def _file(file: BroughtFile, rows: Sequence[BroughtRow]) -> Iterator[str]:
    numbers = len(file.account.numbers_left_out)
    day = f", of {file.day}" if file.day is not None else ""
    read = sum(not isinstance(row.found, PendingRow) for row in rows)
    yield f"{file.path.name}{day}: {_count(read, 'reading')}; {_count(numbers, 'number')} left out."
    groups: dict[tuple[str, str, str], list[BroughtRow]] = {}
    for row in rows:
        groups.setdefault((row.found.channel, row.found.test, row.found.condition), []).append(row)
    for (channel, test, condition), found in groups.items():
        yield f"  {channel}, {test} {condition}: {_count(len(found), 'row')}"
        for row in found[:SHOWN_ROWS]:
            yield f"    {_row(row.laid)}"
        if len(found) > SHOWN_ROWS:
            yield f"    ... and {len(found) - SHOWN_ROWS} more"
    for (sheet, why), items in file.account.by_reason().items():
        yield f"  left out{f', sheet {sheet}' if sheet else ''}, {why}: {_cells(items)}"


def _row(row: LaidRow) -> str:
    """Each value with the cell that it comes from; what the layout states has none."""
    said = [
        f"{name} {text}" + (f" ({row.source.get(name)})" if row.source.get(name) else "")
        for name, text in row.cells.items()
    ]
    return f"{row.sheet} row {row.row}: {', '.join(said)}".strip()


def _cells(items: Sequence[LeftOut]) -> str:
    shown = ", ".join(f"{item.address} '{item.text[:30]}'" for item in items[:SHOWN_CELLS])
    return shown + (f" and {len(items) - SHOWN_CELLS} more" if len(items) > SHOWN_CELLS else "")


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
