"""What a table states, and what it restates from a date on: [....from.DATE]."""

from __future__ import annotations

from datetime import date

from vibcal_nb.inputs.files.toml_table import Layer, TomlTable
from vibcal_nb.problems import shown

DatedLayers = tuple[tuple[date | None, Layer], ...]
"""Layers, the more particular after the others, each with the day from which it holds (None: always)."""


def read_dated_layers(table: TomlTable) -> DatedLayers:
    """Return the table's own layer, then what it restates, the earliest first; problems are noted."""
    found: list[tuple[date, Layer]] = []
    for name, restated in table.tables_by_name("from"):
        restated.check_all()
        day = _day(name)
        if day is None:
            table.note(f"from.{name}", shown(name), "give the day from which it holds, such as 2026-05-19")
        else:
            found.append((day, restated.layers[-1]))
    return ((None, table.layers[-1]), *sorted(found, key=lambda item: item[0]))


def days_of(layers: DatedLayers) -> tuple[date | None, ...]:
    """Return the days on which something changes, the first None, each once and in order."""
    return (None, *sorted({day for day, _ in layers if day is not None}))


def layers_on(layers: DatedLayers, day: date | None) -> tuple[Layer, ...]:
    """Return the layers that hold on a day; None: before anything was restated."""
    return tuple(layer for since, layer in layers if since is None or (day is not None and since <= day))


def _day(name: str) -> date | None:
    try:
        return date.fromisoformat(name) if len(name) == len("2026-05-19") else None
    except ValueError:
        return None
