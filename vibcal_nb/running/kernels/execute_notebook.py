"""The one way in which this package calls papermill: forked processes where they can be had, else ordinary kernels."""

from __future__ import annotations

import asyncio
import contextvars
import logging
import warnings
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

from vibcal_nb.records.files.lean_imports import import_papermill

# no noise at start-up and shut-down; and a record's cells are not what a person typed and will look for again
KERNEL_ARGUMENTS = ("--IPKernelApp.log_level=50", "--HistoryManager.enabled=False")
_START_FAILURES = ("Kernel died before replying", "Kernel didn't respond", "Address already in use")


def execute_template(template: Path, output: Path, *, parameters: Mapping[str, Any], cell_seconds: float) -> Any:
    """Execute a notebook into ``output`` and return it. A kernel that does not start is tried once more.

    Raises ``papermill.PapermillExecutionError`` where a cell fails, ``nbclient.exceptions.CellTimeoutError`` and
    ``DeadKernelError``, ``OSError``, and whatever else kernels and their clients raise.
    """
    import_papermill()  # before the engine imports it
    from vibcal_nb.running.kernels.papermill_engine import ENGINE
    from vibcal_nb.running.kernels.provisioner import note_ordinary
    from vibcal_nb.running.kernels.template_client import WarmKernelFailed

    for name in ("papermill", "traitlets", "asyncio"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    call = partial(call_papermill, template, output, parameters=parameters, cell_seconds=cell_seconds)
    try:
        return call(engine_name=ENGINE)
    except WarmKernelFailed as reason:
        note_ordinary(str(reason))
    try:
        return _in_own_event_loop(call)
    except RuntimeError as error:
        if not any(sign in str(error) for sign in _START_FAILURES):
            raise
    return _in_own_event_loop(call)


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
