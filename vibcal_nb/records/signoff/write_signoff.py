"""A sign-off written beside its record, signed where a key is given."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.signoff.places import next_path, signature_path
from vibcal_nb.records.signoff.ssh import sign
from vibcal_nb.records.signoff.statement import Signoff, signoff_bytes


def write_signoff(record: Path, signoff: Signoff, *, key: Path | None = None) -> Path:
    """Write a sign-off beside a record and return its path, signed where ``key`` (or its public half) is given.

    The caller has checked that the record is in order and has the seal that the sign-off names. Raises
    ``SignatureImpossible``, ``OSError``.
    """
    data = signoff_bytes(replace(signoff, signed=key is not None))
    path = next_path(record)
    if key is not None:
        write_atomically(signature_path(path), sign(data, key))
    write_atomically(path, data)
    return path
