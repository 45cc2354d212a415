"""What several channels share: kinds.toml beside equipment.toml, and [kinds.NAME] of one asset."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from vibcal_nb.inputs.asset.restated import DatedLayers, read_dated_layers
from vibcal_nb.inputs.files.toml_table import TomlTable, load_toml
from vibcal_nb.model.keys.asset_keys import KINDS_FILE
from vibcal_nb.problems import Problem

KINDS = "kinds.toml"


def read_kinds(path: Path, problems: list[Problem]) -> dict[str, DatedLayers]:
    """Read a site's kinds, noting every problem of them; empty where there is no such file.

    A kind is a layer under the keys of its channels: what it lacks they state, and whether they say enough together is
    seen at the channels.
    """
    if not path.exists():
        return {}
    values = load_toml(path, problems)
    if values is None:
        return {}
    root = TomlTable.of_file(KINDS_FILE, path.name, values, problems)
    return {name: _read_kind(root, name, table) for name, table in root.each()}


def asset_kinds(root: TomlTable, kinds: Mapping[str, DatedLayers]) -> dict[str, DatedLayers]:
    """Return the layers of each kind: the site's, and over it what the asset's file states of the same name."""
    found = dict(kinds)
    for name, table in root.tables_by_name("kinds"):
        found[name] = (*found.get(name, ()), *_read_kind(root, name, table))
    return found


def _read_kind(root: TomlTable, name: str, table: TomlTable) -> DatedLayers:
    root.check_name(name)
    table.check_all()
    return read_dated_layers(table)
