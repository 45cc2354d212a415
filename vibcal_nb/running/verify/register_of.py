"""The register of a records folder as a witness: which seals it ever held, which is the latest, which sign-offs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from vibcal_nb.records.register.documents import REPORT, RETURN, SIGNOFF, Document, sum_of_signoff
from vibcal_nb.records.register.register import RegisterUnusable, read_documents, read_rows, register_path


@dataclass(frozen=True, kw_only=True)
class RegisterOf:
    """A register, read once: every seal, the latest seal by the record's place, the documents."""

    seals: frozenset[str]
    latest: Mapping[str, str]
    documents: tuple[Document, ...]
    signoffs: frozenset[str] = field(init=False)
    reports: frozenset[str] = field(init=False)

    def __post_init__(self) -> None:
        """Sort the sums of the documents by kind."""
        for name, kind in (("signoffs", SIGNOFF), ("reports", REPORT)):
            sums = frozenset(item.sha256 for item in self.documents if item.kind == kind)
            object.__setattr__(self, name, sums)

    def signoffs_of(self, seal: str) -> list[Document]:
        """Return the sign-offs that were given to a record."""
        return [item for item in self.documents if item.kind == SIGNOFF and item.seal == seal]

    def returns_of(self, seal: str) -> list[Document]:
        """Return the returns that were given to a record."""
        return [item for item in self.documents if item.kind == RETURN and item.seal == seal]

    @staticmethod
    def sum_of(signoff: Path) -> str | None:
        """Return the sum by which a sign-off is entered; None where it cannot be read."""
        try:
            return sum_of_signoff(signoff)
        except OSError:
            return None


def read_register(root: Path) -> RegisterOf | None:
    """Read the register of a records folder; None where there is none, or none that can be read."""
    path = register_path(root)
    try:
        rows = read_rows(path, ("record", "seal"))
        documents = read_documents(path)
    except RegisterUnusable:
        return None
    latest = {str(record): str(seal) for record, seal in rows if "/superseded/" not in str(record)}
    return RegisterOf(seals=frozenset(str(seal) for _, seal in rows), latest=latest, documents=tuple(documents))
