"""A sign-off written beside its record, signed where a key is given."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from vibcal_nb.records.signoff.kept_statement import write_statement
from vibcal_nb.records.signoff.places import SIGNOFFS, next_path
from vibcal_nb.records.signoff.statement import Signoff, signoff_bytes


def write_signoff(record: Path, signoff: Signoff, *, key: Path | None = None) -> Path:
    """Write a sign-off beside a record and return its path, signed where ``key`` (or its public half) is given.

    The caller has checked that the record is in order and has the seal that the sign-off names. Raises
    ``SignatureImpossible``, ``OSError``.
    """
    path = next_path(record, SIGNOFFS)
    write_statement(path, signoff_bytes(replace(signoff, signed=key is not None)), key=key)
    return path
