"""asset.toml: an asset over the years, its rotors, and what each of its channels should do."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import chain
from pathlib import Path

from vibcal_nb.inputs.asset.read_dated_channel import read_dated_channel
from vibcal_nb.inputs.asset.read_groups import read_groups
from vibcal_nb.inputs.asset.read_kinds import asset_kinds
from vibcal_nb.inputs.asset.restated import DatedLayers
from vibcal_nb.inputs.files.toml_table import TomlTable, load_toml
from vibcal_nb.inputs.tags import check_tags, fold_tag
from vibcal_nb.model.asset import Rotor, rotors_of
from vibcal_nb.model.dated_asset import DatedAsset, DatedChannel
from vibcal_nb.model.keys.asset_keys import ASSET_FILE
from vibcal_nb.problems import Problem, shown
from vibcal_nb.units import hz_from_rpm


def read_asset(path: Path, problems: list[Problem], *, kinds: Mapping[str, DatedLayers]) -> DatedAsset | None:
    """Read an asset file, noting every problem; None where it says too little to be an asset.

    ``kinds`` are those of the site (see ``read_kinds``), to which the file may add its own.
    """
    values = load_toml(path, problems)
    if values is None:
        return None
    before = len(problems)
    root = TomlTable.of_file(ASSET_FILE, path.name, values, problems)
    head = root.table("asset")
    fields = {} if head is None else head.read("tag", "name", "formerly", "retired")
    if head is not None:
        head.finish()
    rotors = _read_rotors(root)
    channels = _read_channels(root, rotors, asset_kinds(root, kinds))
    groups = read_groups(root, channels)
    root.finish()
    _check_names(root, fields.get("tag", ""), fields.get("formerly", ()))
    if len(problems) > before:
        return None
    return DatedAsset(rotors=tuple(chain.from_iterable(rotors.values())), channels=channels, groups=groups, **fields)


def _read_rotors(root: TomlTable) -> dict[str, tuple[Rotor, ...]]:
    rotors = {}
    for name, rotor in root.tables_by_name("rotors"):
        root.check_name(name)
        rpm, hz = rotor.number_or_pair("speed_rpm"), rotor.number_or_pair("speed_hz")
        rotor.finish()
        # of a speed that is refused, and the file with it, something stands in: the channels' rotors are known
        low, high = hz or tuple(hz_from_rpm(speed) for speed in rpm or (60.0, 60.0))
        rotors[name] = rotors_of(name, low, high)
    return rotors


def _read_channels(
    root: TomlTable, rotors: dict[str, tuple[Rotor, ...]], kinds: Mapping[str, DatedLayers]
) -> dict[str, DatedChannel]:
    if root.values.get("channels") == {}:
        root.note("channels", "no channel", "give at least one table [channels.TAG]")
    read = {
        tag: read_dated_channel(table, tag, rotors=rotors, kinds=kinds)
        for tag, table in root.tables_by_name("channels")
    }
    return {tag: channel for tag, channel in read.items() if channel is not None}


def _check_names(root: TomlTable, tag: str, formerly: tuple[str, ...]) -> None:
    """Tags, those of today and older ones, name files and one thing each."""
    file, problems = root.layers[-1].file, root.problems
    check_tags([*([tag] if tag else []), *formerly], file=file, key="asset.tag", problems=problems)
    given = root.values.get("channels")
    tags = list(given) if isinstance(given, dict) else []
    voting = root.values.get("groups")
    check_tags(list(voting) if isinstance(voting, dict) else [], file=file, key="groups", problems=problems)
    check_tags(tags, file=file, key="channels", problems=problems)
    owners = {fold_tag(name): name for name in tags}
    for name in tags:
        table = given[name] if isinstance(given, dict) else None
        stated = table.get("formerly", ()) if isinstance(table, dict) else ()
        for older in [stated] if isinstance(stated, str) else stated if isinstance(stated, list) else ():
            owner = owners.setdefault(fold_tag(str(older)), name)
            if owner != name:
                found = f"{shown(older)}, which is the tag of {shown(owner)}, too"
                root.note(f"channels.{name}.formerly", found, "let each older tag belong to one channel")
