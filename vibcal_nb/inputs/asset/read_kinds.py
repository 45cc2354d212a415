"""What several channels share: kinds.toml beside equipment.toml, and [kinds.NAME] of one asset."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from vibcal_nb.inputs.files.toml_table import Layer, TomlTable, load_toml
from vibcal_nb.model.keys.asset_keys import KINDS_FILE
from vibcal_nb.problems import Problem

KINDS = "kinds.toml"


def read_kinds(path: Path, problems: list[Problem]) -> dict[str, Layer]:
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
    found = {}
    for name, table in root.each():
        root.check_name(name)
        table.check_all()
        found[name] = table.layers[-1]
    return found


def asset_kinds(root: TomlTable, kinds: Mapping[str, Layer]) -> dict[str, tuple[Layer, ...]]:
    """Return the layers of each kind: the site's, and over it what the asset's file states of the same name."""
    found = {name: (layer,) for name, layer in kinds.items()}
    own: dict[str, tuple[Layer, ...]] = {}
    for name, table in root.tables_by_name("kinds"):
        root.check_name(name)
        table.check_all()
        own[name] = (*found.get(name, ()), *table.layers)
    return found | own
