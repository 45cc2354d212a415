"""Which files a folder wants, and writing those that are not there; what a person typed is never written over."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.planning.certificates import valid_on
from vibcal_nb.inputs.files.toml_table import load_toml
from vibcal_nb.inputs.read_equipment import read_equipment
from vibcal_nb.inputs.tags import is_safe_tag
from vibcal_nb.model.common_kinds.kinds import COMMON_KINDS
from vibcal_nb.problems import InputRefused, ParameterError, Problem, one_of, shown
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.new_files import file_texts
from vibcal_nb.records.new_files.changed import with_tables
from vibcal_nb.records.new_files.file_texts import ASSET, EQUIPMENT, KINDS, VISIT, NewChannel
from vibcal_nb.records.new_files.schemas import FOLDER, schema_texts

SITE_LEVEL, ASSET_LEVEL, VISIT_LEVEL = "site", "asset", "visit"
_A_ROTOR = "rotor"


@dataclass(frozen=True, kw_only=True)
class NewFiles:
    """What a folder wants: its level, the texts to write by their path, and the files that stay as they are.

    A text of a file that is there already is that file with tables added at its end.
    """

    level: str
    texts: Mapping[Path, str] = field(default_factory=dict)
    kept: tuple[Path, ...] = ()

    def write(self) -> None:
        """Write all of it. Raises ``OSError``."""
        for path, text in self.texts.items():
            write_atomically(path, text)


def plan_new(
    folder: Path, *, channels: Sequence[tuple[str, str]] = (), kinds: Sequence[str] = (), rotors: Sequence[str] = ()
) -> NewFiles:
    """Find what is to be written for a folder; nothing is written yet.

    ``channels`` are tags with the name of their kind. Raises ``ParameterError``, ``InputRefused``, ``NotDone``, each
    with a sentence.
    """
    folder = Path(os.path.abspath(folder))  # noqa: PTH100  # a link is not followed away from its site
    level = _level(folder, has_channels=bool(channels))
    if level == VISIT_LEVEL:
        return _plan_visit(folder)
    site = folder if level == SITE_LEVEL else folder.parent
    texts: dict[Path, str] = {}
    if not (site / EQUIPMENT).exists():
        texts[site / EQUIPMENT] = file_texts.equipment_text()
    asset = _load(folder / ASSET) if level == ASSET_LEVEL else {}
    _add_kinds(texts, site / KINDS, kinds, [kind for _, kind in channels], of_asset=asset.get("kinds", {}))
    if level == ASSET_LEVEL:
        _add_asset(texts, folder, asset, channels=channels, rotors=rotors)
    texts |= _schemas(site)
    wanted = [site / EQUIPMENT, site / KINDS, *([folder / ASSET] if level == ASSET_LEVEL else [])]
    return NewFiles(level=level, texts=texts, kept=tuple(path for path in wanted if path not in texts))


def _level(folder: Path, *, has_channels: bool) -> str:
    if folder.exists() and not folder.is_dir():
        raise ParameterError(f"{folder.as_posix()} is a file; give the folder of a site, an asset or a visit.")
    if (folder.parent / VISIT).exists():
        raise ParameterError(f"{folder.parent.as_posix()} is a visit, which holds no further folder; give another.")
    if (folder.parent / ASSET).exists() and not (folder / ASSET).exists():
        if has_channels:
            raise ParameterError(f"{folder.as_posix()} is a visit's folder; channels belong to its asset.")
        return VISIT_LEVEL
    if (folder / EQUIPMENT).exists():
        if has_channels:
            raise ParameterError(f"{folder.as_posix()} is a site; give the folder of an asset in it for its channels.")
        return SITE_LEVEL
    in_site = (folder.parent / EQUIPMENT).exists() or (folder / ASSET).exists()
    return ASSET_LEVEL if in_site or has_channels else SITE_LEVEL


def _plan_visit(folder: Path) -> NewFiles:
    try:
        day = date.fromisoformat(folder.name[:10] if folder.name[10:11] in ("", " ", "-", "_") else "")
    except ValueError:
        sentence = f"{folder.as_posix()} names no day; name a new visit by its day, such as 2027-05-18."
        raise ParameterError(sentence) from None
    path = folder / VISIT
    schemas = _schemas(folder.parent.parent)
    if path.exists():
        return NewFiles(level=VISIT_LEVEL, texts=schemas, kept=(path,))
    equipment = read_equipment(folder.parent.parent / EQUIPMENT, [])  # what is open in it is for `check` to say
    valid = () if equipment is None else valid_on(equipment, day)
    return NewFiles(level=VISIT_LEVEL, texts={path: file_texts.visit_text(day, equipment=valid), **schemas})


def _schemas(site: Path) -> dict[Path, str]:
    """The schemas that a site lacks, or has as another version of the software made them."""
    places = {site / FOLDER / name: text for name, text in schema_texts().items()}
    return {path: text for path, text in places.items() if _stored(path) != text}


def _add_kinds(
    texts: dict[Path, str],
    path: Path,
    wanted: Sequence[str],
    used: Sequence[str],
    *,
    of_asset: Mapping[str, Any],
) -> None:
    there = {**_load(path), **of_asset}
    for name in wanted:
        if name not in COMMON_KINDS:
            raise ParameterError(f"There is no common kind {shown(name)}; {one_of(name, COMMON_KINDS)}.")
        if name in there:
            raise ParameterError(f"{path.as_posix()} has a kind {shown(name)} already; it stays as it is.")
    for name in used:
        if name not in COMMON_KINDS and name not in there:
            raise ParameterError(f"There is no kind {shown(name)}; {one_of(name, [*there, *COMMON_KINDS])}.")
    new = [name for name in dict.fromkeys([*wanted, *used]) if name not in there]
    if not path.exists():
        texts[path] = file_texts.kinds_text(COMMON_KINDS[name] for name in new)
    elif new:
        added = "\n".join(file_texts.kind_text(COMMON_KINDS[name]) for name in new)
        texts[path] = with_tables(_text_of(path), added, file=path.as_posix())


def _add_asset(
    texts: dict[Path, str],
    folder: Path,
    asset: Mapping[str, Any],
    *,
    channels: Sequence[tuple[str, str]],
    rotors: Sequence[str],
) -> None:
    path = folder / ASSET
    if not is_safe_tag(folder.name):
        raise ParameterError(f"The folder {shown(folder.name)} cannot be an asset's tag; tags name files.")
    names = tuple(rotors) or tuple(asset.get("rotors", ())) or (_A_ROTOR,)
    tags = [(tag, kind) for name, kind in channels for tag in _tags(name, kind)]
    for tag, _ in tags:
        if not is_safe_tag(tag):
            raise ParameterError(
                f"The tag {shown(tag)} cannot be used; tags name files: give letters, digits, '-', '_'."
            )
        if tag in asset.get("channels", {}) or [other for other, _ in tags].count(tag) > 1:
            raise ParameterError(f"The channel {shown(tag)} is there already; it stays as it is.")
    new = [NewChannel(tag=tag, kind=kind, rotors=names) for tag, kind in tags]
    if not path.exists():
        texts[path] = file_texts.asset_text(folder.name, rotors=names, channels=new)
    elif rotors and not set(rotors) <= set(asset.get("rotors", ())):
        raise ParameterError(f"{path.as_posix()} is there already; add a rotor to its [rotors], where it is explained.")
    elif new:
        added = "\n".join(file_texts.channel_text(channel) for channel in new)
        texts[path] = with_tables(_text_of(path), added, file=path.as_posix())


def _tags(tag: str, kind: str) -> tuple[str, ...]:
    """The channels of one sensor: one, or one an axis."""
    axes = COMMON_KINDS[kind].axes if kind in COMMON_KINDS else ()
    return tuple(f"{tag}-{axis}" for axis in axes) or (tag,)


def _load(path: Path) -> dict[str, Any]:
    """What a file holds, nothing where it is not there. Raises ``InputRefused`` where it cannot be read."""
    if not path.exists():
        return {}
    problems: list[Problem] = []
    values = load_toml(path, problems)
    if values is None:
        raise InputRefused(problems)
    return values


def _text_of(path: Path) -> str:
    return path.read_bytes().decode("utf-8-sig")


def _stored(path: Path) -> str | None:
    return path.read_text(encoding="utf-8") if path.is_file() else None
