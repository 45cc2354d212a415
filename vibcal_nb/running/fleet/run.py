"""Planned records made in parallel, each entered into the register, the results of each visit gathered."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import Executor, Future, as_completed
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import file_trouble
from vibcal_nb.records.files.folder_lock import locked
from vibcal_nb.running.fleet.make_record import Job, Making, Outcome, make_record
from vibcal_nb.running.fleet.plan import Plan
from vibcal_nb.running.fleet.registering import register_outcome
from vibcal_nb.running.fleet.results_file import write_results


@dataclass(frozen=True, kw_only=True)
class Made:
    """What became of a plan: the outcomes, the results files written, and in sentences what stopped the run."""

    outcomes: list[Outcome] = field(default_factory=list)
    files: list[Path] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)


def make_records(
    plan: Plan,
    executor: Executor,
    *,
    making: Making = Making(),  # noqa: B008  # frozen
    make: Callable[[Job, Making], Outcome] = make_record,
    on_outcome: Callable[[Outcome], None] = lambda _: None,
    on_visit: Callable[[VisitFolder, list[Outcome]], None] = lambda *_: None,
) -> Made:
    """Make the planned records with an executor, each by ``make``, and the results of each visit once it is done.

    What another run makes at the same time is left to it, and looked at again in the end. Where the disk is full,
    nothing more is begun. An interruption ends the run after the results of what is done are written.
    """
    made = Made()
    visits = [_VisitResults(visit=visit, unfinished=len(jobs), on_visit=on_visit) for visit, jobs in plan.jobs]
    waiting = {
        executor.submit(make, job, replace(making, wait=False)): (job, results)
        for (_, jobs), results in zip(plan.jobs, visits, strict=True)
        for job in jobs
    }
    try:
        busy = _gather(waiting, made, on_outcome)
        waiting |= {executor.submit(make, job, making): (job, results) for job, results in busy}
        _gather(waiting, made, on_outcome)
    finally:
        for future in waiting:
            future.cancel()
        for results in visits:
            results.write(made)
    return made


def _gather(
    waiting: dict[Future[Outcome], tuple[Job, _VisitResults]], made: Made, on_outcome: Callable[[Outcome], None]
) -> list[tuple[Job, _VisitResults]]:
    """Take what is done, as it is done, out of what is waited for; return what another run makes just now."""
    busy = []
    for future in as_completed(list(waiting)):
        job, results = waiting.pop(future)
        outcome = _outcome(future, job)
        if outcome.busy:
            busy.append((job, results))
            continue
        outcome = register_outcome(outcome)
        results.add(outcome, made)
        made.outcomes.append(replace(outcome, result=_in_short(outcome.result)))
        on_outcome(outcome)
        if outcome.disk_full:
            made.problems.append(f"The disk is full: {len(waiting)} more records were not waited for.")
            return []
    return busy


def _outcome(future: Future[Outcome], job: Job) -> Outcome:
    try:
        return future.result()
    except Exception as error:  # whatever an executor's workers die of
        text = (str(error) or type(error).__name__).splitlines()[0]
        return Outcome(case=job.case, failure=f"{job.case.label}: a worker could not make it ({text})")


_SHORT = ("date", "gates", "sentence", "next_step")


def _in_short(result: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """Thousands of whole results would fill the memory; they are in the results files."""
    if result is None:
        return None
    summary = result.get("summary") or {}
    return {"verdict": result["verdict"], "summary": {name: summary.get(name) for name in _SHORT}}


@dataclass(kw_only=True)
class _VisitResults:
    """The outcomes of a visit until they are all there and written."""

    visit: VisitFolder
    unfinished: int
    on_visit: Callable[[VisitFolder, list[Outcome]], None]
    outcomes: list[Outcome] = field(default_factory=list)

    def add(self, outcome: Outcome, made: Made) -> None:
        self.unfinished -= 1
        if outcome.result is not None:
            self.outcomes.append(outcome)
        if not self.unfinished:
            self.write(made)

    def write(self, made: Made) -> None:
        if not self.outcomes:
            return
        folder = self.outcomes[0].case.results_folder
        asset = self.visit.asset
        try:
            with locked(folder):
                file = write_results(
                    folder,
                    asset=asset.tag,
                    visit=self.visit.path.name,
                    outcomes=self.outcomes,
                    order=[*asset.channels, *asset.groups],
                )
            made.files.append(file)
            self.on_visit(self.visit, self.outcomes)
        except OSError as error:
            where = folder.as_posix()
            made.problems.append(f"{where}: the results could not be written ({file_trouble(error)}); run again.")
        self.outcomes = []
