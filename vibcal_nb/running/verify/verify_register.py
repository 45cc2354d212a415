"""A register verified: its chain, and every row it ever held against the records that are there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from vibcal_nb.records.register.documents import SIGNOFF
from vibcal_nb.records.register.rebuild import lost_since, set_aside_registers
from vibcal_nb.records.register.register import RegisterUnusable, check_chain, read_documents, read_rows
from vibcal_nb.running.verify.states import Finding, Verified, altered
from vibcal_nb.running.verify.verifier import Verifier

_SHOWN = 50


def verify_register(path: Path, verifier: Verifier) -> Verified:
    """Verify a register. Each row's record has to be there, as the one that holds or as a revision of it."""
    try:
        findings = [altered(problem.sentence) for problem in check_chain(path)]
        rows = read_rows(path, ("record", "seal", "seal_kind"))
        findings += _row_findings(path.absolute().parent, rows, verifier)
        findings += _document_findings(path, verifier)
        for aside in set_aside_registers(path.parent):
            findings += [altered(f"{aside.name}: {said}") for said in lost_since(aside, path)]
    except RegisterUnusable as error:
        return Verified(path=path, findings=(altered(str(error)),))
    more = len(findings) - _SHOWN
    if more > 0:
        findings = [*findings[:_SHOWN], altered(f"and {more} more")]
    said = () if findings else (f"{len({row[0] for row in rows})} records as registered, {len(rows)} revisions",)
    return Verified(path=path, findings=tuple(findings), said=said)


def _row_findings(root: Path, rows: list[tuple[str, str, str]], verifier: Verifier) -> Iterator[Finding]:
    latest = {record: (seal, kind) for record, seal, kind in rows}
    for record, (seal, kind) in latest.items():
        place = root / str(record)
        if not _inside(place, root):
            yield altered(f"{record}: registered, and no longer there")
        elif kind == "seal" and verifier.digest(place) != seal:
            yield altered(f"{record}: not the record that was registered")
    for record, seal, kind in rows:
        if kind == "seal" and latest[record][0] != seal and seal not in verifier.revisions(root / str(record)):
            yield altered(f"{record}: a revision with the seal {str(seal)[:16]}… was registered, and is gone")


def _inside(place: Path, root: Path) -> bool:
    try:
        return place.is_file() and place.resolve().is_relative_to(root.resolve())
    except (OSError, ValueError):
        return False


def _document_findings(path: Path, verifier: Verifier) -> Iterator[Finding]:
    """Sign-offs of records that are gone altogether; those of records that are there, their records tell of."""
    known = set()
    for record, *_ in read_rows(path, ("record",)):
        known |= {verifier.digest(path.absolute().parent / str(record))}
        known |= verifier.revisions(path.absolute().parent / str(record))
    for document in read_documents(path):
        if document.kind == SIGNOFF and document.seal not in known:
            yield altered(f"{document.place}: the sign-off ({document.said}) was registered, and its record is gone")
