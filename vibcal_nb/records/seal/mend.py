"""What an interruption left between two revisions, brought to an end: by whoever comes next, whatever they came for."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from vibcal_nb.records.files.places import SUPERSEDED, page_path
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.files.whole_files import remove, write_atomically
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.page import has_own_sum, record_page, seal_in
from vibcal_nb.records.seal.seal import seal_of
from vibcal_nb.records.seal.set_aside import find_copy, twin_of
from vibcal_nb.records.signoff.places import list_signatures, list_signoffs, signature_path, signoff_of


def mend(record: Path) -> list[Path]:
    """Bring to its end what was begun on a record; return what was written or removed.

    A page that is missing is made, sign-offs of the revision before are put beside it, a copy that was set aside for a
    revision that never came is removed. What is not known to be left by an interruption stays as it is. Under the
    folder's lock. Raises ``OSError``.
    """
    if not is_plain(record):
        return []
    data = read_plain(record)
    check = check_seal(data)
    if not check.intact or check.seal is None:
        return []
    done = [*_remove_own_copy(record, data, check.seal), *_move_old_signoffs(record, check.seal)]
    page = page_path(record)
    if not is_plain(page) or not _is_page_of(page, check.seal):
        write_atomically(page, record_page(check.notebook))
        done.append(page)
    return done


def _is_page_of(page: Path, seal: dict[str, Any]) -> bool:
    data = read_plain(page)
    return seal_in(data) == seal["digest"] and has_own_sum(data)


def _remove_own_copy(record: Path, data: bytes, seal: dict[str, Any]) -> list[Path]:
    """A copy of the record that still holds: the revision that should have replaced it was never written."""
    revision = seal.get("revision")
    copy = find_copy(record, data, revision=revision) if isinstance(revision, int) else None
    if copy is None:
        return []
    twins = [path for path in copy.parent.iterdir() if path.name.startswith(f"{copy.stem}.") and path != copy]
    pairs = [(twin, record.with_name(twin.name.replace(copy.stem, record.stem, 1))) for twin in twins]
    doubles = [twin for twin, own in pairs if is_plain(own) and read_plain(own) == read_plain(twin)]
    for path in (copy, *doubles):
        remove(path)
    return [copy, *doubles]


def _move_old_signoffs(record: Path, seal: dict[str, Any]) -> list[Path]:
    """Sign-offs of a superseded revision: their copies lie beside it, or are put there, and those here go."""
    done: list[Path] = []
    old = [path for path in list_signoffs(record) if _seal_named_in(path) not in (None, seal["digest"])]
    for path in old:
        copy = _revision_with(record, _seal_named_in(path))
        if copy is None:
            continue  # of no revision that is known here: `verify` says so
        for own in (path, signature_path(path)):
            twin = twin_of(own, record, copy)
            if is_plain(own):
                if not is_plain(twin):
                    write_atomically(twin, read_plain(own))
                if read_plain(twin) == read_plain(own):
                    remove(own)
                    done.append(own)
    return [*done, *_remove_orphans(record)]


def _remove_orphans(record: Path) -> list[Path]:
    """Signatures whose sign-off has gone already, and which lie beside a superseded revision too."""
    orphans = [path for path in list_signatures(record) if not is_plain(signoff_of(path))]
    copies = {read_plain(path) for path in (record.parent / SUPERSEDED).glob(f"{record.stem}.rev*.sig")}
    gone = [path for path in orphans if read_plain(path) in copies]
    for path in gone:
        remove(path)
    return gone


def _seal_named_in(signoff: Path) -> str | None:
    try:
        seal = json.loads(read_plain(signoff))["seal"]
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
    return seal if isinstance(seal, str) else None


def _revision_with(record: Path, digest: str | None) -> Path | None:
    for path in sorted((record.parent / SUPERSEDED).glob(f"{record.stem}.rev*.ipynb")):
        try:
            seal = seal_of(json.loads(read_plain(path)))
        except (OSError, ValueError, RecursionError):
            continue
        if seal is not None and seal["digest"] == digest:
            return path
    return None
