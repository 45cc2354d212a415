"""The register of a records folder: one row per result, appended and never changed, in one SQLite file.

Each row carries the hash of the row before it, so that a row that was altered, removed or slipped in shows,
and so does a cut at the end: the file remembers the highest number it ever gave. The register is made of the
records and can be made again from them at any time; it is an index and a witness, not the record.

Writers are safe beside one another, in one process or many: each append is one immediate transaction, and one
that finds the file busy waits. The ordinary rollback journal is used and no write-ahead log, whose shared
memory does not work over network drives.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from vibcal_nb.problems import Refused, on_one_line
from vibcal_nb.records.files.whole_files import make_folder
from vibcal_nb.records.register.documents import DOCUMENT_COLUMNS, Document, document_values
from vibcal_nb.records.register.register_rows import COLUMNS, FIRST, RegisterRow, chain_hash, row_values

REGISTER_FILE = "register.sqlite"
SCHEMA = 2
"""1 held results alone; 2 holds sign-offs and reports, too. A register of 1 is read, and raised when it is written."""

BUSY_SECONDS = 60.0

_KEY = ("asset", "visit", "channel", "analysis", "condition")
_CREATE = f"""
CREATE TABLE IF NOT EXISTS results (
    sequence INTEGER PRIMARY KEY AUTOINCREMENT,
    {", ".join(f"{name} {'REAL' if name == 'margin_pct' else 'TEXT'}" for name in COLUMNS)},
    previous TEXT NOT NULL,
    hash TEXT NOT NULL
);
CREATE INDEX IF NOT EXISTS results_key ON results ({", ".join(_KEY)}, sequence);
CREATE TRIGGER IF NOT EXISTS results_no_update BEFORE UPDATE ON results
    BEGIN SELECT RAISE(ABORT, 'the register is append-only'); END;
CREATE TRIGGER IF NOT EXISTS results_no_delete BEFORE DELETE ON results
    BEGIN SELECT RAISE(ABORT, 'the register is append-only'); END;
CREATE TABLE IF NOT EXISTS documents (
    sequence INTEGER PRIMARY KEY AUTOINCREMENT,
    {", ".join(f"{name} TEXT" for name in DOCUMENT_COLUMNS)},
    previous TEXT NOT NULL,
    hash TEXT NOT NULL
);
CREATE TRIGGER IF NOT EXISTS documents_no_update BEFORE UPDATE ON documents
    BEGIN SELECT RAISE(ABORT, 'the register is append-only'); END;
CREATE TRIGGER IF NOT EXISTS documents_no_delete BEFORE DELETE ON documents
    BEGIN SELECT RAISE(ABORT, 'the register is append-only'); END;
PRAGMA user_version = {SCHEMA};
"""


class RegisterUnusable(Refused):
    """The register cannot be read or written; the text is one sentence that says what to do."""


@dataclass(frozen=True, kw_only=True)
class ChainProblem:
    """A place where the register is not what was written; ``sequence`` is the number of the row."""

    sequence: int
    sentence: str


def register_path(records: Path) -> Path:
    """Return where the register of a records folder lies."""
    return Path(records) / REGISTER_FILE


def has_register(path: Path) -> bool:
    """Whether there is a register; a file without a byte is what an interruption leaves before its first."""
    return path.is_file() and path.stat().st_size > 0


@contextmanager
def open_register(path: Path, *, create: bool = False) -> Iterator[sqlite3.Connection]:
    """Open the register; ``create`` makes it where there is none. Raises ``RegisterUnusable``."""
    if not create and not has_register(path):
        raise RegisterUnusable(f"{path.as_posix()}: there is no register; make it with the command overview --rebuild.")
    if path.resolve().parent != path.parent.resolve():  # what is written to it would be written elsewhere
        raise RegisterUnusable(f"{path.as_posix()}: the register is a link that leads elsewhere; remove it.")
    try:
        with closing(sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)) as connection:
            version = connection.execute("PRAGMA user_version").fetchone()[0]
            if create and version in (0, 1):
                connection.executescript("BEGIN IMMEDIATE;" + _CREATE + "COMMIT;")
            elif version not in (1, SCHEMA):
                raise RegisterUnusable(
                    f"{path.as_posix()}: the register has the format {version}, and this version knows 1 to {SCHEMA}; "
                    "make it anew with the command overview --rebuild."
                )
            _refuse_other_layouts(path, connection)
            yield connection
    except (sqlite3.DatabaseError, OverflowError, UnicodeDecodeError) as error:  # numbers and bytes that are none
        raise RegisterUnusable(
            f"{path.as_posix()}: the register cannot be used ({on_one_line(str(error))}); {_remedy(error)}."
        ) from error


def _remedy(error: Exception) -> str:
    """A share without locks says that it is locked, or speaks of a protocol, for ever."""
    if any(word in str(error) for word in ("locked", "locking", "disk I/O")):
        return (
            "another program holds it, or this drive keeps no locks: write the records to a drive of this machine "
            "(--out) and copy the folder when the run is done"
        )
    return "make it anew with the command overview --rebuild"


def _refuse_other_layouts(path: Path, connection: sqlite3.Connection) -> None:
    """Refuse a file in which ``results`` is a view that never ends, or whose triggers do what nobody asked for.

    That the triggers of this module are missing is no reason: what was altered then is told by the chain.
    """
    laid_out = set(connection.execute(_LAYOUT))
    expected = _layout()
    table = next(item for item in expected if item[:2] == ("table", "results"))
    if not laid_out <= expected or table not in laid_out:
        raise RegisterUnusable(
            f"{path.as_posix()}: the register has another layout than this version gives it; make it anew with the "
            "command overview --rebuild."
        )


_LAYOUT = "SELECT type, name, tbl_name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite~_%' ESCAPE '~'"


@cache
def _layout() -> frozenset[tuple[str, ...]]:
    with closing(sqlite3.connect(":memory:")) as connection:
        connection.executescript(_CREATE)
        return frozenset(connection.execute(_LAYOUT))


def append_rows(
    path: Path,
    rows: Iterable[RegisterRow],
    documents: Iterable[Document] = (),
    *,
    earlier: Iterable[RegisterRow] = (),
) -> int:
    """Append the rows whose record is new or has changed since its latest row, and documents that are not yet there.

    ``earlier`` are rows of revisions that others replaced; they come first, and only those that were never entered.
    Returns how many rows were appended. All in one transaction, in the file that has the register's name when it is
    done: one that is made anew meanwhile gets them, too. Raises ``RegisterUnusable``.
    """
    make_folder(path.parent)
    rows, documents, earlier = list(rows), list(documents), list(earlier)
    while True:
        found: list[os.stat_result] = []
        try:
            with open_register(path, create=True) as connection:
                found.append(path.stat())
                with transaction(connection):
                    count = sum(append_row(connection, row) for row in earlier if not _was_entered(connection, row))
                    count += sum(append_row(connection, row) for row in rows)
                    for document in documents:
                        append_document(connection, document)
        except RegisterUnusable:
            if not _took_its_place(path, found):
                raise
            continue
        if not _took_its_place(path, found):
            return count


def _took_its_place(path: Path, found: list[os.stat_result]) -> bool:
    """Whether another file has the register's name than the one that was opened."""
    return bool(found) and path.is_file() and not os.path.samestat(found[0], path.stat())


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """Hold the register for writing; what is done is done as a whole or not at all."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


_LATEST_SEAL = (
    f"SELECT seal FROM results WHERE {' AND '.join(f'{name} = ?' for name in _KEY)} ORDER BY sequence DESC LIMIT 1"
)


def append_row(connection: sqlite3.Connection, row: RegisterRow) -> bool:
    """Append a row within a transaction, unless its record is the latest of its kind already; return whether it was."""
    known = connection.execute(_LATEST_SEAL, row.key).fetchone()
    if known is not None and known[0] == row.seal:
        return False
    _append(connection, "results", COLUMNS, row_values(row))
    return True


def _was_entered(connection: sqlite3.Connection, row: RegisterRow) -> bool:
    return connection.execute("SELECT 1 FROM results WHERE seal = ? LIMIT 1", (row.seal,)).fetchone() is not None


def append_document(connection: sqlite3.Connection, document: Document) -> bool:
    """Append a document within a transaction, unless it is there already; return whether it was."""
    values = document_values(document)
    known = f"SELECT 1 FROM documents WHERE {' AND '.join(f'{name} = ?' for name in DOCUMENT_COLUMNS)}"
    if connection.execute(known, values).fetchone():
        return False
    _append(connection, "documents", DOCUMENT_COLUMNS, values)
    return True


def _append(connection: sqlite3.Connection, table: str, columns: Sequence[str], values: Sequence[Any]) -> None:
    last = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
    sequence = 1 if last is None else last[0] + 1
    before = connection.execute(f"SELECT hash FROM {table} ORDER BY sequence DESC LIMIT 1").fetchone()
    previous = FIRST if before is None else before[0]
    insert = (
        f"INSERT INTO {table} (sequence, {', '.join(columns)}, previous, hash) "
        f"VALUES ({', '.join('?' * (len(columns) + 3))})"
    )
    connection.execute(insert, (sequence, *values, previous, chain_hash(sequence, previous, values)))


def read_latest(path: Path) -> list[RegisterRow]:
    """Return the latest row of every record, in the order they were appended. Raises ``RegisterUnusable``."""
    return [RegisterRow(**dict(zip(COLUMNS, values, strict=True))) for values in read_columns(path, COLUMNS)]


def read_columns(path: Path, columns: Sequence[str]) -> list[tuple[Any, ...]]:
    """Return the named columns of the latest row of every record, as tuples. Raises ``RegisterUnusable``."""
    unknown = [name for name in columns if name not in COLUMNS]
    if unknown:
        raise ValueError(f"The register has no column {unknown[0]!r}; its columns are {', '.join(COLUMNS)}.")
    query = (
        f"SELECT {', '.join(columns)} FROM results WHERE sequence IN "
        f"(SELECT MAX(sequence) FROM results GROUP BY {', '.join(_KEY)}) ORDER BY sequence"
    )
    with open_register(path) as connection:
        return connection.execute(query).fetchall()


def read_rows(path: Path, columns: Sequence[str]) -> list[tuple[Any, ...]]:
    """Return the named columns of every row ever entered, in order. Raises ``RegisterUnusable``."""
    with open_register(path) as connection:
        return connection.execute(f"SELECT {', '.join(columns)} FROM results ORDER BY sequence").fetchall()


def rows_after(connection: sqlite3.Connection, sequence: int) -> list[RegisterRow]:
    """Return the rows that were entered after one, in order."""
    query = f"SELECT {', '.join(COLUMNS)} FROM results WHERE sequence > ? ORDER BY sequence"
    return [RegisterRow(**dict(zip(COLUMNS, row, strict=True))) for row in connection.execute(query, (sequence,))]


def read_documents(path: Path) -> list[Document]:
    """Return every document ever entered, in order; none of a register of schema 1. Raises ``RegisterUnusable``."""
    with open_register(path) as connection:
        return documents_in(connection)


def documents_in(connection: sqlite3.Connection) -> list[Document]:
    """Return every document ever entered, in order; none of a register of schema 1."""
    if not _has_documents(connection):
        return []
    query = f"SELECT {', '.join(DOCUMENT_COLUMNS)} FROM documents ORDER BY sequence"
    return [Document(**dict(zip(DOCUMENT_COLUMNS, row, strict=True))) for row in connection.execute(query)]


def _has_documents(connection: sqlite3.Connection) -> bool:
    return connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'documents'").fetchone() is not None


def check_chain(path: Path) -> list[ChainProblem]:
    """Return every place where a row was altered, removed or slipped in; none for an intact register.

    Raises ``RegisterUnusable``.
    """
    with open_register(path) as connection:
        problems = list(_check(connection, "results", COLUMNS))
        if _has_documents(connection):
            problems += _check(connection, "documents", DOCUMENT_COLUMNS)
    return problems


def _check(connection: sqlite3.Connection, table: str, columns: Sequence[str]) -> Iterator[ChainProblem]:
    expected, previous = 1, FIRST
    query = f"SELECT sequence, previous, hash, {', '.join(columns)} FROM {table} ORDER BY sequence"
    for sequence, stated, own, *values in connection.execute(query):
        if sequence != expected:
            yield _missing(table, expected, sequence - 1)
        elif stated != previous:
            said = f"{_row(table, sequence)} does not follow from the row before it: one of them was put in later."
            yield ChainProblem(sequence=sequence, sentence=said)
        if chain_hash(sequence, stated, values) != own:
            named = _label(dict(zip(columns, values, strict=True)))
            said = f"{_row(table, sequence)} ({named}) is not what was written: it was altered."
            yield ChainProblem(sequence=sequence, sentence=said)
        expected, previous = sequence + 1, own
    last = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
    highest = last[0] if last is not None and isinstance(last[0], int) else 0
    if highest >= expected:
        yield _missing(table, expected, highest)


def _row(table: str, sequence: object) -> str:
    return f"Row {sequence}" if table == "results" else f"Row {sequence} of the {table}"


def _missing(table: str, first: int, last: int) -> ChainProblem:
    which = "" if table == "results" else f" of the {table}"
    rows = f"Row {first}{which} is" if first == last else f"Rows {first} to {last}{which} are"
    return ChainProblem(sequence=first, sentence=f"{rows} missing: what stood there was removed.")


def _label(row: dict[str, object]) -> str:
    if "asset" not in row:
        return f"{row['kind']} {row['place']}"
    return f"{row['asset']} {row['visit']}, {row['channel']} {row['analysis']} {row['condition']}"
