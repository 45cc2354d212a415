"""Standard notebooks times channels: plan the records of some visits, make them in parallel, gather results."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future, as_completed
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import file_trouble
from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.records.files.folder_lock import locked
from vibcal_nb.running.fleet.earlier_visits import hash_earlier_visits
from vibcal_nb.running.fleet.fingerprint import hash_files, hash_package, list_input_files, make_stamp
from vibcal_nb.running.fleet.make_record import Job, Outcome, make_record
from vibcal_nb.running.fleet.record_path import RecordCase, named_path, path_name
from vibcal_nb.running.fleet.registering import register_outcome
from vibcal_nb.running.fleet.results_file import write_results


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
            known = analysis_named(analysis)
            lacking = known.lacking(visit.asset.channels[tag])
            if lacking is not None:
                impossible.append(f"{case.label}: {lacking}.")
                continue
            template = notebooks / known.notebook
            parameters = {"visit_folder": visit.path.as_posix(), "channel": tag, "condition": condition}
            inputs = {**sums, **hash_earlier_visits(visit)} if known.reads_history else sums
            stamp = make_stamp(inputs_sha256=inputs, template=template, package_sha256=package)
            jobs.append(Job(case=case, template=template, parameters=parameters, stamp=stamp))
        planned.append((visit, tuple(jobs)))
    return Plan(jobs=tuple(planned), impossible=tuple(impossible))


def _wanted(visit: VisitFolder, channels: Sequence[str], analyses: Sequence[str]) -> Iterator[tuple[str, str, str]]:
    """Yield (channel, analysis, condition) of every record that the visit gives, analysis by analysis."""
    cases = [(tag, name, condition) for name in ANALYSES for tag, condition in analysis_named(name).cases(visit)]
    for tag, analysis, condition in cases:
        if (not channels or tag in channels) and (not analyses or analysis in analyses):
            yield tag, analysis, condition


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
    fresh: bool = False,
    make: Callable[..., Outcome] = make_record,
    on_outcome: Callable[[Outcome], None] = lambda _: None,
) -> Made:
    """Make the planned records with an executor, each by ``make``, and the results of each visit once it is done.

    Records that are up to date are skipped unless ``fresh``. Where the disk is full, nothing more is begun. An
    interruption ends the run after the results of what is done are written.
    """
    made = Made()
    visits = [_VisitResults(visit=visit, unfinished=len(jobs)) for visit, jobs in plan.jobs]
    waiting = {
        executor.submit(make, job, fresh=fresh): (job, results)
        for (_, jobs), results in zip(plan.jobs, visits, strict=True)
        for job in jobs
    }
    try:
        for future in as_completed(list(waiting)):
            job, results = waiting.pop(future)
            outcome = register_outcome(_outcome(future, job))
            results.add(outcome, made)
            made.outcomes.append(replace(outcome, result=_verdict_only(outcome.result)))
            on_outcome(outcome)
            if outcome.disk_full:
                made.problems.append(f"The disk is full: {len(waiting)} more records were not waited for.")
                break
    finally:
        for future in waiting:
            future.cancel()
        for results in visits:
            results.write(made)
    return made


def _outcome(future: Future[Outcome], job: Job) -> Outcome:
    try:
        return future.result()
    except Exception as error:  # whatever an executor's workers die of
        text = (str(error) or type(error).__name__).splitlines()[0]
        return Outcome(case=job.case, failure=f"{job.case.label}: a worker could not make it ({text})")


def _verdict_only(result: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """Thousands of whole results would fill the memory; they are in the results files."""
    return None if result is None else {"verdict": result["verdict"]}


@dataclass(kw_only=True)
class _VisitResults:
    """The outcomes of a visit until they are all there and written."""

    visit: VisitFolder
    unfinished: int
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
                    order=list(asset.channels),
                )
            made.files.append(file)
        except OSError as error:
            where = folder.as_posix()
            made.problems.append(f"{where}: the results could not be written ({file_trouble(error)}); run again.")
        self.outcomes = []


def named_visits(paths: Iterable[Path]) -> list[Path]:
    """Return visit folders by paths that end in their names, each once."""
    return list(dict.fromkeys(named_path(path) for path in paths))
