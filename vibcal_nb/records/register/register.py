"""The register of a records folder: one row per result, appended and never changed, in one SQLite file.

Each row carries the hash of the row before it, so that a row that was altered, removed or slipped in shows,
and so does a cut at the end: the file remembers the highest number it ever gave. The register is made of the
records and can be made again from them at any time; it is an index and a witness, not the record.

Writers are safe beside one another, in one process or many: each append is one immediate transaction, and one
that finds the file busy waits. The ordinary rollback journal is used and no write-ahead log, whose shared
memory does not work over network drives.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from vibcal_nb.problems import Refused, on_one_line
from vibcal_nb.records.register.register_rows import COLUMNS, FIRST, RegisterRow, chain_hash, row_values

REGISTER_FILE = "register.sqlite"
SCHEMA = 1
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


@contextmanager
def _open(path: Path, *, create: bool = False) -> Iterator[sqlite3.Connection]:
    """Open the register; ``create`` makes it where there is none. Raises ``RegisterUnusable``."""
    if not create and not path.is_file():
        raise RegisterUnusable(f"{path.as_posix()}: there is no register; make it with the command overview --rebuild.")
    if path.resolve().parent != path.parent.resolve():  # what is written to it would be written elsewhere
        raise RegisterUnusable(f"{path.as_posix()}: the register is a link that leads elsewhere; remove it.")
    try:
        with closing(sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)) as connection:
            version = connection.execute("PRAGMA user_version").fetchone()[0]
            if create and version == 0:
                connection.executescript("BEGIN IMMEDIATE;" + _CREATE + "COMMIT;")
            elif version != SCHEMA:
                raise RegisterUnusable(
                    f"{path.as_posix()}: the register has the format {version} and not {SCHEMA}; make it anew with "
                    "the command overview --rebuild."
                )
            _refuse_other_layouts(path, connection)
            yield connection
    except (sqlite3.DatabaseError, OverflowError, UnicodeDecodeError) as error:  # numbers and bytes that are none
        raise RegisterUnusable(
            f"{path.as_posix()}: the register cannot be used ({on_one_line(str(error))}); make it anew with the "
            "command overview --rebuild."
        ) from error


def _refuse_other_layouts(path: Path, connection: sqlite3.Connection) -> None:
    """Refuse a file in which ``results`` is a view that never ends, or whose triggers do what nobody asked for.

    That the triggers of this module are missing is no reason: what was altered then is told by the chain.
    """
    laid_out = set(connection.execute(_LAYOUT))
    expected = _layout()
    table = next(item for item in expected if item[0] == "table")
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


def append_rows(path: Path, rows: Iterable[RegisterRow]) -> int:
    """Append the rows whose record is new or has changed since its latest row; return how many were.

    All in one transaction. Raises ``RegisterUnusable``.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    with _open(path, create=True) as connection:
        connection.execute("BEGIN IMMEDIATE")
        try:
            count = sum(_append(connection, row) for row in rows)
        except BaseException:
            connection.execute("ROLLBACK")
            raise
        connection.execute("COMMIT")
    return count


_LATEST_SEAL = (
    f"SELECT seal FROM results WHERE {' AND '.join(f'{name} = ?' for name in _KEY)} ORDER BY sequence DESC LIMIT 1"
)
_INSERT = (
    f"INSERT INTO results (sequence, {', '.join(COLUMNS)}, previous, hash) "
    f"VALUES ({', '.join('?' * (len(COLUMNS) + 3))})"
)


def _append(connection: sqlite3.Connection, row: RegisterRow) -> bool:
    known = connection.execute(_LATEST_SEAL, row.key).fetchone()
    if known is not None and known[0] == row.seal:
        return False
    last = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = 'results'").fetchone()
    sequence = 1 if last is None else last[0] + 1
    before = connection.execute("SELECT hash FROM results ORDER BY sequence DESC LIMIT 1").fetchone()
    previous = FIRST if before is None else before[0]
    values = row_values(row)
    connection.execute(_INSERT, (sequence, *values, previous, chain_hash(sequence, previous, values)))
    return True


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
    with _open(path) as connection:
        return connection.execute(query).fetchall()


def check_chain(path: Path) -> list[ChainProblem]:
    """Return every place where a row was altered, removed or slipped in; none for an intact register.

    Raises ``RegisterUnusable``.
    """
    problems: list[ChainProblem] = []
    expected, previous = 1, FIRST
    with _open(path) as connection:
        query = f"SELECT sequence, previous, hash, {', '.join(COLUMNS)} FROM results ORDER BY sequence"
        for sequence, stated, own, *values in connection.execute(query):
            if sequence != expected:
                problems.append(_missing(expected, sequence - 1))
            elif stated != previous:
                said = f"Row {sequence} does not follow from the row before it: one of them was put in later."
                problems.append(ChainProblem(sequence=sequence, sentence=said))
            if chain_hash(sequence, stated, values) != own:
                names = dict(zip(COLUMNS, values, strict=True))
                said = f"Row {sequence} ({_label(names)}) is not what was written: it was altered."
                problems.append(ChainProblem(sequence=sequence, sentence=said))
            expected, previous = sequence + 1, own
        last = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = 'results'").fetchone()
    highest = last[0] if last is not None and isinstance(last[0], int) else 0
    if highest >= expected:
        problems.append(_missing(expected, highest))
    return problems


def _missing(first: int, last: int) -> ChainProblem:
    which = f"Row {first} is" if first == last else f"Rows {first} to {last} are"
    return ChainProblem(sequence=first, sentence=f"{which} missing: what stood there was removed.")


def _label(row: dict[str, object]) -> str:
    return f"{row['asset']} {row['visit']}, {row['channel']} {row['analysis']} {row['condition']}"
