"""The site overview notebook, executed into a records folder, and its page beside it."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

from vibcal_nb.records.atomic import write_atomically
from vibcal_nb.records.canonical import kept_bytes
from vibcal_nb.records.page import record_page
from vibcal_nb.records.seal import METADATA_KEY, make_seal
from vibcal_nb.records.sealed import environment, now
from vibcal_nb.running.standard_notebooks import find_notebooks

NAME = "site_overview"
SECONDS = 600


def write_site_page(records: Path, *, on: date, interval_months: float) -> str | None:
    """Execute the notebook on a records folder and write it, sealed, with its page; return a failure's sentence.

    What an overview says is made anew at any time, so that the one before is replaced. Raises ``OSError``.
    """
    import papermill

    parameters = {"site_folder": records.as_posix(), "on": on.isoformat(), "interval_months": interval_months}
    partial = records / f".{NAME}.partial.ipynb"
    try:
        papermill.execute_notebook(
            find_notebooks() / f"{NAME}.ipynb",
            partial,
            parameters=parameters,
            progress_bar=False,
            request_save_on_cell_execute=False,
            execution_timeout=SECONDS,
            extra_arguments=["--IPKernelApp.log_level=50"],
        )
        content = json.loads(partial.read_text(encoding="utf-8"))
    except papermill.PapermillExecutionError as error:
        return f"The overview could not be made: {error.evalue}"
    finally:
        partial.unlink(missing_ok=True)
    content["metadata"][METADATA_KEY] = {}
    identity = {
        "channel": "Site overview",
        "analysis": "all-tests",
        "condition": "as-left",
        "asset": records.name,
        "visit": on.isoformat(),
    }
    seal = make_seal(
        content,
        record=identity,
        made=now(),
        parameters=parameters,
        environment=environment(),
        revision=1,
        replaces=None,
    )
    content["metadata"][METADATA_KEY]["seal"] = seal
    write_atomically(records / f"{NAME}.ipynb", kept_bytes(content))
    write_atomically(records / f"{NAME}.html", record_page(content))
    return None
