"""A channel by layers: its kind, its own keys, and what was restated from a date on; and the items that it had."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from vibcal_nb.inputs.asset.read_channel import read_channel
from vibcal_nb.inputs.asset.read_items import check_nominals, read_items
from vibcal_nb.inputs.asset.restated import DatedLayers, days_of, layers_on, read_dated_layers
from vibcal_nb.inputs.files.toml_table import TomlTable
from vibcal_nb.model.asset import Channel, Rotor
from vibcal_nb.model.dated_asset import DatedChannel
from vibcal_nb.problems import one_of, shown


def read_dated_channel(
    table: TomlTable, tag: str, *, rotors: Mapping[str, tuple[Rotor, ...]], kinds: Mapping[str, DatedLayers]
) -> DatedChannel | None:
    """Read a channel, every state of it; None, with the problems noted, where one of them says too little.

    What a channel states lies over what its kind states, also over what the kind restates later.
    """
    before = len(table.problems)
    layers = (*_of_kind(table, kinds), *read_dated_layers(table))
    items, retired = read_items(table), table.day("retired")
    table.note_unknown()
    limits: list[tuple[date | None, Channel | None]] = []
    for day in days_of(layers):
        state = TomlTable(table.keys, layers_on(layers, day), table.problems)
        limits.append((day, read_channel(state, tag, rotors)))
        check_nominals(state, items)
    if len(table.problems) > before:
        return None
    return DatedChannel(limits=tuple((day, c) for day, c in limits if c is not None), items=items, retired=retired)


def _of_kind(table: TomlTable, kinds: Mapping[str, DatedLayers]) -> DatedLayers:
    name = table.text("kind")
    if name and name not in kinds:
        remedy = one_of(name, kinds) if kinds else "put a table of this name into kinds.toml"
        table.note("kind", shown(name), remedy)
    return kinds.get(name, ())
