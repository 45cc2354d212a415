"""Standard notebooks times channels: plan the records of some visits, make them in parallel, gather results."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Executor, as_completed
from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.inputs.case import list_cases
from vibcal_nb.inputs.folder import VisitFolder
from vibcal_nb.running.drift_records import ANALYSIS as DRIFT
from vibcal_nb.running.drift_records import hash_earlier_visits, list_drift_cases
from vibcal_nb.running.execute import Job, Outcome, make_record, result_if_current
from vibcal_nb.running.fingerprint import hash_files, hash_package, list_input_files, make_stamp
from vibcal_nb.running.record_path import RecordCase, named_path, path_name
from vibcal_nb.running.registering import register_outcome
from vibcal_nb.running.results_file import write_results
from vibcal_nb.running.standard_notebooks import STANDARD_NOTEBOOKS


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What is to be done: ``jobs`` by visit, and in sentences what the readings hold that no notebook takes."""

    jobs: tuple[tuple[VisitFolder, tuple[Job, ...]], ...]
    impossible: tuple[str, ...]


def plan_records(
    visits: Iterable[VisitFolder],
    *,
    out: Path,
    notebooks: Path,
    channels: Sequence[str] = (),
    analyses: Sequence[str] = (),
) -> Plan:
    """Plan one record for every channel, test and condition of the visits, or of the named ones. Reads only."""
    package = hash_package()
    planned, impossible = [], []
    for visit in visits:
        sums = hash_files(list_input_files(visit.path))
        jobs = []
        for tag, test, condition in [*list_cases(visit), *list_drift_cases(visit)]:
            if (channels and tag not in channels) or (analyses and test not in analyses):
                continue
            case = RecordCase(
                results_folder=out / path_name(visit.asset.tag) / path_name(visit.path.name),
                asset=visit.asset.tag,
                visit=visit.path.name,
                channel=tag,
                analysis=test,
                condition=condition,
            )
            notebook = STANDARD_NOTEBOOKS.get(test)
            lacking = (
                "no standard notebook takes it yet" if notebook is None else notebook.lacking(visit.asset.channels[tag])
            )
            if notebook is None or lacking is not None:
                impossible.append(f"{case.label}: {lacking}.")
                continue
            template = notebooks / notebook.file
            parameters = {"visit_folder": visit.path.as_posix(), "channel": tag, "condition": condition}
            made_from = {**sums, **hash_earlier_visits(visit)} if test == DRIFT else sums
            stamp = make_stamp(inputs_sha256=made_from, template=template, package_sha256=package)
            jobs.append(Job(case=case, template=template, parameters=parameters, stamp=stamp))
        planned.append((visit, tuple(jobs)))
    return Plan(jobs=tuple(planned), impossible=tuple(impossible))


def make_records(
    plan: Plan, executor: Executor, *, fresh: bool = False, on_outcome: Callable[[Outcome], None] = lambda _: None
) -> tuple[list[Outcome], list[Path]]:
    """Make the planned records with an executor; return the outcomes and the results files written.

    Records that are up to date are skipped unless ``fresh``. Raises ``OSError`` where results cannot be written.
    """
    outcomes: list[Outcome] = []
    files: list[Path] = []

    def done(outcome: Outcome) -> None:
        outcome = register_outcome(outcome)
        outcomes.append(outcome)
        on_outcome(outcome)

    waiting = []
    for _, jobs in plan.jobs:
        for job in jobs:
            current = None if fresh else result_if_current(job)
            if current is None:
                waiting.append(executor.submit(make_record, job))
            else:
                done(current)
    try:
        for future in as_completed(waiting):
            done(future.result())
    finally:
        for future in waiting:
            future.cancel()
        for visit, jobs in plan.jobs:
            own = [o for o in outcomes if o.case in {job.case for job in jobs} and o.result is not None]
            if own:
                folder = own[0].case.results_folder
                files.append(
                    write_results(
                        folder,
                        asset=visit.asset.tag,
                        visit=visit.path.name,
                        outcomes=own,
                        order=list(visit.asset.channels),
                    )
                )
    return outcomes, files


def named_visits(paths: Iterable[Path]) -> list[Path]:
    """Return visit folders by paths that end in their names, each once."""
    return list(dict.fromkeys(named_path(path) for path in paths))
