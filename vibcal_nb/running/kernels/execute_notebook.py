"""The one way in which this package calls papermill: forked processes where they can be had, else ordinary kernels."""

from __future__ import annotations

import asyncio
import contextvars
import logging
import os
import warnings
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from vibcal_nb.records.files.lean_imports import import_papermill
from vibcal_nb.records.seal.sources import INJECTED

# no noise at start-up and shut-down; and a record's cells are not what a person typed and will look for again
KERNEL_ARGUMENTS = (
    "--IPKernelApp.log_level=50",
    "--HistoryManager.enabled=False",
    "--InteractiveShellApp.ignore_cwd=True",  # a module there is none of a record's: somebody else may have put it
)
_START_FAILURES = ("Kernel died before replying", "Kernel didn't respond", "Address already in use")


def execute_template(
    template: Path, output: Path, *, parameters: Mapping[str, Any], cell_seconds: float, before: str = ""
) -> Any:
    """Execute a notebook into ``output`` and return it. A kernel that does not start is tried once more.

    ``before`` is executed first, and is no part of the notebook. Cells of parameters come back folded: whoever opens
    the record meets its answer, and not what the notebook would have taken by default.

    Raises ``papermill.PapermillExecutionError`` where a cell fails, ``nbclient.exceptions.CellTimeoutError`` and
    ``DeadKernelError``, ``OSError``, and whatever else kernels and their clients raise.
    """
    done = _execute_template(template, output, parameters=parameters, cell_seconds=cell_seconds, before=before)
    for cell in done.cells:
        if _OF_PARAMETERS.intersection(cell.metadata.get("tags", ())):
            cell.metadata.setdefault("jupyter", {})["source_hidden"] = True
    return done


_OF_PARAMETERS = frozenset({"parameters", INJECTED})


def _execute_template(
    template: Path, output: Path, *, parameters: Mapping[str, Any], cell_seconds: float, before: str
) -> Any:
    import_papermill()  # before the engine imports it
    from vibcal_nb.running.kernels.papermill_engine import ENGINE
    from vibcal_nb.running.kernels.provisioner import note_ordinary
    from vibcal_nb.running.kernels.template_client import WarmKernelFailed

    for name in ("papermill", "traitlets", "asyncio"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    call = partial(call_papermill, template, output, parameters=parameters, cell_seconds=cell_seconds)
    try:
        return call(engine_name=ENGINE, before=before)
    except WarmKernelFailed as reason:
        note_ordinary(str(reason))
    os.environ["PYTHONSAFEPATH"] = "1"  # of the kernel that is started now: the current folder is not its library
    if before:
        return _after(before, template, output, parameters=parameters, cell_seconds=cell_seconds)
    return _with_ordinary_kernel(call)


def _with_ordinary_kernel(call: Callable[[], Any]) -> Any:
    try:
        return _in_own_event_loop(call)
    except RuntimeError as error:
        if not any(sign in str(error) for sign in _START_FAILURES):
            raise
    return _in_own_event_loop(call)


def _after(before: str, template: Path, output: Path, **options: Any) -> Any:
    """Execute a notebook in an ordinary kernel after something that is no part of it: a cell that is taken out."""
    import nbformat

    notebook = nbformat.read(template, as_version=4)
    notebook.cells.insert(0, nbformat.v4.new_code_cell(before))
    with TemporaryDirectory() as folder:
        longer = Path(folder) / template.name
        nbformat.write(notebook, longer)
        done = _with_ordinary_kernel(partial(call_papermill, longer, output, **options))
    del done.cells[0]
    for cell in done.cells:
        if cell.get("execution_count"):
            cell["execution_count"] -= 1
    return done


def call_papermill(
    template: Path, output: Path, *, parameters: Mapping[str, Any], cell_seconds: float, **options: Any
) -> Any:
    """Call papermill, with ``options`` of its own or of its engine besides."""
    papermill = import_papermill()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return papermill.execute_notebook(
            _literal(template),
            _literal(output),
            parameters=dict(parameters),
            progress_bar=False,
            request_save_on_cell_execute=False,
            execution_timeout=cell_seconds,
            shutdown_kernel="immediate",  # all outputs are here, and nothing in the kernel needs an orderly end
            extra_arguments=list(KERNEL_ARGUMENTS),
            **options,
        )


def _literal(path: Path) -> str:
    """A path as papermill takes it: it fills parameters into braces, and a tag may have some."""
    return str(path).replace("{", "{{").replace("}", "}}")


def _in_own_event_loop(call: Callable[[], Any]) -> Any:
    """Call what makes an event loop for its thread and keeps it there; close the loop afterwards."""
    context = contextvars.copy_context()
    kept = set(map(id, contextvars.copy_context().values()))
    try:
        return context.run(call)
    finally:
        for value in context.values():
            if isinstance(value, asyncio.AbstractEventLoop) and id(value) not in kept:
                value.close()
