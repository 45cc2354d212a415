"""A return: a person's statement that a record is to be corrected. It is of one seal, and holds until that is replaced.

A small JSON file beside its record (``....returned-1.json``), with a signature as a sign-off has one. It stays where
it is when another revision takes over: then it says that an earlier one was returned, and why.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, fields, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from vibcal_nb.problems import in_words
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.signoff.kept_statement import (
    StatementUnusable,
    of_seal,
    read_statement,
    statement_bytes,
    write_statement,
)
from vibcal_nb.records.signoff.places import RETURNS, list_returns, next_path, signature_path
from vibcal_nb.records.signoff.ssh import fits

SCHEMA = 1


@dataclass(frozen=True, kw_only=True)
class Returned:
    """A return. ``record`` is the record's path from the records folder, ``at`` the time in UTC as ISO 8601."""

    record: str
    seal: str
    revision: int
    name: str
    at: str
    reason: str
    signed: bool = False

    @property
    def who(self) -> str:
        """Who returned it, when, and why."""
        return f"{self.name}, {self.at[:10]}: {self.reason}"


@dataclass(frozen=True, kw_only=True)
class ReturnCheck:
    """A return beside a record: the statement where it can be used, and what is wrong with it, in a clause."""

    path: Path
    returned: Returned | None
    problem: str | None = None


def read_return(path: Path) -> Returned:
    """Read a return. Raises ``StatementUnusable``, ``OSError``."""
    return read_statement(path, _taken, "return")


def _taken(said: Mapping[str, Any]) -> Returned | None:
    own = {name: value for name, value in said.items() if name not in ("schema", "digest")}
    if set(own) != {field.name for field in fields(Returned)} or said.get("schema") != SCHEMA:
        return None
    kinds = {"revision": int, "signed": bool}
    if not all(type(value) is kinds.get(name, str) for name, value in own.items()):
        return None
    try:
        datetime.fromisoformat(own["at"])
    except ValueError:
        return None
    return Returned(**own)


def check_returns(record: Path) -> Iterator[ReturnCheck]:
    """Check every return beside a record, of whichever revision. Raises ``SignatureImpossible``."""
    for path in list_returns(record):
        try:
            found = read_return(path)
        except (OSError, StatementUnusable) as error:
            yield ReturnCheck(path=path, returned=None, problem=f"return {path.name} is unusable: {in_words(error)}")
            continue
        yield ReturnCheck(path=path, returned=found, problem=_signature_problem(path, found))


def _signature_problem(path: Path, found: Returned) -> str | None:
    signature = signature_path(path)
    if not is_plain(signature):
        return f"return {path.name} says that it is signed, and its signature is gone" if found.signed else None
    return None if fits(read_plain(path), signature) else f"the signature of {found.name} does not fit {path.name}"


def holding_return(record: Path, seal: str) -> Returned | None:
    """Return the latest return that holds: one of the record as it is now. None where it was not returned."""
    return next(of_seal(reversed(list_returns(record)), read_return, seal), None)


def write_return(record: Path, returned: Returned, *, key: Path | None) -> Path:
    """Write a return beside a record, signed where ``key`` is given. Raises ``SignatureImpossible``, ``OSError``."""
    path = next_path(record, RETURNS)
    said = {"schema": SCHEMA, **asdict(replace(returned, signed=key is not None))}
    write_statement(path, statement_bytes(said), key=key)
    return path
