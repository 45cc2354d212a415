"""The sheets of a visit's channels: which are due, and making them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import NothingToAnalyse, in_words
from vibcal_nb.records.analyses import judges_readings
from vibcal_nb.records.files.places import sheet_path

_WORTH_A_POOL = 12  # sheets that take about as long as another process takes to start


@dataclass(frozen=True, kw_only=True)
class SheetJob:
    """The sheet of one channel that is to be made; ``path`` is where it goes."""

    folder: VisitFolder
    entries: tuple[Mapping[str, Any], ...]
    results_folder: Path
    path: Path


def list_due_sheets(folder: VisitFolder, results_folder: Path) -> list[SheetJob]:
    """List the sheets that are not there yet for the results as they are now. Raises ``OSError``, ``ValueError``."""
    entries = json.loads((results_folder / "results.json").read_text(encoding="utf-8"))["results"]
    by_channel: dict[str, list[dict[str, Any]]] = {}
    for entry in entries:
        if entry.get("seal"):
            by_channel.setdefault(entry["channel"], []).append(entry)
    jobs = []
    for own in by_channel.values():
        if not any(judges_readings(entry["analysis"]) for entry in own):
            continue  # a sheet is of tests; what is made from them stands beside them
        record = results_folder / own[0]["record"]
        job = SheetJob(folder=folder, entries=tuple(own), results_folder=results_folder, path=sheet_path(record))
        if not _is_made(job):
            jobs.append(job)
    return jobs


def make_sheets(jobs: Iterable[SheetJob], *, workers: int = 1) -> list[str]:
    """Make sheets, with many in several processes; return in sentences what could not be made."""
    due = list(jobs)
    if workers < 2 or len(due) < _WORTH_A_POOL:
        said = [make_sheet(job) for job in due]
    else:
        with ProcessPoolExecutor(min(workers, len(due)), mp_context=get_context("spawn")) as pool:
            said = list(pool.map(make_sheet, due, chunksize=4))
    return [sentence for sentence in said if sentence is not None]


def make_sheet(job: SheetJob) -> str | None:
    """Make one sheet; return None or the sentence of why it could not be made."""
    from vibcal_nb.records.report.channel_report import SheetRefused, write_channel_sheet

    try:
        write_channel_sheet(job.folder, job.entries, results_folder=job.results_folder)
    except (SheetRefused, NothingToAnalyse, OSError) as error:
        return f"{job.path.name}: {in_words(error)}"
    return None


def _is_made(job: SheetJob) -> bool:
    from vibcal_nb.records.report.channel_report import has_own_sum, seals_in

    if not job.path.is_file():
        return False
    pdf = job.path.read_bytes()
    return has_own_sum(pdf) and set(seals_in(pdf)) == {entry["seal"] for entry in job.entries}
