"""Standard notebooks times channels: plan the records of some visits, make them in parallel, gather results."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, as_completed
from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.inputs.case import list_cases
from vibcal_nb.inputs.channel_case import ANALYSIS, list_channel_cases
from vibcal_nb.inputs.folder import VisitFolder
from vibcal_nb.running.drift_records import WITH_HISTORY, hash_earlier_visits, list_drift_cases
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
    """Plan the records of the visits, or of the named channels and analyses. Reads only.

    One for every channel, test and condition, one for a channel's drift, and one for every channel and condition as
    a whole.
    """
    package = hash_package()
    planned, impossible = [], []
    for visit in visits:
        sums = hash_files(list_input_files(visit.path))
        jobs = []
        for tag, analysis, condition in _wanted(visit, channels, analyses):
            case = RecordCase(
                results_folder=out / path_name(visit.asset.tag) / path_name(visit.path.name),
                asset=visit.asset.tag,
                visit=visit.path.name,
                channel=tag,
                analysis=analysis,
                condition=condition,
            )
            notebook = STANDARD_NOTEBOOKS[analysis]
            lacking = notebook.lacking(visit.asset.channels[tag])
            if lacking is not None:
                impossible.append(f"{case.label}: {lacking}.")
                continue
            template = notebooks / notebook.file
            parameters = {"visit_folder": visit.path.as_posix(), "channel": tag, "condition": condition}
            inputs = {**sums, **hash_earlier_visits(visit)} if analysis in WITH_HISTORY else sums
            stamp = make_stamp(inputs_sha256=inputs, template=template, package_sha256=package)
            jobs.append(Job(case=case, template=template, parameters=parameters, stamp=stamp))
        planned.append((visit, tuple(jobs)))
    return Plan(jobs=tuple(planned), impossible=tuple(impossible))


def _wanted(visit: VisitFolder, channels: Sequence[str], analyses: Sequence[str]) -> Iterator[tuple[str, str, str]]:
    """Yield (channel, analysis, condition): each test that has its own notebook, drift, the verdict on the channel."""
    cases = [case for case in list_cases(visit) if case[1] in STANDARD_NOTEBOOKS]
    cases += list_drift_cases(visit)
    cases += [(tag, ANALYSIS, condition) for tag, condition in list_channel_cases(visit)]
    for tag, analysis, condition in cases:
        if (not channels or tag in channels) and (not analyses or analysis in analyses):
            yield tag, analysis, condition


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
