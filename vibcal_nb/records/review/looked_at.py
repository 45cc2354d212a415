"""A record as somebody looked at it, to decide on it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.records.seal.record_content import inputs_of


@dataclass(frozen=True, kw_only=True)
class LookedAt:
    """A record that was looked at.

    ``path`` is its file, ``root`` the records folder, ``place`` where it belongs from there; ``name`` is what it is
    called in a line. ``performed_by`` is who performed the visit, empty where it states nobody.
    """

    path: Path
    root: Path
    place: str
    name: str
    seal: str
    revision: int
    verdict: str
    performed_by: str = ""


def performed_by(notebook: Any) -> str:
    """Return who performed the visit that a record is of, as it states it; empty where it states nobody."""
    visits = inputs_of(notebook).get("visits") or [{}]
    return str((visits[0].get("visit") or {}).get("performed_by") or "")
