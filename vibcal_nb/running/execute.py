"""One record: a standard notebook executed by papermill, written whole or not at all."""

from __future__ import annotations

import errno
import logging
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.records.failed import keep_failed
from vibcal_nb.records.keep import is_kept, keep_record
from vibcal_nb.records.seal import METADATA_KEY
from vibcal_nb.running.fingerprint import is_stamped
from vibcal_nb.running.record_path import RecordCase
from vibcal_nb.running.result_output import ResultUnusable, read_result

CELL_SECONDS = 120
_START_FAILURES = ("Kernel died before replying", "Kernel didn't respond", "Address already in use")


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


def result_if_current(job: Job) -> Outcome | None:
    """Return the outcome of a record that is there already and was made from the same; None otherwise."""
    import nbformat

    try:
        notebook = nbformat.read(job.case.record, as_version=4)
        if not is_stamped(notebook, job.stamp) or not is_kept(job.case.record):
            return None
        seal = notebook.metadata[METADATA_KEY]["seal"]["digest"]
        return Outcome(case=job.case, result=read_result(notebook, job.case), skipped=True, seal=seal)
    except Exception:  # whatever is wrong with an old record, a new one mends it
        return None


def make_record(job: Job, *, cell_seconds: int = CELL_SECONDS) -> Outcome:
    """Execute the job's notebook and put the record in its place; a failed one is kept beside, marked.

    Raises nothing: what went wrong is the outcome's ``failure``.
    """
    try:
        return _execute(job, cell_seconds)
    except OSError as error:
        return Outcome(case=job.case, failure=f"{job.case.label}: {error.strerror or error} ({error.filename}).")


def _execute(job: Job, cell_seconds: int) -> Outcome:
    folder = job.case.record.parent
    folder.mkdir(parents=True, exist_ok=True)
    partial = job.case.record.with_name(f".{job.case.record.name}.partial.ipynb")
    try:
        reason = _papermill(job, partial, cell_seconds)
        if reason is None:
            notebook, result, reason = _finish(job, partial)
            if reason is None:
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


def _papermill(job: Job, output: Path, cell_seconds: int) -> str | None:
    """Execute into ``output``; return None or the reason of the failure in one sentence."""
    import papermill

    from vibcal_nb.running.warm_kernel import AsyncKernelManager, WarmKernelManager

    for name in ("papermill", "traitlets", "asyncio"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    for manager in (WarmKernelManager, AsyncKernelManager):  # a start that failed is tried once more, the ordinary way
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                papermill.execute_notebook(
                    job.template,
                    output,
                    parameters=job.parameters,
                    progress_bar=False,
                    request_save_on_cell_execute=False,
                    execution_timeout=cell_seconds,
                    kernel_manager_class=manager,
                    shutdown_kernel="immediate",  # all outputs are here, and nothing in the kernel needs an orderly end
                    extra_arguments=["--IPKernelApp.log_level=50"],  # start-up and shut-down noise
                )
            return None
        except papermill.PapermillExecutionError as error:
            return f"{error.ename}: {error.evalue}".removeprefix("InputRefused: ").splitlines()[0]
        except OSError as error:
            if error.errno != errno.EADDRINUSE:
                raise
            reason = str(error)
        except Exception as error:  # papermill passes on whatever kernels and their clients raise
            reason = _reason(error, cell_seconds)
            if not any(sign in str(error) for sign in _START_FAILURES):
                return reason
    return reason


def _reason(error: Exception, cell_seconds: int) -> str:
    """Say in one clause why a notebook could not be executed to its end."""
    from nbclient.exceptions import CellTimeoutError, DeadKernelError

    if isinstance(error, CellTimeoutError):
        return f"a cell ran longer than {cell_seconds} s and was stopped"
    if isinstance(error, DeadKernelError):
        return "the kernel died while a cell ran (killed from outside, or out of memory)"
    text = (str(error) or type(error).__name__).strip().splitlines()[0]
    return f"the notebook could not be executed ({text})"


def _finish(job: Job, partial: Path) -> tuple[Any, dict[str, Any] | None, str | None]:
    import nbformat

    notebook = nbformat.read(partial, as_version=4)
    run = notebook.metadata.get("papermill", {})
    if run.get("exception") or not run.get("end_time"):
        return notebook, None, "the notebook did not run to its end"
    if notebook.metadata.get("widgets"):
        return notebook, None, "the record holds widgets, whose state would show nothing on paper"
    try:
        result = read_result(notebook, job.case)
    except ResultUnusable as unusable:
        return notebook, None, str(unusable)
    return notebook, result, None
