"""Records that somebody signed off and that a run would supersede: announced before anything is made."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.problems import InputRefused, NothingToAnalyse
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.inputs_used.present import PresentInputs
from vibcal_nb.records.seal.intact import SealCheck, check_seal
from vibcal_nb.records.seal.record_content import inputs_of
from vibcal_nb.records.seal.revision import input_changes, signed_off, software_changes
from vibcal_nb.records.signoff.places import list_signoffs
from vibcal_nb.running.fleet.make_record import Job, read_current
from vibcal_nb.running.fleet.plan import Plan
from vibcal_nb.running.fleet.stamp import stamp_of

_SHOWN = 20


@dataclass(frozen=True, kw_only=True)
class SignedJob:
    """A job whose record was signed off and is no longer what the inputs and the software give."""

    job: Job
    signed_off: tuple[str, ...]
    changed: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """Which record, who signed it, and what has changed since, from what to what."""
        by = " and ".join(self.signed_off) or "somebody, in a form that cannot be read"
        more = len(self.changed) - _SHOWN
        changed = [*self.changed[:_SHOWN], *([f"and {more} more"] if more > 0 else [])]
        return f"{self.job.case.label}: signed off by {by}; since then: {'; '.join(changed)}"


def signed_and_stale(plan: Plan, *, fresh: bool) -> list[SignedJob]:
    """List the jobs of a plan that would supersede a record that was signed off. Raises ``OSError``."""
    signed = [job for _, jobs in plan.jobs for job in jobs if list_signoffs(job.case.record)]
    return [_describe(job, plan.present) for job in signed if fresh or read_current(job) is None]


def _describe(job: Job, present: PresentInputs) -> SignedJob:
    record = job.case.record
    by = tuple(item["by"] for item in signed_off(record))
    check = check_seal(read_plain(record)) if is_plain(record) else None
    if check is None or not check.intact:
        return SignedJob(job=job, signed_off=by, changed=("the record is not as it was made",))
    return SignedJob(job=job, signed_off=by, changed=tuple(_changes(job, check, present)) or ("nothing",))


def _changes(job: Job, check: SealCheck, present: PresentInputs) -> Iterator[str]:
    stated, case, path = inputs_of(check.notebook), job.case, Path(job.parameters["visit_folder"])
    names = {"channel": case.channel, "analysis": case.analysis, "condition": case.condition}
    try:
        now = present.counterpart(stated, path, **names)
    except (InputRefused, NothingToAnalyse) as refused:
        yield str(refused).splitlines()[0]
        return
    yield from input_changes(check.notebook, now)
    yield from software_changes(stamp_of(check.notebook), job.stamp)
