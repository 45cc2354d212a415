"""Rows of one block compared: which were corrected, added or taken out, each by the number it has in its table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from difflib import SequenceMatcher
from itertools import zip_longest
from typing import Any

from vibcal_nb.model.keys.reading_columns import OF_CHECKS
from vibcal_nb.records.inputs_used.row_lines import ROW, rows_in

_MOST_ALIGNED = 2000
"""Rows up to which a block is aligned where rows were put in or taken out between; beyond it, row by row."""


def row_changes(old: Sequence[str], new: Sequence[str], *, block: str) -> Iterator[str]:
    """Yield in words what differs between the rows of a block, as `row_lines` writes them. Raises ``NotEncoded``."""
    before, now = rows_in(old) if old else [], rows_in(new) if new else []
    for a, b in _pairs(before, now):
        if a is None and b is not None:
            yield f"row {b.get(ROW)} of {block} added: {_row(b)}"
        elif b is None and a is not None:
            yield f"row {a.get(ROW)} of {block} removed: {_row(a)}"
        elif a is not None and b is not None:
            yield from _cell_changes(a, b, block)


def _pairs(
    before: Sequence[Mapping[str, Any]], now: Sequence[Mapping[str, Any]]
) -> Iterator[tuple[Mapping[str, Any] | None, Mapping[str, Any] | None]]:
    """Pair what differs; what stands at both ends alike is left out first, so that a long table takes no longer."""
    a, b = [_content(row) for row in before], [_content(row) for row in now]
    head = 0
    while head < min(len(a), len(b)) and a[head] == b[head]:
        head += 1
    tail = 0
    while tail < min(len(a), len(b)) - head and a[-1 - tail] == b[-1 - tail]:
        tail += 1
    a, b = a[head : len(a) - tail], b[head : len(b) - tail]
    if max(len(a), len(b)) > _MOST_ALIGNED:
        yield from zip_longest(before[head : head + len(a)], now[head : head + len(b)])
        return
    for kind, i, j, k, m in SequenceMatcher(a=a, b=b, autojunk=False).get_opcodes():
        if kind != "equal":
            yield from zip_longest(before[head + i : head + j], now[head + k : head + m])


def _content(row: Mapping[str, Any]) -> tuple[tuple[str, Any], ...]:
    return tuple((name, value) for name, value in row.items() if name != ROW and value is not None)


def _cell_changes(a: Mapping[str, Any], b: Mapping[str, Any], block: str) -> Iterator[str]:
    number = f"row {a.get(ROW)}" if a.get(ROW) == b.get(ROW) else f"row {a.get(ROW)}, now {b.get(ROW)},"
    for name in {**a, **b}:
        if name != ROW and a.get(name) != b.get(name):
            yield f"{number} of {block}, {name}: from {_cell(a.get(name))} to {_cell(b.get(name))}"


def _cell(value: Any) -> str:
    return "nothing" if value is None else str(value)


def _row(row: Mapping[str, Any]) -> str:
    names = ("frequency_hz", "applied", "applied_unit", "output", "output_unit", *OF_CHECKS)
    return " ".join(_cell(row[name]) for name in names if row.get(name) is not None)
