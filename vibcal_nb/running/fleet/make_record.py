"""One record: a standard notebook executed by papermill, written whole or not at all."""

from __future__ import annotations

import errno
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.notebook.frame.refusals import STOPPED
from vibcal_nb.problems import file_trouble
from vibcal_nb.records.files.folder_lock import locked
from vibcal_nb.records.files.lean_imports import import_nbformat, import_papermill
from vibcal_nb.records.files.whole_files import partial_path
from vibcal_nb.records.seal.failed import keep_failed
from vibcal_nb.records.seal.keep import is_kept, keep_record
from vibcal_nb.records.seal.seal import METADATA_KEY
from vibcal_nb.running.fleet.fingerprint import is_stamped
from vibcal_nb.running.fleet.read_result import ResultUnusable, read_result
from vibcal_nb.running.fleet.record_path import RecordCase
from vibcal_nb.running.kernels.execute_notebook import execute_template

CELL_SECONDS = 120
WIDGET = "application/vnd.jupyter.widget-view+json"
DISK_FULL = (errno.ENOSPC, errno.EDQUOT)
_stopping = threading.Event()


@dataclass(frozen=True, kw_only=True)
class Job:
    """A record to be made: the case, the notebook, its parameters, and the stamp of what it is made from."""

    case: RecordCase
    template: Path
    parameters: dict[str, Any]
    stamp: dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of a job: ``result`` with the record's ``seal`` or, in one sentence, ``failure``."""

    case: RecordCase
    result: dict[str, Any] | None = None
    failure: str | None = None
    skipped: bool = False
    seal: str | None = None
    disk_full: bool = False


def result_if_current(job: Job) -> Outcome | None:
    """Return the outcome of a record that is there already and was made from the same; None otherwise."""
    try:
        notebook = import_nbformat().read(job.case.record, as_version=4)
        if not is_stamped(notebook, job.stamp) or not is_kept(job.case.record):
            return None
        seal = notebook.metadata[METADATA_KEY]["seal"]["digest"]
        return Outcome(case=job.case, result=read_result(notebook, job.case), skipped=True, seal=seal)
    except Exception:  # whatever is wrong with an old record, a new one mends it
        return None


def make_record(job: Job, *, fresh: bool = False, cell_seconds: int = CELL_SECONDS) -> Outcome:
    """Execute the job's notebook and put the record in its place; a failed one is kept beside, marked.

    A record that is up to date is left as it is unless ``fresh``. Raises nothing: what went wrong is the outcome's
    ``failure``. Making the same record twice, even at once, gives one record.
    """
    try:
        current = None if fresh else result_if_current(job)
        return current or _execute(job, cell_seconds)
    except OSError as error:
        failure = f"{job.case.label}: {file_trouble(error)}."
        return Outcome(case=job.case, failure=failure, disk_full=error.errno in DISK_FULL)


def stop_records() -> None:
    """Begin no more records in this process, and end the warm kernels of those under way."""
    from vibcal_nb.running.kernels.template_client import close_templates

    _stopping.set()
    close_templates()


def _execute(job: Job, cell_seconds: int) -> Outcome:
    if _stopping.is_set():
        return Outcome(case=job.case, failure=f"{job.case.label}: not begun, because the run was stopped")
    folder = job.case.record.parent
    folder.mkdir(parents=True, exist_ok=True)
    partial = partial_path(job.case.record).with_suffix(".partial.ipynb")
    try:
        notebook, reason = _papermill(job, partial, cell_seconds)
        if reason is None:
            result, reason = _finish(notebook, job)
            if reason is None:
                with locked(folder):
                    kept = keep_record(
                        notebook,
                        record=job.case.record,
                        identity=job.case.identity,
                        parameters=job.parameters,
                        stamp=job.stamp,
                    )
                job.case.failed_record.unlink(missing_ok=True)
                return Outcome(case=job.case, result=result, seal=kept.seal)
        if partial.exists():
            keep_failed(partial, job.case.failed_record, sentence=reason)
        return Outcome(case=job.case, failure=f"{job.case.label}: {reason}")
    finally:
        partial.unlink(missing_ok=True)


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
        return read_result(notebook, job.case), None
    except ResultUnusable as unusable:
        return None, str(unusable)


def _shows_widgets(notebook: Any) -> bool:
    outputs = (output for cell in notebook.cells for output in cell.get("outputs", ()))
    return any(WIDGET in output.get("data", {}) for output in outputs)
