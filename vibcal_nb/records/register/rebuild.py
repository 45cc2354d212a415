"""A register made anew from the records, beside whoever writes to it; the one before is set aside, never lost."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.files.whole_files import partial_path, write_atomically
from vibcal_nb.records.register.documents import WITNESS, Document
from vibcal_nb.records.register.register import (
    REGISTER_FILE,
    RegisterUnusable,
    append_document,
    append_row,
    append_rows,
    documents_in,
    open_register,
    read_documents,
    read_rows,
    register_path,
    rows_after,
    transaction,
)
from vibcal_nb.records.register.register_records import list_documents, list_rows

_NAMED = ("asset", "visit", "channel", "analysis", "condition", "record", "seal")


@dataclass(frozen=True, kw_only=True)
class Rebuilt:
    """What came of making a register anew: rows written, and in a sentence each what is no record.

    ``lost`` names in a sentence each what the register before held and nothing in the folder is any more.
    ``aside`` is where that register lies now; None where there was none.
    """

    rows: int
    unusable: tuple[str, ...]
    lost: tuple[str, ...] = ()
    aside: Path | None = None


def set_aside_registers(records: Path) -> list[Path]:
    """List the registers of a folder that were set aside, the oldest first."""
    found = records.glob(f"{Path(REGISTER_FILE).stem}.aside-*.sqlite")
    return sorted((path for path in found if is_plain(path)), key=lambda path: (len(path.name), path.name))


def rebuild_register(records: Path) -> Rebuilt:
    """Make the register of a folder anew from the records in it.

    Records are taken in the order of their paths, superseded revisions first. Who appends to it meanwhile waits, and
    is entered behind them. Raises ``RegisterUnusable``, ``OSError``.
    """
    path = register_path(records)
    unusable: list[str] = []
    aside = _set_aside(path) if is_plain(path) else None
    try:
        count = _refill(path, records, unusable)
    except RegisterUnusable:
        if aside is None and not path.is_symlink():
            raise
        unusable.clear()
        count = _replace(path, records, unusable)
    lost = () if aside is None else tuple(lost_since(aside, path))
    return Rebuilt(rows=count, unusable=tuple(unusable), lost=lost, aside=aside)


def _refill(path: Path, records: Path, unusable: list[str]) -> int:
    """Put what the records say in place of what the register held, but for what was entered while they were read."""
    with open_register(path, create=True) as connection:
        seen = connection.execute("SELECT MAX(sequence) FROM results").fetchone()[0] or 0
    rows, documents = list(list_rows(records, unusable)), list(list_documents(records))
    with open_register(path) as connection, transaction(connection):
        newer = rows_after(connection, seen)
        documents += documents_in(connection)
        _empty(connection)
        count = sum(append_row(connection, row) for row in (*rows, *newer))
        for document in documents:
            if document.kind == WITNESS or is_plain(records / document.place):  # a witness lies elsewhere
                append_document(connection, document)
    return count


def _set_aside(path: Path) -> Path:
    """Copy the register; while nobody writes, its file is whole."""
    number = 1
    while (aside := path.with_name(f"{path.stem}.aside-{number}.sqlite")).exists():
        number += 1
    try:
        with open_register(path) as connection, transaction(connection):
            write_atomically(aside, read_plain(path))
    except RegisterUnusable:  # what it is then, nobody can read; it is kept as it is
        write_atomically(aside, read_plain(path))
    return aside


def _empty(connection: sqlite3.Connection) -> None:
    """Take all rows out, within a transaction; what the file's triggers forbid is done by making the tables anew."""
    layout = connection.execute("SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite~_%' ESCAPE '~'")
    statements = [(kind, name, sql) for kind, name, sql in layout.fetchall() if sql]
    for kind in ("table", "index", "trigger"):
        for found, name, _ in statements:
            if found == kind == "table":
                connection.execute(f"DROP TABLE {name}")
    for kind in ("table", "index", "trigger"):
        for found, _, sql in statements:
            if found == kind:
                connection.execute(sql)


def _replace(path: Path, records: Path, unusable: list[str]) -> int:
    """Put a new register in the place of one that cannot be used, in one step."""
    fresh = partial_path(path)
    fresh.unlink(missing_ok=True)
    try:
        count = append_rows(fresh, list_rows(records, unusable), list_documents(records))
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)
    return count


def lost_since(aside: Path, path: Path) -> Iterator[str]:
    """Yield what a register that was set aside holds and the one in its place does not. Raises ``RegisterUnusable``."""
    try:
        before, documents = read_rows(aside, _NAMED), read_documents(aside)
    except RegisterUnusable:
        yield f"{aside.name} cannot be read, so that nobody can tell what it held."
        return
    known = {row[-1] for row in read_rows(path, _NAMED)}
    for *names, record, seal in before:
        if seal not in known:
            yield f"{record}: {' '.join(map(str, names))} was registered with the seal {str(seal)[:16]}…, and is gone."
    kept = {document.sha256 for document in read_documents(path)}
    yield from (_gone(document) for document in documents if document.sha256 not in kept)


def _gone(document: Document) -> str:
    return f"{document.place}: the {document.kind} ({document.said}) was registered, and is gone or was changed."
