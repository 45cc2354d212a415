"""What `run` does with each finished record besides keeping it: it enters it into the register of its folder."""

from __future__ import annotations

from vibcal_nb.records.register import RegisterUnusable
from vibcal_nb.records.register_records import register_record
from vibcal_nb.running.execute import Outcome


def register_outcome(outcome: Outcome) -> Outcome:
    """Enter the outcome's record, where there is one; return the outcome, with the failure where it cannot be.

    A record that is in the register already, unchanged, is not entered twice.
    """
    if outcome.result is None:
        return outcome
    case = outcome.case
    try:
        register_record(case.results_folder.parent.parent, case.record)
    except (RegisterUnusable, OSError, ValueError) as error:
        return Outcome(
            case=case,
            result=outcome.result,
            skipped=outcome.skipped,
            failure=f"{case.label}: the record is made, but is not in the register. {error}",
        )
    return outcome
