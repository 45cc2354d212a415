"""What is said above a table, and in the file's and sheet's names: test, condition, frequency, day, channel."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from vibcal_nb.inputs.grids.grid import Cell, Grid, address
from vibcal_nb.inputs.layout.day import DayUnclear, read_day
from vibcal_nb.inputs.layout.laid_out import looks_like_number
from vibcal_nb.inputs.propose.columns import tag_of
from vibcal_nb.inputs.propose.trade_words import (
    CONDITION_LABELS,
    CONDITION_WORDS,
    DAY_WORDS,
    TEST_WORDS,
    is_one_of,
    said_in,
)

_FREQUENCY = re.compile(r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s*(hz|rpm|cpm)\b", re.IGNORECASE)


@dataclass(kw_only=True)
class Facts:
    """What holds for all rows of a table: ``constants`` and ``cells`` by column, ``values`` of words in those cells."""

    constants: dict[str, str] = field(default_factory=dict)
    cells: dict[str, str] = field(default_factory=dict)
    values: dict[str, dict[str, str]] = field(default_factory=dict)
    day_cell: str | None = None
    day_unclear: bool = False
    reasons: list[str] = field(default_factory=list)


def find_facts(grid: Grid, rows: range, *, names: Sequence[str], tags: Sequence[str]) -> Facts:
    """Find what is said in rows above a table; ``names`` are those of the sheet and the file, which come last."""
    facts = Facts()
    said = [(address(row, c), cell) for row, c, cell in grid.filled() if row in rows and not looks_like_number(cell)]
    texts = [(place, cell.text) for place, cell in reversed(said)] + [("the name", name) for name in names]
    _labelled(facts, grid, rows)
    for place, text in texts:
        _words(facts, place, text)
        _frequency(facts, place, text)
        if "channel" not in facts.constants and (tag := _tag_in(text, tags)) is not None:
            facts.constants["channel"] = tag
            facts.reasons.append(f"channel {tag}: {place} names it")
    return facts


def _labelled(facts: Facts, grid: Grid, rows: range) -> None:
    """Cells beside a label: the day, the condition."""
    for row, column, cell in grid.filled():
        beside = next((c for c in range(column + 1, column + 4) if grid.at(row, c)), None)
        if row not in rows or beside is None:
            continue
        place, value = address(row, beside), grid.at(row, beside)
        if is_one_of(cell.text, DAY_WORDS) and facts.day_cell is None and _is_day(facts, value):
            facts.day_cell = place
            facts.reasons.append(f"the day: {place}, beside '{cell.text}'")
        elif is_one_of(cell.text, CONDITION_LABELS) and "condition" not in facts.cells:
            meant = said_in(value.text, CONDITION_WORDS)
            if meant:
                facts.cells["condition"] = place
                facts.values["condition"] = {value.text: meant[0]}
                facts.reasons.append(f"condition: {place}, where '{value.text}' means {meant[0]}")


def _is_day(facts: Facts, cell: Cell) -> bool:
    try:
        read_day(cell)
    except DayUnclear as unclear:
        facts.day_unclear = "day_form" in str(unclear) and any(ch.isdigit() for ch in cell.text)
        return facts.day_unclear
    return True


def _words(facts: Facts, place: str, text: str) -> None:
    for column, words in (("test", TEST_WORDS), ("condition", CONDITION_WORDS)):
        if column in facts.constants or column in facts.cells:
            continue
        meant = said_in(text, words)
        if meant:
            facts.constants[column] = meant[0]
            facts.reasons.append(f"{column} {meant[0]}: {place} says '{text[:60]}'")


def _frequency(facts: Facts, place: str, text: str) -> None:
    found = _FREQUENCY.search(text)
    if found is not None and not {"frequency_hz", "frequency_rpm"} & set(facts.constants):
        column = "frequency_hz" if found[2].lower() == "hz" else "frequency_rpm"
        facts.constants[column] = found[1].replace(",", ".")
        facts.reasons.append(f"{column} {facts.constants[column]}: {place} says '{text[:60]}'")


def _tag_in(text: str, tags: Sequence[str]) -> str | None:
    """The one channel that a text names, whole or by its ending."""
    whole = tag_of(text, tags)
    if whole is not None:
        return whole
    found = {tag for word in re.split(r"[\s,;:()\[\]]+", text) if (tag := tag_of(word, tags)) is not None}
    return found.pop() if len(found) == 1 else None
