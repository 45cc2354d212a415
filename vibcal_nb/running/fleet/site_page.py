"""The site overview notebook, executed into a records folder, and its page beside it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from vibcal_nb.model.names import ALL_TESTS, AS_LEFT
from vibcal_nb.records.files.lean_imports import import_papermill
from vibcal_nb.records.files.places import OVERVIEW
from vibcal_nb.records.files.whole_files import partial_path
from vibcal_nb.records.seal.keep import keep_latest
from vibcal_nb.running.fleet.standard_notebooks import find_notebooks
from vibcal_nb.running.kernels.execute_notebook import execute_template

NAME = OVERVIEW
SECONDS = 600


def write_site_page(records: Path, *, on: date, interval_months: float) -> str | None:
    """Execute the notebook on a records folder and write it, sealed, with its page; return a failure's sentence.

    What an overview says is made anew at any time, so that the one before is replaced. Raises ``OSError``.
    """
    papermill = import_papermill()
    parameters = {"site_folder": records.as_posix(), "on": on.isoformat(), "interval_months": interval_months}
    partial = partial_path(records / f"{NAME}.ipynb").with_suffix(".partial.ipynb")
    try:
        notebook = execute_template(
            find_notebooks() / f"{NAME}.ipynb", partial, parameters=parameters, cell_seconds=SECONDS
        )
    except papermill.PapermillExecutionError as error:
        return f"The overview could not be made: {error.evalue}"
    finally:
        partial.unlink(missing_ok=True)
    identity = {
        "channel": "Site overview",
        "analysis": ALL_TESTS,
        "condition": AS_LEFT,
        "asset": records.name,
        "visit": on.isoformat(),
    }
    keep_latest(notebook, record=records / f"{NAME}.ipynb", identity=identity, parameters=parameters)
    return None
