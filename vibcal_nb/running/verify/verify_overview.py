"""The overview of a site verified: made again from the register as it is now, and compared."""

from __future__ import annotations

import json
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from vibcal_nb.records.files.lean_imports import import_nbformat, import_papermill
from vibcal_nb.records.files.places import page_path
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.seal import page
from vibcal_nb.records.seal.intact import SealCheck, check_seal
from vibcal_nb.running.fleet.site_page import NAME, SECONDS
from vibcal_nb.running.fleet.standard_notebooks import find_notebooks
from vibcal_nb.running.kernels.execute_notebook import execute_template
from vibcal_nb.running.verify.again.compare_cells import compare_notebooks
from vibcal_nb.running.verify.states import Finding, State, Verified, altered, incomplete
from vibcal_nb.running.verify.verifier import Verifier

_NOW = "the register says something else now, or it was altered: make it again (overview)"


def is_overview(path: Path) -> bool:
    """Whether a file is the overview of a records folder, by its name."""
    return path.name == f"{NAME}.ipynb"


def verify_overview(path: Path, verifier: Verifier) -> Verified:
    """Verify an overview. What it says is made anew at any time, so that one that differs is no alarm.

    Raises ``OSError``.
    """
    check = check_seal(read_plain(path))
    if not check.intact or check.seal is None:
        return Verified(path=path, findings=tuple(map(altered, check.faults)))
    try:
        findings = [*_page_findings(path, check), *_again_findings(path, check)]
    except (KeyError, TypeError, AttributeError, ValueError, RecursionError):
        return Verified(path=path, findings=(altered("it is sealed, but holds what no overview holds"),))
    said = () if findings else ("intact", "made again from the register: the same")
    return Verified(path=path, findings=tuple(findings), said=said)


def _page_findings(path: Path, check: SealCheck) -> list[Finding]:
    shown = page_path(path)
    if not is_plain(shown):
        return [incomplete("its page (.html) is not there")]
    data = read_plain(shown)
    if not page.has_own_sum(data) or page.seal_in(data) != (check.seal or {}).get("digest"):
        return [altered(f"its page {shown.name} was changed, or is of another")]
    return (
        []
        if data == page.record_page(check.notebook)
        else [altered(f"its page {shown.name} does not show what it holds")]
    )


def _again_findings(path: Path, check: SealCheck) -> list[Finding]:
    stated = (check.seal or {})["parameters"]
    parameters = {name: stated[name] for name in ("on", "interval_months")}
    parameters["site_folder"] = path.absolute().parent.as_posix()
    try:
        again = _execute(parameters)
    except import_papermill().PapermillExecutionError as error:
        return [Finding(state=State.NOT_PERFORMED, text=f"it cannot be made again ({error.evalue})")]
    own = _without_folder(check.notebook, stated["site_folder"])
    differences = list(compare_notebooks(own, _without_folder(again, parameters["site_folder"]), exact=False))
    return [Finding(state=State.MOVED_ON, text=f"{_NOW}; {differences[0]}")] if differences else []


def _execute(parameters: dict[str, Any]) -> Any:
    with TemporaryDirectory() as place:
        output = Path(place) / f"{NAME}.ipynb"
        template = find_notebooks() / f"{NAME}.ipynb"
        executed = execute_template(template, output, parameters=parameters, cell_seconds=SECONDS)
    return json.loads(import_nbformat().v4.writes_json(executed))


def _without_folder(notebook: Any, folder: str) -> Any:
    """The folder's name may be written otherwise from where one stands."""
    text = json.dumps(notebook, sort_keys=True)
    return json.loads(text.replace(json.dumps(folder)[1:-1], "FOLDER"))
