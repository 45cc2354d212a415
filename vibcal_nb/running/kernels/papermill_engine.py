"""papermill's engine for records: the cells are executed in a process forked from the template of warm kernels."""

from __future__ import annotations

import os
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import nbformat
from jupyter_client.session import json_unpacker
from nbclient.exceptions import CellTimeoutError, DeadKernelError
from papermill.engines import Engine, papermill_engines

from vibcal_nb.problems import NotDone
from vibcal_nb.running.kernels.cells import send
from vibcal_nb.running.kernels.template_client import WarmKernelFailed, fork_cells

ENGINE = "vibcal-nb-forked"


class NotPrepared(NotDone):
    """What comes before a notebook failed; the text is the error."""


class ForkedEngine(Engine):
    """Execute a notebook cell by cell, as papermill's own engine does with a kernel."""

    @classmethod
    def execute_managed_notebook(cls, nb_man: Any, kernel_name: Any, **options: Any) -> None:
        """Execute the cells up to the first that fails.

        Raises ``WarmKernelFailed`` where no process can be forked, ``CellTimeoutError``, ``DeadKernelError``.
        """
        with _open(options["execution_timeout"]) as cells:
            nb_man.nb.metadata["language_info"] = cells.language_info
            if options.get("before"):
                cells.prepare(options["before"])
            for index, cell in enumerate(nb_man.nb.cells):
                nb_man.cell_start(cell, index)
                try:
                    if not cells.execute(cell):
                        nb_man.cell_exception(cell, cell_index=index)
                        break
                finally:
                    nb_man.cell_complete(cell, cell_index=index)


class _Cells:
    """The other end of `serve_cells`."""

    def __init__(self, channel: Any) -> None:
        self._channel = channel
        self.language_info = self._answer("")["language_info"]

    def prepare(self, source: str) -> None:
        """Execute what comes before the notebook and is no part of it. Raises ``NotPrepared`` where it fails."""
        send(self._channel, {"source": source, "before": True})
        answer = self._answer(source)
        if not answer["success"]:
            raise NotPrepared(_error_in(answer["outputs"]))

    def execute(self, cell: Any) -> bool:
        """Execute a cell and put its outputs into it; return whether it ran without an error."""
        if cell.cell_type != "code" or not cell.source.strip():
            return True
        try:
            send(self._channel, {"source": cell.source})
        except OSError:
            raise DeadKernelError("Kernel died") from None
        answer = self._answer(cell.source)
        cell.execution_count = answer["execution_count"]
        cell.outputs = [nbformat.from_dict(output) for output in answer["outputs"]]
        return bool(answer["success"])

    def _answer(self, source: str) -> Any:
        try:
            line = self._channel.readline()
        except TimeoutError:
            raise CellTimeoutError(f"A cell timed out: {source}") from None
        except OSError:
            line = b""
        if not line.endswith(b"\n"):
            raise DeadKernelError("Kernel died")
        return json_unpacker(line)


def _error_in(outputs: list[dict[str, Any]]) -> str:
    found = [f"{output['ename']}: {output['evalue']}" for output in outputs if output.get("output_type") == "error"]
    return found[0] if found else "what comes before the notebook failed"


@contextmanager
def _open(seconds: float) -> Iterator[_Cells]:
    """Fork the process; it ends when the connection is closed, and is killed where it cannot."""
    ours, theirs = socket.socketpair()
    with ours:
        with theirs:
            try:
                process = fork_cells(theirs.fileno(), env=dict(os.environ), cwd=str(Path.cwd()))
            except OSError as error:
                raise WarmKernelFailed(str(error)) from error
        ours.settimeout(seconds)
        try:
            with ours.makefile("rwb") as channel:
                yield _Cells(channel)
        finally:
            process.kill()
            process.wait()


papermill_engines.register(ENGINE, ForkedEngine)
