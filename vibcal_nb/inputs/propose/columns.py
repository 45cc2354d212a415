"""What the columns of a table may be, by their headings and units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from vibcal_nb.inputs.grids.grid import Grid, letters
from vibcal_nb.inputs.layout.headings import RPM, headings_of
from vibcal_nb.inputs.layout.laid_out import looks_like_number
from vibcal_nb.inputs.layout.read_layout import BY_LETTER
from vibcal_nb.inputs.propose.find_parts import FoundPart
from vibcal_nb.inputs.propose.heads import PERCENT, Head, take_apart, unit_symbol, value_in
from vibcal_nb.inputs.propose.trade_words import (
    COLUMN_WORDS,
    NUMBER_WORDS,
    STATED_WORDS,
    WORKED_OUT_WORDS,
    is_one_of,
    plain,
)
from vibcal_nb.model.layout import DEVIATION_PCT, TablePart
from vibcal_nb.units import UnitError, parse_unit

FEWEST_WIDE = 2
FREQUENCIES = ("frequency_hz", "frequency_rpm")


@dataclass(kw_only=True)
class FoundColumns:
    """What the columns of one table may be, by heading (or ``@`` and letters).

    ``reasons`` say why, ``open`` what a person has yet to state. ``units`` are the units of levels and outputs that are
    whole; ``half`` those whose detector is missing, with what would complete them.
    """

    columns: dict[str, str] = field(default_factory=dict)
    stated: dict[str, str] = field(default_factory=dict)
    ignore: dict[str, str] = field(default_factory=dict)
    wide_column: str | None = None
    wide: dict[str, str] = field(default_factory=dict)
    fill_down: list[str] = field(default_factory=list)
    units: dict[str, str] = field(default_factory=dict)
    half: dict[str, str] = field(default_factory=dict)
    reasons: list[str] = field(default_factory=list)
    open: list[str] = field(default_factory=list)


def find_columns_of(grid: Grid, part: FoundPart, tags: Sequence[str]) -> FoundColumns:
    """Find what the columns of a table may be; ``tags`` are the channels that there are."""
    found = FoundColumns()
    headings = headings_of(grid, TablePart(headings_row=part.headings_row))
    texts = list(headings.values())
    names = {c: h if texts.count(h) == 1 else f"{BY_LETTER}{letters(c)}" for c, h in headings.items()}
    heads = {c: take_apart(h, grid.at(part.units_row, c).text if part.units_row else "") for c, h in headings.items()}
    _wide(found, headings, names, heads, tags)
    for column, head in heads.items():
        if names[column] not in found.wide:
            _classify(found, grid, part, column, names[column], head)
    _fill_down(found, grid, part, names)
    return found


def _wide(
    found: FoundColumns, headings: dict[int, str], names: dict[int, str], heads: dict[int, Head], tags: Sequence[str]
) -> None:
    """Headings that are channels, or values with the unit of a level or a frequency."""
    by_tag = {c: tag for c, h in headings.items() if (tag := tag_of(h, tags)) is not None}
    by_value = {c: value for c, h in headings.items() if (value := value_in(h)) is not None}
    if len(by_tag) >= FEWEST_WIDE:
        found.wide_column, found.wide = "channel", {names[c]: tag for c, tag in by_tag.items()}
        found.reasons.append(f"{len(by_tag)} headings name channels: the cells below are their outputs")
        for column in by_tag:
            _note_unit(found, "output", heads[column])
    elif len(by_value) >= FEWEST_WIDE:
        units = {take_apart(headings[c]).unit for c in by_value}
        is_hz = all(plain(unit) == "hz" for unit in units)
        found.wide_column = "frequency_hz" if is_hz else "frequency_rpm" if _all_rpm(units) else "applied"
        found.wide = {names[c]: value for c, value in by_value.items()}
        found.reasons.append(f"{len(by_value)} headings are values: taken as {found.wide_column}, the cells as outputs")
        if found.wide_column == "applied":
            _note_unit(found, "applied", Head(words="", unit=_unit_of_values(headings, list(by_value))))


def _all_rpm(units: set[str]) -> bool:
    return all(plain(unit) in RPM for unit in units)


def _unit_of_values(headings: dict[int, str], columns: list[int]) -> str:
    """The unit behind the values, such as ``mm/s`` of ``5 mm/s``; empty where they differ or there is none."""
    rests = {headings[c].strip().lstrip("+-0123456789.,").strip() for c in columns}
    return rests.pop() if len(rests) == 1 else ""


def tag_of(text: str, tags: Sequence[str]) -> str | None:
    """Return the one tag that a text is, or that ends in it after a separator; None where none or several do."""
    low = plain(text)
    exact = [tag for tag in tags if plain(tag) == low]
    ending = [tag for tag in tags if low and plain(tag).endswith(low) and not plain(tag)[: -len(low)][-1:].isalnum()]
    found = exact or ending
    return found[0] if len(found) == 1 else None


def _classify(found: FoundColumns, grid: Grid, part: FoundPart, column: int, name: str, head: Head) -> None:
    rows = range(part.first_row, part.last_row + 1)
    has_numbers = any(looks_like_number(grid.at(row, column)) for row in rows)
    percent = plain(head.unit) in PERCENT or any(grid.at(row, column).kind == "percentage" for row in rows)
    if is_one_of(head.words, STATED_WORDS) or (percent and head.words.split(" ")[0] in STATED_WORDS):
        if percent:
            found.stated[name] = DEVIATION_PCT
            found.reasons.append(f"{name}: a deviation in %, which the table has worked out: compared, not used")
        else:
            found.ignore[name] = "a deviation in no %: worked out in the table"
        return
    if is_one_of(head.words, NUMBER_WORDS):
        found.ignore[name] = "a running number"
        return
    if percent or is_one_of(head.words, WORKED_OUT_WORDS) or head.words.split(" ")[0] in WORKED_OUT_WORDS:
        found.ignore[name] = "worked out, or planned"
        return
    _name(found, name, head, has_numbers=has_numbers)


def _name(found: FoundColumns, name: str, head: Head, *, has_numbers: bool) -> None:
    """Name a column by its words, else by its unit; one that is named twice, or not at all, is left open."""
    by_words = [column for column, words in COLUMN_WORDS.items() if head.words in words]
    column = by_words[0] if by_words else _by_unit(head.unit)
    if column in FREQUENCIES and head.unit:
        column = "frequency_rpm" if plain(head.unit) in RPM else "frequency_hz"
    if column is None or column in found.columns.values() or column == found.wide_column:
        why = "its words are not known" if column is None else f"{column} is named already"
        if has_numbers:
            found.open.append(f"what {name} is ({why}): name it under columns, stated or ignore")
        return
    found.columns[name] = column
    found.reasons.append(f"{name}: {column}, by its {'words' if by_words else 'unit'}")
    if column in ("applied", "output"):
        _note_unit(found, column, head)


def _by_unit(unit: str) -> str | None:
    if plain(unit) == "hz":
        return "frequency_hz"
    if plain(unit) in RPM:
        return "frequency_rpm"
    known = unit_symbol(unit)
    if known is None:
        return None
    try:
        quantity = parse_unit(known[0] if known[1] is None else f"{known[0]} rms")
    except UnitError:
        return None
    return "applied" if quantity.is_vibration else "output"


def _note_unit(found: FoundColumns, column: str, head: Head) -> None:
    known = unit_symbol(head.unit)
    if known is None:
        return
    unit, complete = known
    if complete is None:
        found.units.setdefault(column, unit)
    else:
        found.half.setdefault(column, complete)


def _fill_down(found: FoundColumns, grid: Grid, part: FoundPart, names: dict[int, str]) -> None:
    """Columns of what stays the same over rows whose cells are empty below the first."""
    for column, name in names.items():
        what = found.columns.get(name)
        if what not in (*FREQUENCIES, "channel", "test", "condition", "direction"):
            continue
        cells = [grid.at(row, column) for row in range(part.first_row, part.last_row + 1)]
        if cells and cells[0] and not all(cells):
            found.fill_down.append(what)
            found.reasons.append(f"{name}: cells are empty below others, taken to mean what stands above")
