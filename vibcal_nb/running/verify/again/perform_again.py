"""A record performed again: the package's own notebook executed on what the record states that it was made from."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from vibcal_nb.problems import NotDone
from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.records.files.lean_imports import import_nbformat, import_papermill
from vibcal_nb.records.inputs_used.visit_statement import read_visit_statement
from vibcal_nb.running.fleet.stamp import notebook_stamp
from vibcal_nb.running.fleet.standard_notebooks import find_notebooks
from vibcal_nb.running.kernels.execute_notebook import execute_template

CELL_SECONDS = 120
_BEFORE = "from vibcal_nb.records.inputs_used.stated import give_file as _give; _give({file!r}, {folder!r}); del _give"


class NotPerformed(NotDone):
    """A record that cannot be performed again; the text is one clause."""


class DoesNotFollow(NotDone):
    """A record whose notebook refuses what the record states that it was made from; the text is one clause."""


def perform_again(*, analysis: object, parameters: Mapping[str, Any], inputs: Mapping[str, Any]) -> Any:
    """Execute an analysis's own notebook and return it as JSON. Nothing that a record holds is executed.

    ``parameters`` and ``inputs`` are the record's. Raises ``NotPerformed``, ``DoesNotFollow``, ``NotEncoded``.
    """
    template = own_template(analysis)
    _refuse_odd_parameters(parameters, template)
    parameters = {name: parameters[name] for name in default_parameters(template) if name in parameters}
    folder = str(parameters["visit_folder"])
    read_visit_statement(inputs["visits"][0], Path(folder))
    with TemporaryDirectory() as place:
        stated = Path(place) / "inputs.json"
        stated.write_text(json.dumps(dict(inputs)), encoding="utf-8")
        before = _BEFORE.format(file=str(stated), folder=folder)
        executed = _execute(template, Path(place) / template.name, parameters, before)
    content: Any = json.loads(import_nbformat().v4.writes_json(executed))
    return content


def own_template(analysis: object) -> Path:
    """Return the package's own notebook of an analysis. Raises ``NotPerformed`` where there is none, or another."""
    if not isinstance(analysis, str) or analysis not in ANALYSES:
        raise NotPerformed(f"this version of the software performs no analysis '{analysis}'")
    template = find_notebooks() / analysis_named(analysis).notebook
    if not notebook_stamp(template)["own"]:
        raise NotPerformed(f"{template.as_posix()} is not the package's own any more; put it back as it was")
    return template


def _execute(template: Path, output: Path, parameters: Mapping[str, Any], before: str) -> Any:
    papermill = import_papermill()
    try:
        return execute_template(template, output, parameters=parameters, cell_seconds=CELL_SECONDS, before=before)
    except papermill.PapermillExecutionError as error:
        said = f"{error.ename}: {error.evalue}".splitlines()[0]
        raise DoesNotFollow(f"its notebook fails on what it states that it was made from ({said})") from None
    except Exception as error:  # whatever kernels and their clients raise
        said = (str(error) or type(error).__name__).strip().splitlines()[0]
        raise NotPerformed(f"its notebook could not be executed ({said})") from None


def _refuse_odd_parameters(parameters: Mapping[str, Any], template: Path) -> None:
    """Parameters become lines of code: only those that the notebook has, and only plain values, get there."""
    known = default_parameters(template)
    for name, value in parameters.items():
        if name not in known:
            raise DoesNotFollow(f"it states a parameter that its notebook does not have ({name!r})")
        if type(value) is not type(known[name]) and not (type(value) is int and type(known[name]) is float):
            raise DoesNotFollow(f"its parameter {name} is no {type(known[name]).__name__}")


@cache
def default_parameters(template: Path) -> Mapping[str, Any]:
    """Return the parameters of a notebook with the values that stand in it."""
    import ast

    content = json.loads(template.read_text(encoding="utf-8"))
    cells = [cell for cell in content["cells"] if "parameters" in cell["metadata"].get("tags", ())]
    lines = ast.parse("".join(cells[0]["source"])).body if cells else []
    return {
        line.target.id: ast.literal_eval(line.value)
        for line in lines
        if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name) and line.value is not None
    }
