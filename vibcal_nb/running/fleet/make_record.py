"""One record: a standard notebook executed by papermill, written whole or not at all."""

from __future__ import annotations

import errno
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.notebook.frame.refusals import STOPPED
from vibcal_nb.problems import InputRefused, file_trouble
from vibcal_nb.records.files.folder_lock import NoLocks, claimed, locked
from vibcal_nb.records.files.lean_imports import import_papermill
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.files.whole_files import partial_path, remove
from vibcal_nb.records.seal.failed import keep_failed
from vibcal_nb.records.seal.intact import SealCheck, check_seal
from vibcal_nb.records.seal.keep import Kept, RecordIsSigned, keep_record
from vibcal_nb.records.seal.mend import mend
from vibcal_nb.records.seal.record_content import inputs_of
from vibcal_nb.running.fleet.expected import Expected, like_stamp
from vibcal_nb.running.fleet.read_result import ResultUnusable, read_result
from vibcal_nb.running.fleet.record_path import RecordCase
from vibcal_nb.running.fleet.stamp import LIKE, is_stamped
from vibcal_nb.running.kernels.execute_notebook import execute_template

CELL_SECONDS = 120
WIDGET = "application/vnd.jupyter.widget-view+json"
DISK_FULL = (errno.ENOSPC, errno.EDQUOT)
_stopping = threading.Event()


@dataclass(frozen=True, kw_only=True)
class Job:
    """A record to be made: the case, the notebook, its parameters, what it is made with, and what its inputs hold."""

    case: RecordCase
    template: Path
    parameters: dict[str, Any]
    stamp: dict[str, Any]
    expected: Expected


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of a job: ``result`` with the record's ``seal`` or, in one sentence, ``failure``.

    ``busy``: another run makes it just now. ``replaced`` is where the revision that it replaced was set aside.
    """

    case: RecordCase
    result: dict[str, Any] | None = None
    failure: str | None = None
    skipped: bool = False
    seal: str | None = None
    disk_full: bool = False
    busy: bool = False
    replaced: Path | None = None


@dataclass(frozen=True, kw_only=True)
class Making:
    """How records are made: also those that are up to date (``fresh``), also over signed ones, waiting for others."""

    fresh: bool = False
    supersede_signed: bool = False
    wait: bool = True
    cell_seconds: int = CELL_SECONDS


def read_current(job: Job) -> SealCheck | None:
    """Return the record that is there already, was made of the same and with the same; None otherwise.

    Raises ``OSError``.
    """
    if not is_plain(job.case.record):
        return None
    check = check_seal(read_plain(job.case.record))
    if not check.intact or not is_stamped(check.notebook, job.stamp):
        return None
    held = job.expected.holds(inputs_of(check.notebook), like_sha256=like_stamp(check.notebook))
    return check if held else None


def make_record(job: Job, making: Making = Making()) -> Outcome:  # frozen
    """Execute the job's notebook and put the record in its place; a failed one is kept beside, marked.

    A record that is up to date is left as it is unless ``fresh``. Raises nothing: what went wrong is the outcome's
    ``failure``. Making the same record twice, even at once, gives one record.
    """
    try:
        with claimed(job.case.record, wait=making.wait) as ours:
            return _make(job, making) if ours else Outcome(case=job.case, busy=True)
    except OSError as error:
        failure = f"{job.case.label}: {file_trouble(error)}."
        return Outcome(case=job.case, failure=failure, disk_full=error.errno in DISK_FULL)
    except (NoLocks, InputRefused) as reason:
        return Outcome(case=job.case, failure=f"{job.case.label}: {reason}")


def _make(job: Job, making: Making) -> Outcome:
    with locked(job.case.record.parent):
        mend(job.case.record)
    if not making.fresh:
        current = _current_outcome(job)
        if current is not None:
            return current
    return _execute(job, making)


def _current_outcome(job: Job) -> Outcome | None:
    check = read_current(job)
    if check is None or check.seal is None:
        return None
    try:
        result = read_result(check.notebook, job.case)
    except ResultUnusable:  # whatever is wrong with an old record, a new one mends it
        return None
    replaces = check.seal.get("replaces")
    replaced = None if replaces is None else job.case.record.parent / replaces["record"]
    return Outcome(case=job.case, result=result, skipped=True, seal=check.seal["digest"], replaced=replaced)


def stop_records() -> None:
    """Begin no more records in this process, and end the warm kernels of those under way."""
    from vibcal_nb.running.kernels.template_client import close_templates

    _stopping.set()
    close_templates()


def _execute(job: Job, making: Making) -> Outcome:
    if _stopping.is_set():
        return Outcome(case=job.case, failure=f"{job.case.label}: not begun, because the run was stopped")
    folder = job.case.record.parent
    partial = partial_path(job.case.record).with_suffix(".partial.ipynb")
    try:
        notebook, reason = _papermill(job, partial, making.cell_seconds)
        if reason is None:
            result, reason = _finish(notebook, job)
            if reason is None:
                with locked(folder):
                    kept = _keep(notebook, job, making)
                remove(job.case.failed_record)
                return Outcome(case=job.case, result=result, seal=kept.seal, replaced=kept.replaced)
        if partial.exists():
            keep_failed(partial, job.case.failed_record, sentence=reason)
        return Outcome(case=job.case, failure=f"{job.case.label}: {reason}")
    except RecordIsSigned as signed:
        return Outcome(case=job.case, failure=f"{job.case.label}: {signed}")
    finally:
        partial.unlink(missing_ok=True)


def _keep(notebook: Any, job: Job, making: Making) -> Kept:
    like = {} if job.expected.like_sha256 is None else {LIKE: job.expected.like_sha256}
    return keep_record(
        notebook,
        record=job.case.record,
        identity=job.case.identity,
        parameters=job.parameters,
        stamp={**job.stamp, **like},
        supersede_signed=making.supersede_signed,
    )


def _papermill(job: Job, output: Path, cell_seconds: int) -> tuple[Any, str | None]:
    """Execute into ``output``; return the notebook, and None or the reason of the failure in one sentence."""
    papermill = import_papermill()
    try:
        notebook = execute_template(job.template, output, parameters=job.parameters, cell_seconds=cell_seconds)
        return notebook, None
    except papermill.PapermillExecutionError as error:
        said = error.evalue if STOPPED in error.traceback else f"{error.ename}: {error.evalue}"
        return None, said.splitlines()[0]
    except Exception as error:  # papermill passes on whatever kernels and their clients raise
        if isinstance(error, OSError) and error.errno in DISK_FULL:
            raise
        return None, _reason(error, cell_seconds)


def _reason(error: Exception, cell_seconds: int) -> str:
    """Say in one clause why a notebook could not be executed to its end."""
    from nbclient.exceptions import CellTimeoutError, DeadKernelError

    if isinstance(error, CellTimeoutError):
        return f"a cell ran longer than {cell_seconds} s and was stopped"
    if isinstance(error, DeadKernelError):
        return "the kernel died while a cell ran (killed from outside, or out of memory)"
    text = (str(error) or type(error).__name__).strip().splitlines()[0]
    return f"the notebook could not be executed ({text})"


def _finish(notebook: Any, job: Job) -> tuple[dict[str, Any] | None, str | None]:
    run = notebook.metadata.get("papermill", {})
    if run.get("exception") or not run.get("end_time"):
        return None, "the notebook did not run to its end"
    if notebook.metadata.get("widgets") or _shows_widgets(notebook):
        return None, "the record holds widgets, whose state would show nothing on paper"
    try:
        result = read_result(notebook, job.case)
    except ResultUnusable as unusable:
        return None, str(unusable)
    if not job.expected.holds(inputs_of(notebook)):
        return None, "its inputs were changed while it was made, or its notebook used others; run again"
    return result, None


def _shows_widgets(notebook: Any) -> bool:
    outputs = (output for cell in notebook.cells for output in cell.get("outputs", ()))
    return any(WIDGET in output.get("data", {}) for output in outputs)
