"""Inhibit and return to service, as visit.toml states them."""

from __future__ import annotations

from dataclasses import replace

from vibcal_nb.inputs.files.toml_table import TomlTable
from vibcal_nb.inputs.tags import find_tag
from vibcal_nb.model.asset import Asset
from vibcal_nb.model.relay.safety_trail import Inhibit, ReturnToService, SafetyTrail
from vibcal_nb.model.visit import Visit
from vibcal_nb.problems import Problem, one_of, shown


def read_safety_trail(root: TomlTable) -> SafetyTrail:
    """Read what a visit states of protection that was inhibited; problems are noted."""
    before = len(root.problems)
    inhibit, returned = _fields(root, "inhibit"), _fields(root, "return_to_service")
    for table, fields, name in (("inhibit", inhibit, "channels"), ("inhibit", inhibit, "told")):
        if fields is not None and not fields[name] and len(root.problems) == before:
            root.note(f"{table}.{name}", "an empty list", "name them")
    if returned is not None and not returned["checks"] and len(root.problems) == before:
        root.note("return_to_service.checks", "an empty list", "state what was checked, a sentence each")
    if returned is not None and inhibit is None:
        root.note("return_to_service", "a return to service", "state [inhibit], too: what was inhibited, and when")
    if len(root.problems) > before or inhibit is None:
        return SafetyTrail()
    inhibit["logic"] = inhibit["logic"] or None
    return SafetyTrail(inhibit=Inhibit(**inhibit), returned=None if returned is None else ReturnToService(**returned))


def _fields(root: TomlTable, name: str) -> dict | None:
    table = root.table(name)
    if table is None:
        return None
    fields = table.read(*table.keys.names)
    table.finish()
    return fields


def with_known_channels(visit: Visit, asset: Asset, problems: list[Problem]) -> Visit:
    """Return the visit with the inhibited channels under their tags of today; a tag that is none is noted."""
    inhibit = visit.trail.inhibit
    if inhibit is None:
        return visit
    known = []
    for tag in inhibit.channels:
        older = find_tag(tag, asset.by_older_tag)
        found = find_tag(tag, asset.channels) or (None if older is None else asset.by_older_tag[older])
        if found is None:
            remedy = one_of(tag, asset.channels)
            problems.append(Problem(file="visit.toml", column="inhibit.channels", found=shown(tag), remedy=remedy))
        else:
            known.append(found)
    return replace(visit, trail=replace(visit.trail, inhibit=replace(inhibit, channels=tuple(known))))
