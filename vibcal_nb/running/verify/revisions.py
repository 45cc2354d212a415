"""The chain of a record's revisions: each names the one before it, down to the first, and none is left over."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.records.files.places import SUPERSEDED
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.register.record_place import Place
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.seal import seal_of
from vibcal_nb.running.verify.states import Finding, altered, incomplete
from vibcal_nb.running.verify.verifier import Verifier


def chain_findings(place: Place, seal: Mapping[str, Any], verifier: Verifier) -> Iterator[Finding]:
    """Yield what is wrong with the revision that a record replaces; of the record that holds, with all before it."""
    replaces = seal.get("replaces")
    first = seal.get("revision") == 1
    if first != (replaces is None):
        yield altered(f"it is revision {seal.get('revision')} and replaces {'one' if replaces else 'none'}")
    if replaces is not None and not place.is_alone:
        yield from _earlier_findings(place, seal, replaces)
    if not place.superseded:
        yield from _left_over(place, seal)


def _earlier_findings(place: Place, seal: Mapping[str, Any], replaces: Mapping[str, Any]) -> Iterator[Finding]:
    path = _earlier_path(place, replaces)
    what = f"revision {replaces['revision']}, which it replaces ({replaces['record']}),"
    if seal["revision"] != replaces["revision"] + 1:
        yield altered(f"it is revision {seal['revision']} and replaces revision {replaces['revision']}")
    if path is None or not is_plain(path):
        yield altered(f"{what} is gone")
        return
    found = _seal_in(path)
    if replaces["seal"] is None:
        return  # what it replaced was no longer intact, and says so
    if found is None or found["digest"] != replaces["seal"]:
        yield altered(f"{what} is not the one that was set aside")
    elif found.get("record") != seal["record"]:
        yield altered(f"{what} is of another record")


def _earlier_path(place: Place, replaces: Mapping[str, Any]) -> Path | None:
    """Where the earlier revision has to lie: in the folder of superseded ones of the channel, nowhere else."""
    named = Path(str(replaces["record"]))
    if named.parts[:-1] != (SUPERSEDED,):
        return None
    return place.channel_folder / SUPERSEDED / named.name


def _left_over(place: Place, seal: Mapping[str, Any]) -> Iterator[Finding]:
    """Superseded files of this record's name that no revision replaces."""
    chained = _chained(place, seal)
    folder = place.channel_folder / SUPERSEDED
    for path in sorted(folder.glob(f"{place.path.stem}.rev*.ipynb")):
        if path.name in chained or not is_plain(path):
            continue
        found = _seal_in(path)
        if found is not None and found["digest"] == seal["digest"]:
            yield incomplete(f"{SUPERSEDED}/{path.name} is a copy of it, of a revision that was never written")
        elif found is not None and found["digest"] in chained.values():
            yield incomplete(f"{SUPERSEDED}/{path.name} is a second copy of an earlier revision")
        else:
            yield altered(f"{SUPERSEDED}/{path.name} is of no revision that led to it")


def _chained(place: Place, seal: Mapping[str, Any]) -> dict[str, object]:
    """The files of the revisions that led to a record, with the seal that is stated of each."""
    names: dict[str, object] = {}
    replaces = seal.get("replaces")
    while isinstance(replaces, Mapping):
        path = _earlier_path(place, replaces)
        if path is None or path.name in names:
            break
        names[path.name] = replaces.get("seal")
        found = _seal_in(path)
        replaces = None if found is None else found.get("replaces")
    return names


def _seal_in(path: Path) -> dict[str, Any] | None:
    try:
        data = read_plain(path)
        check = check_seal(data)
        return check.seal if check.intact else seal_of(json.loads(data))
    except (OSError, ValueError, RecursionError):
        return None
