"""A layout proposed for a file, with the reason for every choice and what a person has yet to state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from vibcal_nb.inputs.grids.grid import Grid
from vibcal_nb.inputs.layout.headings import headings_of
from vibcal_nb.inputs.layout.laid_out import looks_like_number
from vibcal_nb.inputs.propose.columns import FoundColumns, find_columns_of, tag_of
from vibcal_nb.inputs.propose.facts import Facts, find_facts
from vibcal_nb.inputs.propose.find_parts import FoundPart, find_parts
from vibcal_nb.inputs.propose.trade_words import CONDITION_WORDS, DIRECTION_WORDS, TEST_WORDS, plain, said_in
from vibcal_nb.model.layout import Layout, TablePart, Wide
from vibcal_nb.model.names import BAND_RESPONSE, CONDITIONS, DIRECTIONS, LINEARITY, TESTS

_CANONICAL = {"test": TESTS, "condition": CONDITIONS, "direction": DIRECTIONS}
_UNITS = {"applied": "applied_unit", "output": "output_unit"}


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """A layout, why it is so, and what is open: sentences; empty where a file is understood throughout."""

    layout: Layout
    reasons: tuple[str, ...]
    open: tuple[str, ...]


def propose_layout(path: Path, grids: Sequence[Grid], *, tags: Sequence[str] = ()) -> Proposal | None:
    """Propose a layout for a file; None where no sheet holds a table. ``tags`` are the channels that there are."""
    found = {grid.name: tables for grid in grids if (tables := find_parts(grid))}
    if not found:
        return None
    first = next(grid for grid in grids if grid.name in found)
    alike = [grid for grid in grids if grid.name in found and _same_form(first, grid, found)]
    reasons: list[str] = []
    open_: list[str] = []
    if len(grids) > 1:
        reasons.append(f"sheets {', '.join(grid.name for grid in alike)} have tables of one form")
        others = [name for name in found if name not in {grid.name for grid in alike}]
        open_ += [f"the sheet {name} has tables of another form: it needs a layout of its own" for name in others]
    by_sheet = _sheet_is_channel(alike, tags)
    parts: list[TablePart] = []
    day = Facts()
    for number, part in enumerate(found[first.name]):
        above = range(1 if number == 0 else found[first.name][number - 1].last_row + 1, part.headings_row)
        facts = find_facts(first, above, names=(first.name, path.stem), tags=() if by_sheet else tags)
        head = find_facts(first, range(1, found[first.name][0].headings_row), names=(), tags=())
        day = head if number == 0 else day
        _inherit(facts, head)
        columns = find_columns_of(first, part, tags)
        reasons += [*facts.reasons, *columns.reasons] if number == 0 else columns.reasons
        parts.append(_part(first, part, columns, facts, tags, by_sheet, reasons, open_))
    if day.day_unclear:
        open_.append("whether the day or the month stands first in the day: give day_form")
    layout = Layout(
        sheets=tuple(grid.name for grid in alike) if len(grids) > 1 else (),
        decimal="," if any(map(_has_decimal_commas, alike)) else None,
        day_cell=day.day_cell,
        parts=tuple(parts),
    )
    return Proposal(layout=layout, reasons=tuple(dict.fromkeys(reasons)), open=tuple(dict.fromkeys(open_)))


def _same_form(first: Grid, other: Grid, found: dict[str, list[FoundPart]]) -> bool:
    """Whether the tables of two sheets have the same headings in the same rows."""
    own, theirs = found[first.name], found[other.name]
    if [part.headings_row for part in own] != [part.headings_row for part in theirs]:
        return False
    rows = [TablePart(headings_row=part.headings_row) for part in own]
    return all(headings_of(first, part) == headings_of(other, part) for part in rows)


def _sheet_is_channel(grids: Sequence[Grid], tags: Sequence[str]) -> str | None:
    """What the channel is, where every sheet's name names one: ``{sheet}``, or that behind what all tags begin with."""
    named = [(grid.name, tag_of(grid.name, tags)) for grid in grids if grid.name]
    if not named or any(tag is None for _, tag in named):
        return None
    prefixes = {str(tag)[: len(str(tag)) - len(name)] for name, tag in named}
    return f"{prefixes.pop()}{{sheet}}" if len(prefixes) == 1 else None


def _inherit(facts: Facts, head: Facts) -> None:
    """What the head of the sheet says holds for tables further down, where they do not say otherwise."""
    for name, place in head.cells.items():
        if name not in facts.constants:
            facts.cells.setdefault(name, place)
    for name, words in head.values.items():
        facts.values.setdefault(name, words)
    for name, text in head.constants.items():
        if name not in facts.cells and name not in ("test", "frequency_hz", "frequency_rpm"):
            facts.constants.setdefault(name, text)


def _part(
    grid: Grid,
    part: FoundPart,
    columns: FoundColumns,
    facts: Facts,
    tags: Sequence[str],
    by_sheet: str | None,
    reasons: list[str],
    open_: list[str],
) -> TablePart:
    constants = {name: text for name, text in facts.constants.items() if name not in columns.columns.values()}
    if by_sheet is not None:
        constants["channel"] = by_sheet
        reasons.append(f"channel {by_sheet}: each sheet's name is a channel")
    _drop_second_frequency(constants, columns)
    _units(constants, columns, part, open_)
    proposed = TablePart(
        headings_row=part.headings_row,
        units_row=part.units_row,
        first_row=part.first_row if part.first_row > max(part.headings_row, part.units_row or 0) + 1 else None,
        last_row=part.last_row if part.last_row < len(grid.rows) else None,
        columns=columns.columns,
        constants=constants,
        cells={name: place for name, place in facts.cells.items() if name not in columns.columns.values()},
        fill_down=tuple(columns.fill_down),
        values={**facts.values, **_words_in_columns(grid, part, columns, tags)},
        ignore=columns.ignore,
        stated=columns.stated,
        wide=Wide(column=columns.wide_column, values=columns.wide) if columns.wide_column else None,
    )
    proposed = replace(proposed, constants=_test_by_shape(grid, part, proposed, reasons))
    where = f"row {part.headings_row}"
    open_ += [f"{where}: {text}" for text in (*columns.open, *_missing(proposed, columns))]
    return proposed


def _drop_second_frequency(constants: dict[str, str], columns: FoundColumns) -> None:
    frequencies = ("frequency_hz", "frequency_rpm")
    if columns.wide_column in frequencies or set(frequencies) & set(columns.columns.values()):
        for name in frequencies:
            constants.pop(name, None)


def _units(constants: dict[str, str], columns: FoundColumns, part: FoundPart, open_: list[str]) -> None:
    """Units stand in the layout, where no row of units gives them whole."""
    for column, key in _UNITS.items():
        if key in columns.columns.values():
            continue
        whole = columns.units.get(column)
        if whole is not None and (part.units_row is None or columns.wide_column is not None):
            constants[key] = whole
        elif whole is None and column in columns.half:
            open_.append(f"row {part.headings_row}: the detector of {column}: give {key} as {columns.half[column]}")


def _words_in_columns(
    grid: Grid, part: FoundPart, columns: FoundColumns, tags: Sequence[str]
) -> dict[str, dict[str, str]]:
    """Words of the trade in columns of words, and channels by the endings of their tags."""
    found: dict[str, dict[str, str]] = {}
    headings = {text: c for c, text in headings_of(grid, TablePart(headings_row=part.headings_row)).items()}
    for name, what in columns.columns.items():
        place = headings.get(name)
        if place is None or what not in ("channel", *_CANONICAL):
            continue
        for row in range(part.first_row, part.last_row + 1):
            text = grid.at(row, place).text
            meant = tag_of(text, tags) if what == "channel" else _meant(text, what)
            if text and meant is not None and meant != text:
                found.setdefault(what, {})[text] = meant
    return found


def _meant(text: str, what: str) -> str | None:
    words = {"test": TEST_WORDS, "condition": CONDITION_WORDS, "direction": DIRECTION_WORDS}[what]
    if plain(text) in _CANONICAL[what]:
        return None
    found = said_in(text, words)
    return found[0] if len(found) == 1 else None


def _test_by_shape(grid: Grid, part: FoundPart, proposed: TablePart, reasons: list[str]) -> dict[str, str]:
    """Where nothing names the test: many frequencies are a band response, many levels at one frequency a line."""
    constants = dict(proposed.constants)
    if "test" in {*constants, *proposed.cells, *proposed.columns.values()}:
        return constants
    by_name = {what: name for name, what in proposed.columns.items()}
    headings = {text: c for c, text in headings_of(grid, proposed).items()}
    counts = {}
    for what in ("frequency_hz", "frequency_rpm", "applied"):
        place = headings.get(by_name.get(what, ""))
        cells = (
            [grid.at(row, place).text for row in range(part.first_row, part.last_row + 1)] if place is not None else []
        )
        counts[what] = len({text for text in cells if text})
    frequencies = max(counts["frequency_hz"], counts["frequency_rpm"])
    levels = len(proposed.wide.values) if proposed.wide and proposed.wide.column == "applied" else counts["applied"]
    if frequencies > 3 and frequencies > 2 * levels:
        constants["test"] = BAND_RESPONSE
        reasons.append(f"test band-response: {frequencies} frequencies and {levels} levels; nothing names the test")
    elif levels > 2 and levels > 2 * frequencies:
        constants["test"] = LINEARITY
        at = "1 frequency" if frequencies < 2 else f"{frequencies} frequencies"
        reasons.append(f"test linearity: {levels} levels and {at}; nothing names the test")
    return constants


def _missing(part: TablePart, columns: FoundColumns) -> list[str]:
    """What the reading table needs and nothing gives."""
    given = {*part.columns.values(), *part.constants, *part.cells}
    given |= {key for column, key in _UNITS.items() if column in columns.half}  # said already
    if part.wide is not None:
        given |= {part.wide.column, part.wide.cells}
    if part.units_row is not None:
        given |= {key for column, key in _UNITS.items() if column in given}
    missing = [
        name for name in ("channel", "test", "condition", "applied", "output", *_UNITS.values()) if name not in given
    ]
    if not {"frequency_hz", "frequency_rpm"} & given:
        missing.append("frequency_hz")
    return [f"{name}: give it under columns, constants or cells" for name in missing]


def _has_decimal_commas(grid: Grid) -> bool:
    return any(cell.number is None and "," in cell.text and looks_like_number(cell) for _, _, cell in grid.filled())
