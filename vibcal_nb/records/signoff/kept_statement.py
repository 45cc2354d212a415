"""A person's statement on one record as a small JSON file beside it: written with a sum over all it says, signed, read.

Sign-offs and returns are such statements; each says for itself what it holds.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, Protocol, TypeVar

from vibcal_nb.problems import Refused
from vibcal_nb.records.files.canonical import kept_bytes
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.seal.seal import digest_of
from vibcal_nb.records.signoff.places import signature_path
from vibcal_nb.records.signoff.ssh import sign

_LONGEST = 1 << 20


class StatementUnusable(Refused):
    """A file that is no such statement, or one that was changed; the text is one clause."""


class OfSeal(Protocol):
    """A statement that names the record that it is of by its seal."""

    @property
    def seal(self) -> str:
        """The record's seal."""


S = TypeVar("S", bound=OfSeal)


def statement_bytes(said: Mapping[str, Any]) -> bytes:
    """Return a statement as its file holds it: JSON in the kept form, with the sum over all it says."""
    return kept_bytes({**said, "digest": digest_of(said)})


def write_statement(path: Path, data: bytes, *, key: Path | None) -> None:
    """Write a statement, its signature first where ``key`` is given. Raises ``SignatureImpossible``, ``OSError``."""
    if key is not None:
        write_atomically(signature_path(path), sign(data, key))
    write_atomically(path, data)


def read_statement(path: Path, take: Callable[[Mapping[str, Any]], S | None], what: str) -> S:
    """Read a statement; ``take`` makes it of what the file says, None where that is not what such a one holds.

    ``what`` it should be is named where it is not. Raises ``StatementUnusable``, ``OSError``.
    """
    data = read_plain(path, most=_LONGEST)
    try:
        said = json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        raise StatementUnusable("it is no JSON") from None
    found = take(said) if isinstance(said, dict) and isinstance(said.get("digest"), str) else None
    if found is None:
        raise StatementUnusable(f"it does not hold what a {what} holds")
    if digest_of(said) != said["digest"] or data != kept_bytes(said):
        raise StatementUnusable("it was changed after it was written")
    return found


def of_seal(paths: Iterable[Path], read: Callable[[Path], S], seal: str) -> Iterator[S]:
    """Yield the statements that are of the record as it is now; what cannot be read is left out."""
    for path in paths:
        try:
            found = read(path)
        except (StatementUnusable, OSError):
            continue
        if found.seal == seal:
            yield found
