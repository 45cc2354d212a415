"""What of a records folder is no record and is entered all the same: sign-offs and reports, by the sums of their files.

Who takes a sign-off away, or puts another report in its place, would else leave no trace.
"""

from __future__ import annotations

import hashlib
from dataclasses import astuple, dataclass, fields
from pathlib import Path
from typing import Any, Final

from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.signoff.places import signature_path

SIGNOFF: Final = "sign-off"
REPORT: Final = "report"
RETURN: Final = "return"
WITNESS: Final = "witness"


@dataclass(frozen=True, kw_only=True)
class Document:
    """A document as the register holds it.

    ``kind``: ``sign-off``, ``return``, ``report`` or ``witness``. ``place`` is its path from the register's folder,
    with forward slashes, when it was entered; of a witness, which lies elsewhere, its name. ``seal``: the seal of the
    record that it is of; of a report, the seals of all, one space between; of a witness, the hash of its first entry.
    ``sha256`` is over its file, of a sign-off over its signature too; of a witness, the hash of its last entry.
    ``said``: who signed off what, in words; of a witness, how many entries it had.
    """

    kind: str
    place: str
    seal: str
    sha256: str
    said: str


DOCUMENT_COLUMNS = tuple(field.name for field in fields(Document))


def document_values(document: Document) -> tuple[Any, ...]:
    """Return the document's values in the order of ``DOCUMENT_COLUMNS``."""
    return astuple(document)


def sum_of_signoff(path: Path) -> str:
    """Return the SHA-256 sum of a sign-off and, where it has one, of its signature. Raises ``OSError``."""
    signature = signature_path(path)
    files = [path, signature] if is_plain(signature) else [path]
    return hashlib.sha256(b"\0".join(map(read_plain, files))).hexdigest()
