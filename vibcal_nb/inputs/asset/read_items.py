"""The items that a channel is made of, part by part and by date."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise

from vibcal_nb.inputs.files.toml_table import TomlTable
from vibcal_nb.model.items import CONVERTER, PARTS, SENSOR, Item
from vibcal_nb.problems import shown

_HOME = {SENSOR: "sensor", CONVERTER: "module"}  # the table whose nominal sensitivity an item may bring


def read_items(channel: TomlTable) -> tuple[Item, ...]:
    """Read the items of a channel, the earliest of each part first, noting every problem.

    An item without ``until`` is taken to have been removed when the next of its part was installed.
    """
    table = channel.table("items")
    if table is None:
        return ()
    before = len(channel.problems)
    found = {part: [_read_item(item, part) for item in table.tables(part)] for part in PARTS}
    table.finish()
    if len(channel.problems) > before:
        return ()
    return tuple(item for part in PARTS for item in _in_order(table, part, found[part]))


def check_nominals(channel: TomlTable, items: tuple[Item, ...]) -> None:
    """Note an item whose nominal sensitivity has no units, because its part's table is missing."""
    for part, home in _HOME.items():
        if home not in channel.values and any(i.part == part and i.nominal_sensitivity is not None for i in items):
            found = f"a nominal_sensitivity of the {part} and no table [{home}]"
            channel.note(f"items.{part}", found, f"give the table [{home}], whose units it is in")


def _read_item(table: TomlTable, part: str) -> Item:
    fields = table.read(*table.keys.names)
    texts: dict[str, object] = {name: fields[name] or None for name in ("serial", "type", "slot") if name in fields}
    table.finish()
    since, until = fields["since"], fields["until"]
    if since is not None and until is not None and until < since:
        table.note("until", f"{until} before since {since}", "mend one of the dates")
    return Item(part=part, **{**fields, **texts})


def _in_order(table: TomlTable, part: str, items: list[Item]) -> list[Item]:
    items = sorted(items, key=lambda item: item.since or date.min)
    closed = []
    for item, after in pairwise(items):
        if after.since is None:
            table.note(part, "two items without a date", "give since of the later one")
        elif item.until is not None and item.until > after.since:
            found = f"{shown(item.name)} until {item.until} and {shown(after.name)} since {after.since}"
            table.note(part, found, "let one be removed by the day on which the other is installed")
        closed.append(item if item.until is not None else replace(item, until=after.since))
    return [*closed, *items[-1:]]
