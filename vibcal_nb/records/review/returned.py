"""A return: a person's statement that a record is to be corrected. It is of one seal, and holds until that is replaced.

A small JSON file beside its record (``....returned-1.json``), with a signature as a sign-off has one. It stays where
it is when another revision takes over: then it says that an earlier one was returned, and why.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from vibcal_nb.problems import Refused, in_words
from vibcal_nb.records.files.canonical import kept_bytes
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.register.documents import RETURN, Document, sum_of_signoff
from vibcal_nb.records.seal.seal import digest_of
from vibcal_nb.records.signoff.places import signature_path
from vibcal_nb.records.signoff.ssh import fits, sign

SCHEMA = 1
_LONGEST = 1 << 20


class ReturnUnusable(Refused):
    """A file that is no return, or one that was changed; the text is one clause."""


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


def return_bytes(returned: Returned) -> bytes:
    """Return a return as its file holds it, with the sum over all it says."""
    said = {"schema": SCHEMA, **asdict(returned)}
    return kept_bytes({**said, "digest": digest_of(said)})


def list_returns(record: Path) -> list[Path]:
    """List the returns beside a record, in their order."""
    prefix = f"{record.stem}.returned-"
    found = [path for path in record.parent.glob("*.json") if path.name.startswith(prefix)]
    return sorted(found, key=lambda path: (len(path.name), path.name))


def read_return(path: Path) -> Returned:
    """Read a return. Raises ``ReturnUnusable``, ``OSError``."""
    data = read_plain(path, most=_LONGEST)
    try:
        said: Any = json.loads(data.decode("utf-8"))
        digest, schema = said.pop("digest"), said.pop("schema")
        found = Returned(**said)
        whole = type(found.revision) is int and type(found.signed) is bool and schema == SCHEMA
        texts = (found.record, found.seal, found.name, found.at, found.reason)
        if not whole or not all(isinstance(text, str) for text in texts):
            raise ValueError
        datetime.fromisoformat(found.at)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise ReturnUnusable("it does not hold what a return holds") from None
    if digest_of({"schema": schema, **asdict(found)}) != digest or data != return_bytes(found):
        raise ReturnUnusable("it was changed after it was written")
    return found


def check_returns(record: Path) -> Iterator[ReturnCheck]:
    """Check every return beside a record, of whichever revision. Raises ``SignatureImpossible``."""
    for path in list_returns(record):
        try:
            found = read_return(path)
        except (OSError, ReturnUnusable) as error:
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
    own = []
    for path in list_returns(record):
        try:
            found = read_return(path)
        except (OSError, ReturnUnusable):
            continue
        if found.seal == seal:
            own.append(found)
    return own[-1] if own else None


def write_return(record: Path, returned: Returned, *, key: Path | None) -> Path:
    """Write a return beside a record, signed where ``key`` is given. Raises ``SignatureImpossible``, ``OSError``."""
    number = 1
    while (path := record.with_name(f"{record.stem}.returned-{number}.json")).exists():
        number += 1
    data = return_bytes(replace(returned, signed=key is not None))
    if key is not None:
        write_atomically(signature_path(path), sign(data, key))
    write_atomically(path, data)
    return path


def return_document(records: Path, path: Path) -> Document | None:
    """Return a return as the register holds it; None where it cannot be read."""
    try:
        found = read_return(path)
        digest = sum_of_signoff(path)
    except (ReturnUnusable, OSError):
        return None
    place = path.relative_to(records).as_posix()
    return Document(kind=RETURN, place=place, seal=found.seal, sha256=digest, said=found.who)
