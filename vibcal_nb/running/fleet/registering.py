"""What `run` does with each finished record besides keeping it: it enters it into the register of its folder."""

from __future__ import annotations

from dataclasses import replace

from vibcal_nb.problems import in_words
from vibcal_nb.records.register.register import RegisterUnusable, append_rows, register_path
from vibcal_nb.records.register.register_records import read_row
from vibcal_nb.records.register.register_rows import RegisterRow, make_row
from vibcal_nb.running.fleet.make_record import Outcome


def register_outcome(outcome: Outcome) -> Outcome:
    """Enter the outcome's record, where there is one; return the outcome, with the failure where it cannot be.

    A record that is in the register already, unchanged, is not entered twice.
    """
    if outcome.result is None:
        return outcome
    try:
        append_rows(register_path(outcome.case.results_folder.parent.parent), [_row(outcome)])
    except (RegisterUnusable, OSError, ValueError) as error:
        failure = f"{outcome.case.label}: the record is made, but is not in the register. {in_words(error)}"
        return replace(outcome, failure=failure)
    return outcome


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
