"""What `run` does with each finished record besides keeping it: it enters it into the register of its folder."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from vibcal_nb.problems import in_words
from vibcal_nb.records.files.plain_files import is_plain
from vibcal_nb.records.register.documents import REPORT, SIGNOFF
from vibcal_nb.records.register.register import RegisterUnusable, append_rows, read_documents, register_path
from vibcal_nb.records.register.register_records import read_report_document, read_row, statement_document
from vibcal_nb.records.register.register_rows import RegisterRow, make_row
from vibcal_nb.records.signoff.places import list_signoffs
from vibcal_nb.running.fleet.make_record import Outcome


def register_outcome(outcome: Outcome) -> Outcome:
    """Enter the outcome's record, where there is one, with its sign-offs and the revision that it replaced.

    Returns the outcome, with the failure where it cannot be entered. A record that is in the register already,
    unchanged, is not entered twice.
    """
    if outcome.result is None:
        return outcome
    records = outcome.case.results_folder.parent.parent
    try:
        before, broken = _replaced(records, outcome)
        signoffs = [statement_document(records, path, SIGNOFF) for path in list_signoffs(outcome.case.record)]
        documents = [document for document in signoffs if document is not None]
        new = append_rows(register_path(records), [_row(outcome)], documents, earlier=before)
    except (RegisterUnusable, OSError, ValueError) as error:
        failure = f"{outcome.case.label}: the record is made, but is not in the register. {in_words(error)}"
        return replace(outcome, failure=failure)
    return replace(outcome, failure=f"{outcome.case.label}: {broken}") if new and broken else outcome


def _replaced(records: Path, outcome: Outcome) -> tuple[list[RegisterRow], str | None]:
    """The row of the revision that was replaced; or what is said where its file is broken, which hinders no other."""
    if outcome.replaced is None:
        return [], None
    try:
        return [read_row(records, outcome.replaced)], None
    except (OSError, ValueError) as error:
        place = outcome.replaced.relative_to(records).as_posix()
        said = f"what stood in its place was no record any more ({in_words(error)}); it is kept as {place}"
        return [], f"the record is made. {said[0].upper()}{said[1:]}, and verify goes on reporting it."


def register_reports(records: Path, paths: Iterable[Path]) -> list[str]:
    """Enter reports; return in sentences what could not be."""
    documents = [read_report_document(records, path) for path in paths if is_plain(path)]
    try:
        append_rows(register_path(records), [], documents)
    except (RegisterUnusable, OSError) as error:
        return [f"The reports are made, but are not in the register. {in_words(error)}"]
    return []


def registered_reports(records: Path) -> set[str]:
    """Return the SHA-256 sums of the reports that the register holds; none where it cannot be read."""
    try:
        return {item.sha256 for item in read_documents(register_path(records)) if item.kind == REPORT}
    except RegisterUnusable:
        return set()


def _row(outcome: Outcome) -> RegisterRow:
    case = outcome.case
    records = case.results_folder.parent.parent
    if outcome.result is None or outcome.seal is None:
        return read_row(records, case.record)
    return make_row(
        outcome.result,
        asset=case.asset,
        visit=case.visit,
        record=case.record.relative_to(records).as_posix(),
        seal=outcome.seal,
        seal_kind="seal",
    )
