"""The sheets of a visit's channels: which are due, and making them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from vibcal_nb.problems import Refused, in_words
from vibcal_nb.records.analyses import judges_readings
from vibcal_nb.records.files.places import RESULTS_FILE, sheet_path
from vibcal_nb.records.files.plain_files import is_plain, read_plain

_WORTH_A_POOL = 12  # sheets that take about as long as another process takes to start


@dataclass(frozen=True, kw_only=True)
class SheetJob:
    """The sheet of one channel that is to be made; ``path`` is where it goes."""

    entries: tuple[Mapping[str, Any], ...]
    results_folder: Path
    path: Path


def list_due_sheets(results_folder: Path, made: Collection[str] | None = None) -> list[SheetJob]:
    """List the sheets that are not there yet for the results as they are now.

    ``made`` are the SHA-256 sums of the sheets that were made, as the register holds them; without it, a sheet that
    names the records counts as made of them. Raises ``OSError``, ``ValueError``.
    """
    entries = json.loads(read_plain(results_folder / RESULTS_FILE))["results"]
    by_channel: dict[str, list[dict[str, Any]]] = {}
    for entry in entries:
        if entry.get("seal"):
            by_channel.setdefault(entry["channel"], []).append(entry)
    jobs = []
    for own in by_channel.values():
        if not any(judges_readings(entry["analysis"]) for entry in own):
            continue  # a sheet is of tests; what is made from them stands beside them
        record = results_folder / own[0]["record"]
        job = SheetJob(entries=tuple(own), results_folder=results_folder, path=sheet_path(record))
        if not _is_made(job, made):
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
    from vibcal_nb.records.report.channel_report import write_channel_sheet

    try:
        write_channel_sheet(job.entries, results_folder=job.results_folder)
    except (Refused, OSError) as error:
        return f"{job.path.name}: {in_words(error)}"
    return None


def _is_made(job: SheetJob, made: Collection[str] | None) -> bool:
    from vibcal_nb.records.report.channel_report import has_own_sum, seals_in

    if not is_plain(job.path):
        return False
    pdf = read_plain(job.path)
    if made is not None and hashlib.sha256(pdf).hexdigest() not in made:
        return False
    return has_own_sum(pdf) and set(seals_in(pdf)) == {entry["seal"] for entry in job.entries}
