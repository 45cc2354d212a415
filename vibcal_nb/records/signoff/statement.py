"""What a sign-off states: which record by its seal and its place, its verdict, who, in which role, when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from vibcal_nb.records.signoff.kept_statement import read_statement, statement_bytes

SCHEMA = 2
_SCHEMA_1 = {"schema", "record", "seal", "name", "role", "date", "remark", "digest"}


@dataclass(frozen=True, kw_only=True)
class Signoff:
    """A sign-off. ``record`` is the record's path from the records folder, with forward slashes.

    ``at`` is the time in UTC as ISO 8601; ``signed`` says that a signature belongs to it. Of a sign-off of schema 1
    ``record`` is the file's name alone, ``at`` a date, and ``verdict``, ``revision`` and ``signed`` are None.
    """

    record: str
    seal: str
    name: str
    role: str
    at: str
    remark: str
    revision: int | None = None
    verdict: str | None = None
    signed: bool | None = None

    @property
    def day(self) -> str:
        """The date on which it was given."""
        return self.at[:10]

    @property
    def who(self) -> str:
        """Who signed off what verdict, in which role, when, and the remark."""
        verdict = f", verdict {self.verdict}" if self.verdict else ""
        return f"{self.name}, {self.role}, {self.day}{verdict}{f' ({self.remark})' if self.remark else ''}"


def signoff_bytes(signoff: Signoff) -> bytes:
    """Return a sign-off as its file holds it."""
    return statement_bytes({"schema": SCHEMA, **asdict(signoff)})


def read_signoff(path: Path) -> Signoff:
    """Read a sign-off of any schema. Raises ``StatementUnusable``, ``OSError``."""
    return read_statement(path, _taken, "sign-off")


def _taken(said: Mapping[str, Any]) -> Signoff | None:
    if set(said) == _SCHEMA_1 and said["schema"] == 1 and _texts(said, _SCHEMA_1 - {"schema"}):
        own = {name: said[name] for name in ("record", "seal", "name", "role", "remark")}
        return Signoff(**own, at=said["date"]) if _is_day(said["date"]) else None
    own = {name: value for name, value in said.items() if name not in ("schema", "digest")}
    texts = {"record", "seal", "name", "role", "at", "remark", "verdict"}
    if set(own) != texts | {"revision", "signed"} or said.get("schema") != SCHEMA or not _texts(own, texts):
        return None
    whole = type(own["revision"]) is int and type(own["signed"]) is bool
    return Signoff(**own) if whole and _is_time(own["at"]) else None


def _texts(said: Mapping[str, Any], names: set[str]) -> bool:
    return all(isinstance(said[name], str) for name in names)


def _is_day(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def _is_time(text: str) -> bool:
    try:
        return datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False
