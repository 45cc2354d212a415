"""What is to be done: standard notebooks times channels of some visits, and what of it is held back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import InputRefused
from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.records.files.places import path_name
from vibcal_nb.records.inputs_used.present import PresentInputs
from vibcal_nb.running.fleet.expected import expect
from vibcal_nb.running.fleet.make_record import Job
from vibcal_nb.running.fleet.record_path import RecordCase, named_path
from vibcal_nb.running.fleet.stamp import hash_package, make_stamp


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What is to be done: ``jobs`` by visit, and in sentences what the readings hold that no notebook takes.

    ``present`` are the inputs as they are now.
    """

    jobs: tuple[tuple[VisitFolder, tuple[Job, ...]], ...]
    impossible: tuple[str, ...]
    present: PresentInputs

    def without(self, jobs: Iterable[Job]) -> Plan:
        """Return the plan without some of its jobs."""
        out = {job.case.record for job in jobs}
        kept = tuple((visit, tuple(job for job in own if job.case.record not in out)) for visit, own in self.jobs)
        return replace(self, jobs=kept)


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
    loaded, impossible = tuple(visits), list[str]()
    present = PresentInputs(loaded)
    planned = []
    for visit in loaded:
        wanted = _wanted(visit, channels, analyses)
        jobs = (_plan_job(visit, named, out, notebooks, present, impossible) for named in wanted)
        planned.append((visit, tuple(job for job in jobs if job is not None)))
    return Plan(jobs=tuple(planned), impossible=tuple(impossible), present=present)


def _plan_job(
    visit: VisitFolder,
    named: tuple[str, str, str],
    out: Path,
    notebooks: Path,
    present: PresentInputs,
    impossible: list[str],
) -> Job | None:
    """Plan a record; None where it cannot be made, which is noted."""
    tag, analysis, condition = named
    case = RecordCase(
        results_folder=out / path_name(visit.asset.tag) / path_name(visit.path.name),
        asset=visit.asset.tag,
        visit=visit.path.name,
        channel=tag,
        analysis=analysis,
        condition=condition,
    )
    known = analysis_named(analysis)
    lacking = known.lacking(visit.asset.channel(tag))
    if lacking is not None:
        impossible.append(f"{case.label}: {lacking}.")
        return None
    try:
        expected = expect(present, visit.path, channel=tag, analysis=analysis, condition=condition)
    except InputRefused as refused:
        impossible.append(f"{case.label}: an earlier visit cannot be used. {str(refused).splitlines()[0]}")
        return None
    template = notebooks / known.notebook
    return Job(
        case=case,
        template=template,
        parameters={"visit_folder": visit.path.as_posix(), "channel": tag, "condition": condition},
        stamp=make_stamp(template=template, package_sha256=hash_package()),
        expected=expected,
    )


def _wanted(visit: VisitFolder, channels: Sequence[str], analyses: Sequence[str]) -> Iterator[tuple[str, str, str]]:
    """Yield (channel, analysis, condition) of every record that the visit gives, analysis by analysis."""
    cases = [(tag, name, condition) for name in ANALYSES for tag, condition in analysis_named(name).cases(visit)]
    for tag, analysis, condition in cases:
        if (not channels or tag in channels) and (not analyses or analysis in analyses):
            yield tag, analysis, condition


def latest_visits(visits: Iterable[VisitFolder]) -> list[VisitFolder]:
    """Return of each asset its latest visit by the day that it states, whatever its folder is named."""
    in_time = sorted(visits, key=lambda visit: visit.visit.date)
    return list({visit.path.absolute().parent: visit for visit in in_time}.values())


def named_visits(paths: Iterable[Path]) -> list[Path]:
    """Return visit folders by paths that end in their names, each once."""
    return list(dict.fromkeys(named_path(path) for path in paths))
