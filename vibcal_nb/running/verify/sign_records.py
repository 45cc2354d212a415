"""Records that were found in order, read once more to be signed off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.register.record_place import belongs_at, place_of
from vibcal_nb.records.review.looked_at import LookedAt, performed_by
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.record_content import identity_line, result_of


@dataclass(frozen=True, kw_only=True)
class RecordToSign(LookedAt):
    """A record that was found in order, and all that its seal says."""

    seal_said: Mapping[str, Any]


def read_to_sign(path: Path) -> RecordToSign | None:
    """Read a record that is to be signed; None where it is none any more. Raises ``OSError``."""
    check = check_seal(read_plain(path))
    if not check.intact or check.seal is None:
        return None
    return RecordToSign(
        path=path.absolute(),
        root=place_of(path).root,
        place=belongs_at(check.seal["record"]),
        name=identity_line(check.seal),
        seal=str(check.seal["digest"]),
        revision=int(check.seal["revision"]),
        verdict=str(result_of(check.notebook).get("verdict")),
        performed_by=performed_by(check.notebook),
        seal_said=check.seal,
    )
