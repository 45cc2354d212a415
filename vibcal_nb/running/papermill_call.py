"""The one way in which this package calls papermill."""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from pathlib import Path
from typing import Any

# no noise at start-up and shut-down; and a record's cells are not what a person typed and will look for again
KERNEL_ARGUMENTS = ("--IPKernelApp.log_level=50", "--HistoryManager.enabled=False")


def execute_template(
    template: Path, output: Path, *, parameters: Mapping[str, Any], cell_seconds: int, **options: Any
) -> Any:
    """Execute a notebook into ``output`` and return it; ``options`` are further ones of papermill or its client.

    Raises ``papermill.PapermillExecutionError`` where a cell fails, and whatever kernels and their clients raise.
    """
    import papermill

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return papermill.execute_notebook(
            template,
            output,
            parameters=dict(parameters),
            progress_bar=False,
            request_save_on_cell_execute=False,
            execution_timeout=cell_seconds,
            shutdown_kernel="immediate",  # all outputs are here, and nothing in the kernel needs an orderly end
            extra_arguments=list(KERNEL_ARGUMENTS),
            **options,
        )
