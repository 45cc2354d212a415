"""[table] of visit.toml, or a layout file, to a layout; a wrong entry is noted, and the rest is still used."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.files.toml_table import TomlTable, load_toml
from vibcal_nb.inputs.grids.grid import parse_address, parse_letters
from vibcal_nb.model.keys.layout_keys import LAYOUT_FILE
from vibcal_nb.model.keys.reading_columns import READING_TABLE
from vibcal_nb.model.layout import STATED, Layout, TablePart, Wide
from vibcal_nb.problems import Problem, one_of, shown

COLUMNS = tuple(READING_TABLE.names)
BY_LETTER = "@"
_ROWS = ("headings_row", "headings_above", "units_row", "first_row", "last_row")


def read_layout_file(path: Path, problems: list[Problem]) -> Layout | None:
    """Read a layout file; None where it is missing or no TOML. Wrong entries are noted and left out."""
    values = load_toml(path, problems)
    if values is None:
        return None
    root = TomlTable.of_file(LAYOUT_FILE, path.name, values, problems)
    table = root.table("table")
    root.finish()
    return Layout() if table is None else read_table(table)


def read_table(table: TomlTable) -> Layout:
    """Read [table]; wrong entries are noted and left out."""
    whole = _read_part(table, TablePart())
    parts = tuple(_finished(part, whole) for part in table.tables("part")) or (whole,)
    day_cell = table.optional_text("day_cell")
    if day_cell is not None and parse_address(day_cell) is None:
        table.note("day_cell", shown(day_cell), "give a cell such as B2")
        day_cell = None
    layout = Layout(
        sheets=table.texts("sheets"),
        decimal=table.choice("decimal") or None,
        encoding=table.optional_text("encoding"),
        separator=table.choice("separator") or None,
        day_cell=day_cell,
        day_form=table.choice("day_form") or None,
        parts=parts,
    )
    table.finish()
    return layout


def _finished(table: TomlTable, whole: TablePart) -> TablePart:
    part = _read_part(table, whole)
    table.finish()
    return part


def _read_part(table: TomlTable, whole: TablePart) -> TablePart:
    """Read what a part states, over what holds for the whole table; maps are merged entry by entry."""
    read = {name: table.whole(name) for name in _ROWS}
    rows: dict[str, Any] = {n: at if n in table.values else getattr(whole, n) for n, at in read.items()}
    maps: dict[str, Any] = {
        "columns": _to_columns(table, "columns", COLUMNS),
        "constants": _for_columns(table, "constants"),
        "cells": _addresses(table),
        "values": _words(table),
        "ignore": table.texts_by_heading("ignore"),
        "stated": _to_columns(table, "stated", STATED),
    }
    given: dict[str, Any] = {name: {**getattr(whole, name), **found} for name, found in maps.items()}
    wide = _read_wide(table) or whole.wide
    return TablePart(
        headings_row=rows.pop("headings_row") or whole.headings_row,
        fill_down=_fill_down(table) or whole.fill_down,
        wide=wide,
        **rows,
        **given,
    )


def _fill_down(table: TomlTable) -> tuple[str, ...]:
    found = table.texts("fill_down")
    for name in found:
        if name not in COLUMNS:
            table.note("fill_down", shown(name), one_of(name, COLUMNS, most=None))
    return tuple(name for name in found if name in COLUMNS)


def _to_columns(table: TomlTable, name: str, known: Iterable[str]) -> dict[str, str]:
    """Headings, or ``@`` and letters, to one of the known names; each wrong entry is noted by itself."""
    found = {}
    known = tuple(known)
    for heading, column in table.texts_by_heading(name).items():
        if column not in known:
            table.note(f"{name}.{heading}", shown(column), one_of(column, known, most=None))
        elif heading.startswith(BY_LETTER) and parse_letters(heading[1:]) is None:
            table.note(f"{name}.{heading}", shown(heading), "name a column by its letters, such as '@C'")
        else:
            found[heading] = column
    return found


def _for_columns(table: TomlTable, name: str) -> dict[str, str]:
    """Columns of the reading table to texts."""
    found = {}
    for column, text in table.texts_by_heading(name).items():
        if column in COLUMNS:
            found[column] = text
        else:
            table.note(f"{name}.{column}", shown(column), one_of(column, COLUMNS, most=None))
    return found


def _addresses(table: TomlTable) -> dict[str, str]:
    found = {}
    for column, cell in _for_columns(table, "cells").items():
        if parse_address(cell) is None:
            table.note(f"cells.{column}", shown(cell), "give a cell such as B2")
        else:
            found[column] = cell
    return found


def _words(table: TomlTable) -> dict[str, dict[str, str]]:
    """By column, words and what they mean."""
    _, value = table.take("values", "tables by name")
    found: dict[str, dict[str, str]] = {}
    for column, words in (value if isinstance(value, dict) else {}).items():
        if column not in COLUMNS:
            table.note(f"values.{column}", shown(column), one_of(column, COLUMNS, most=None))
        elif not isinstance(words, dict) or not all(isinstance(word, str) for word in words.values()):
            table.note(f"values.{column}", shown(words), 'give words such as { lin = "linearity" }')
        else:
            found[column] = {str(word).strip(): meant for word, meant in words.items()}
    if value is not None and not isinstance(value, dict):
        table.note("values", shown(value), 'give a table such as { test = { lin = "linearity" } }')
    return found


def _read_wide(table: TomlTable) -> Wide | None:
    inner = table.table("wide")
    if inner is None:
        return None
    column, cells = inner.text("column"), inner.text("cells") or "output"
    values = inner.texts_by_heading("values")
    inner.finish()
    wrong = [(name, word) for name, word in (("column", column), ("cells", cells)) if word and word not in COLUMNS]
    for name, word in wrong:
        inner.note(name, shown(word), one_of(word, COLUMNS, most=None))
    return None if wrong or not column or not values else Wide(column=column, values=values, cells=cells)
