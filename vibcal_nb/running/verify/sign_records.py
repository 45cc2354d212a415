"""Records signed off: what is signed is read once more, and the sign-off is entered into the register."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from vibcal_nb.records.files.folder_lock import locked
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.register.record_place import belongs_at, place_of
from vibcal_nb.records.register.register import append_rows, register_path
from vibcal_nb.records.register.register_records import read_signoff_document
from vibcal_nb.records.review.queue import performed_by
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.record_content import now, result_of
from vibcal_nb.records.signoff.statement import Signoff
from vibcal_nb.records.signoff.write_signoff import write_signoff


@dataclass(frozen=True, kw_only=True)
class RecordToSign:
    """A record that was found in order: its file, its place in the records folder, seal, revision and verdict."""

    path: Path
    root: Path
    place: str
    seal: str
    revision: int
    verdict: str
    performed_by: str = ""
    seal_said: Mapping[str, Any] = field(default_factory=dict)


def read_to_sign(path: Path) -> RecordToSign | None:
    """Read a record that is to be signed; None where it is none any more. Raises ``OSError``."""
    check = check_seal(read_plain(path))
    if not check.intact or check.seal is None:
        return None
    return RecordToSign(
        path=path.absolute(),
        root=place_of(path).root,
        place=belongs_at(check.seal["record"]),
        seal=str(check.seal["digest"]),
        revision=int(check.seal["revision"]),
        verdict=str(result_of(check.notebook).get("verdict")),
        performed_by=performed_by(check.notebook),
        seal_said=check.seal,
    )


def sign_record(item: RecordToSign, *, name: str, role: str, remark: str, key: Path | None) -> Path:
    """Sign off a record and return the sign-off's path. Raises ``SignatureImpossible``, ``RegisterUnusable``."""
    signoff = Signoff(
        record=item.place,
        seal=item.seal,
        name=name,
        role=role,
        at=now(),
        remark=remark,
        revision=item.revision,
        verdict=item.verdict,
    )
    with locked(item.path.parent):
        path = write_signoff(item.path, signoff, key=key)
    document = read_signoff_document(item.root, path)
    append_rows(register_path(item.root), [], [] if document is None else [document])
    return path
