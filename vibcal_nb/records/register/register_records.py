"""Records to register rows: one record just made, or all of a folder, from nothing but the records."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.problems import in_words
from vibcal_nb.records.files.places import SUPERSEDED
from vibcal_nb.records.files.whole_files import partial_path
from vibcal_nb.records.register.register import append_rows, register_path
from vibcal_nb.records.register.register_rows import RegisterRow, make_row
from vibcal_nb.records.seal.record_content import result_of
from vibcal_nb.records.seal.seal import seal_of

_REVISION = re.compile(r"\.rev(\d+)[^.]*$")


@dataclass(frozen=True, kw_only=True)
class Rebuilt:
    """What came of making a register anew: rows written, and in a sentence each what is no record."""

    rows: int
    unusable: tuple[str, ...]


def register_record(records: Path, record: Path) -> bool:
    """Append a record to the register of its folder; return whether it was new or had changed.

    Raises ``RegisterUnusable``, ``OSError``, or ``ValueError`` where the file is no record.
    """
    return bool(append_rows(register_path(records), [read_row(records, record)]))


def rebuild_register(records: Path) -> Rebuilt:
    """Make the register of a folder anew from the records in it, replacing the old one in one step.

    Records are taken in the order of their paths, superseded revisions first. Raises ``RegisterUnusable``,
    ``OSError``.
    """
    path = register_path(records)
    fresh = partial_path(path)
    fresh.unlink(missing_ok=True)
    unusable: list[str] = []
    try:
        rows = append_rows(fresh, _rows(records, unusable))
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)
    return Rebuilt(rows=rows, unusable=tuple(unusable))


def _rows(records: Path, unusable: list[str]) -> Iterator[RegisterRow]:
    for record in sorted(records.glob("*/*/**/*.ipynb"), key=lambda path: _by_revision(records, path)):
        if record.name.startswith(".") or record.name.endswith(".failed.ipynb"):
            continue
        try:
            yield read_row(records, record)
        except (ValueError, OSError) as error:
            unusable.append(f"{record.relative_to(records).as_posix()}: {in_words(error)}")


def read_row(records: Path, record: Path) -> RegisterRow:
    """Read a record and make its row. Raises ``ValueError`` with a clause where it is no record, ``OSError``."""
    content = record.read_bytes()
    try:
        notebook = json.loads(content)
        entry = result_of(notebook)
        if not entry:
            raise ValueError("it holds no result, or more than one, where a record holds one")
        seal, kind = _seal(notebook, content)
        place = record.relative_to(records)
        asset, visit = (*place.parts, "", "")[:2]
        return make_row(entry, asset=asset, visit=visit, record=place.as_posix(), seal=seal, seal_kind=kind)
    except (KeyError, TypeError, AttributeError, RecursionError) as error:
        raise ValueError("this is no record of a result") from error


def _seal(notebook: Mapping[str, Any], content: bytes) -> tuple[str, str]:
    """The digest of the seal that the record carries; where it carries none, the sum over its file."""
    seal = seal_of(notebook)
    return (hashlib.sha256(content).hexdigest(), "file") if seal is None else (seal["digest"], "seal")


def _by_revision(records: Path, record: Path) -> tuple[Any, ...]:
    """Sort key: the place of the record that it is or was, superseded revisions before the one that holds."""
    superseded = record.parent.name == SUPERSEDED
    folder = record.parent.parent if superseded else record.parent
    revision = _REVISION.search(record.stem)
    if not superseded or revision is None:
        return folder.relative_to(records).parts, record.stem, True, 0, record.name
    return folder.relative_to(records).parts, record.stem[: revision.start()], False, int(revision[1]), record.name
