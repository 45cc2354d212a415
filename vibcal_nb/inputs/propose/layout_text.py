"""A layout as TOML that a person reads and edits."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence

from vibcal_nb.model.layout import Layout, TablePart


def layout_text(layout: Layout, *, reasons: Sequence[str] = (), open_: Sequence[str] = ()) -> str:
    """Return a layout file: what it was made out from, and what is open, as remarks above it."""
    lines = ["# How old tables of one form are read: see [table] in the reference of keys."]
    lines += [f"# {_one_line(reason)}." for reason in reasons]
    if open_:
        lines += ["#", "# TO BE STATED before the table is read:"]
        lines += [f"#   {_one_line(text)}" for text in open_]
    lines += ["", "[table]", *_whole(layout)]
    alone = len(layout.parts) == 1
    for part in layout.parts:
        lines += [] if alone else ["", "[[table.part]]"]
        lines += _part(part, "table" if alone else "table.part")
    return "\n".join(lines) + "\n"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _whole(layout: Layout) -> Iterator[str]:
    if layout.sheets:
        yield f"sheets = [{', '.join(map(_text, layout.sheets))}]"
    for name in ("decimal", "encoding", "separator", "day_cell", "day_form"):
        if getattr(layout, name) is not None:
            yield f"{name} = {_text(getattr(layout, name))}"


def _part(part: TablePart, heading: str) -> Iterator[str]:
    yield f"headings_row = {part.headings_row}"
    for name in ("headings_above", "units_row", "first_row", "last_row"):
        if getattr(part, name) is not None:
            yield f"{name} = {getattr(part, name)}"
    if part.fill_down:
        yield f"fill_down = [{', '.join(map(_text, part.fill_down))}]"
    for name in ("columns", "constants", "cells", "stated", "ignore"):
        yield from _map(f"{heading}.{name}", getattr(part, name))
    for column, words in part.values.items():
        yield from _map(f"{heading}.values.{column}", words)
    if part.wide is not None:
        yield f"[{heading}.wide]"
        yield f"column = {_text(part.wide.column)}"
        yield f"cells = {_text(part.wide.cells)}"
        yield f"values = {{ {', '.join(f'{_text(k)} = {_text(v)}' for k, v in part.wide.values.items())} }}"


def _map(heading: str, entries: Mapping[str, str]) -> Iterator[str]:
    if entries:
        yield f"[{heading}]"
        yield from (f"{_key(name)} = {_text(value)}" for name, value in entries.items())


def _key(name: str) -> str:
    return name if name.isascii() and name.replace("_", "").isalnum() else _text(name)


def _text(value: str) -> str:
    """A TOML basic string: JSON's escapes are among TOML's (TOML 1.0.0, String)."""
    return json.dumps(value, ensure_ascii=False)
