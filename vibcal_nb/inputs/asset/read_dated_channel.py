"""A channel by layers: its kind, its own keys, and what was restated from a date on; and the items that it had."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from vibcal_nb.inputs.asset.read_channel import read_channel
from vibcal_nb.inputs.asset.read_items import check_nominals, read_items
from vibcal_nb.inputs.files.toml_table import Layer, TomlTable
from vibcal_nb.model.asset import Channel, Rotor
from vibcal_nb.model.dated_asset import DatedChannel
from vibcal_nb.problems import one_of, shown


def read_dated_channel(
    table: TomlTable, tag: str, *, rotors: Mapping[str, Rotor], kinds: Mapping[str, tuple[Layer, ...]]
) -> DatedChannel | None:
    """Read a channel, every state of it; None, with the problems noted, where one of them says too little."""
    before = len(table.problems)
    layers = (*_kind_layers(table, kinds), *table.layers)
    items, retired = read_items(table), table.day("retired")
    restated = _restated(table)
    table.note_unknown()
    limits: list[tuple[date | None, Channel | None]] = []
    for since, layer in [(None, None), *restated]:
        layers = layers if layer is None else (*layers, layer)
        state = TomlTable(table.keys, layers, table.problems)
        limits.append((since, read_channel(state, tag, rotors)))
        check_nominals(state, items)
    if len(table.problems) > before:
        return None
    return DatedChannel(limits=tuple((since, c) for since, c in limits if c is not None), items=items, retired=retired)


def _kind_layers(table: TomlTable, kinds: Mapping[str, tuple[Layer, ...]]) -> tuple[Layer, ...]:
    name = table.text("kind")
    if name and name not in kinds:
        remedy = one_of(name, kinds) if kinds else "put a table of this name into kinds.toml"
        table.note("kind", shown(name), remedy)
    return kinds.get(name, ())


def _restated(table: TomlTable) -> list[tuple[date, Layer]]:
    """What was restated, by the day from which it holds, the earliest first."""
    found = []
    for name, restated in table.tables_by_name("from"):
        restated.check_all()
        day = _day(name)
        if day is None:
            table.note(f"from.{name}", shown(name), "give the day from which it holds, such as 2026-05-19")
        else:
            found.append((day, restated.layers[-1]))
    return sorted(found, key=lambda item: item[0])


def _day(name: str) -> date | None:
    try:
        return date.fromisoformat(name) if len(name) == len("2026-05-19") else None
    except ValueError:
        return None
