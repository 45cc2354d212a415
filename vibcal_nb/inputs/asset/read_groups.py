"""The groups of channels that vote, checked against the asset's channels."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from vibcal_nb.inputs.files.toml_table import TomlTable
from vibcal_nb.inputs.tags import find_tag
from vibcal_nb.model.dated_asset import DatedChannel
from vibcal_nb.model.relay.set_points import VotingGroup
from vibcal_nb.problems import one_of, shown

_LOGIC = re.compile(r"([1-9]\d?)oo([1-9]\d?)")


def read_groups(root: TomlTable, channels: Mapping[str, DatedChannel]) -> tuple[VotingGroup, ...]:
    """Read ``[groups]``; problems are noted. ``channels`` are those that could be read."""
    found = (_read_group(root, name, table, channels) for name, table in root.tables_by_name("groups"))
    return tuple(group for group in found if group is not None)


def _read_group(
    root: TomlTable, name: str, table: TomlTable, channels: Mapping[str, DatedChannel]
) -> VotingGroup | None:
    before = len(table.problems)
    if find_tag(name, channels) is not None:
        root.note(f"groups.{name}", f"the name {shown(name)}, which a channel has", "give the group its own name")
    fields = table.read("logic", "channels", "set_point")
    table.finish()
    logic = _LOGIC.fullmatch(fields["logic"].strip().lower())
    for tag in fields["channels"]:
        if tag not in channels:
            table.note("channels", shown(tag), one_of(tag, channels))
    if logic is None and fields["logic"]:
        table.note("logic", shown(fields["logic"]), "give how many of how many, such as 2oo3")
    if len(table.problems) > before or logic is None:
        return None
    needed, count = int(logic[1]), int(logic[2])
    if not needed <= count == len(fields["channels"]):
        found = f"{logic[0]} with {len(fields['channels'])} channels"
        table.note("logic", found, "let it count the channels of the group, and need no more than there are")
    for tag in _without(fields["set_point"], fields["channels"], channels):
        known = [point for point, _ in channels[tag].limits[-1][1].set_points]
        table.note("set_point", f"{shown(fields['set_point'])}, which {tag} does not state", _among(known))
    if len(table.problems) > before:
        return None
    return VotingGroup(
        tag=name, logic=logic[0], needed=needed, channels=fields["channels"], set_point=fields["set_point"]
    )


def _without(set_point: str, tags: tuple[str, ...], channels: Mapping[str, DatedChannel]) -> Iterator[str]:
    for tag in tags:
        if not any(set_point == name for _, state in channels[tag].limits for name, _ in state.set_points):
            yield tag


def _among(known: list[str]) -> str:
    return f"give one of {', '.join(known)}" if known else "state its set points first"
