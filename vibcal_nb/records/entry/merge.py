"""The table as it stands and the journals brought together; what was missing or changed is told.

Rows of the table stay where they are. A row of the journals that is not there is put there: into the planned row that
it was read for, else at the end. A row that another program changed stays as it has it, and counts from then on.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from vibcal_nb.records.entry.journals import Entered, Wanted
from vibcal_nb.records.entry.keys import KEYED, Cells, Key, as_number, is_open, key_of, place_of
from vibcal_nb.records.entry.table_text import TableText

_APPLIED, _OUTPUT = KEYED.index("applied"), KEYED.index("output")


@dataclass(frozen=True, kw_only=True)
class Merged:
    """The table as it should be, and what was done to it.

    ``added`` are readings that it did not hold, ``edited`` rows that another program changed (the key before and now),
    ``marked`` the rows whose reason or remark was put in again.
    """

    table: TableText
    added: tuple[Entered, ...]
    edited: tuple[tuple[Key, Key], ...]
    marked: tuple[int, ...]


def open_key(cells: Cells) -> Key:
    """Return what tells a planned row from the others that are planned."""
    return (*key_of(cells), as_number(cells.get("planned", "")))


def merge(table: TableText, wanted: Wanted, *, known: Collection[Key]) -> Merged:
    """Bring a table and the journals together; ``known`` are the keys of the rows that it held when last written."""
    numbers = {key_of(cells): number for number, cells in table.below() if not is_open(cells)}
    strange = {key: number for key, number in numbers.items() if key not in known and key not in wanted.entered}
    added, edited = [], []
    for key, entered in wanted.entered.items():
        if key in numbers:
            continue
        other = next(_edits(entered, strange), None) if key in known else None
        if other is not None:
            del strange[other]
            edited.append((key, other))
            continue
        table = _put(table, entered, wanted.cells_of(entered))
        added.append(entered)
    table, marked = _marked(table, wanted)
    return Merged(table=table, added=tuple(added), edited=tuple(edited), marked=marked)


def keys_in(table: TableText) -> frozenset[Key]:
    """Return the keys of the rows that were read."""
    return frozenset(key_of(cells) for _, cells in table.below() if not is_open(cells))


def _edits(entered: Entered, strange: Collection[Key]) -> Iterator[Key]:
    """Rows that nobody knows and that differ from a reading in one of its two numbers."""
    place = place_of(entered.cells)
    for key in strange:
        same = key[_APPLIED] == entered.key[_APPLIED] or key[_OUTPUT] == entered.key[_OUTPUT]
        if same and key[: len(place)] == place:
            yield key


def _put(table: TableText, entered: Entered, cells: Cells) -> TableText:
    if entered.fills is not None:
        for number, there in table.below():
            if is_open(there) and open_key(there) == entered.fills:
                return table.with_cells(number, cells)
    return table.with_row(cells)


def _marked(table: TableText, wanted: Wanted) -> tuple[TableText, tuple[int, ...]]:
    """Put reasons and remarks that an older table lacks into it; what another program wrote there stays."""
    numbers = {key_of(cells): number for number, cells in table.below() if not is_open(cells)}
    marked = []
    for key, columns in wanted.changed.items():
        for column, texts in columns.items():
            number = numbers.get(key)
            if number is None:
                continue
            there = table.cells(number).get(column, "")
            if there != texts[-1] and there in texts[:-1]:
                table = table.with_cells(number, {column: texts[-1]})
                marked.append(number)
    return table, tuple(marked)
