"""What a person sees in a notebook whose parameters or files cannot be used: sentences, not a traceback."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError

from tests.support.places import NOTEBOOKS
from tests.support.sites.plants import build_site, linearity_rows
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.notebook.frame.parameters import check_parameters
from vibcal_nb.problems import ParameterError


def failed_outputs(visit: Path, *, channel: str = "STG-1-V11", more: str = "") -> list:
    notebook = nbformat.read(NOTEBOOKS / "linearity.ipynb", as_version=4)
    parameters = next(cell for cell in notebook.cells if "parameters" in cell.metadata.get("tags", ()))
    parameters.source = f'visit_folder = "{visit.as_posix()}"\nchannel = "{channel}"\ncondition = "as-found"\n{more}'
    with pytest.raises(CellExecutionError):
        NotebookClient(notebook, resources={"metadata": {"path": str(NOTEBOOKS)}}).execute()
    [outputs] = [c.outputs for c in notebook.cells if any(o.output_type == "error" for o in c.get("outputs", ()))]
    return outputs


def check(outputs: list, *said: str) -> None:
    box, error = outputs
    html = box.data["text/html"]
    assert all(text in html for text in said)
    assert html.index("<details>") < html.index("Traceback (most recent call last)"), "the traceback is folded away"
    assert error.traceback == ["Stopped: mend what is said above, then run the notebook again."]


def test_an_unknown_channel(tmp_path):
    check(
        failed_outputs(build_site(tmp_path, linearity_rows()), channel="STG-1-V12"),
        "has no channel &#x27;STG-1-V12&#x27;",
    )


def test_a_misspelt_parameter(tmp_path):
    check(failed_outputs(build_site(tmp_path, linearity_rows()), more="chanel = 1"), "no parameter &#x27;chanel&#x27;")


def test_a_table_with_mistakes_lists_them_all(tmp_path):
    rows = [row.replace("mm/s pk", "mm/s") for row in linearity_rows()]
    check(failed_outputs(build_site(tmp_path, rows)), "row 2, column applied_unit", "row 6, column applied_unit")


def test_hostile_text_stays_text(tmp_path):
    rows = [row.replace("STG-1-V11", "<script>alert(1)</script>") for row in linearity_rows()]
    outputs = failed_outputs(build_site(tmp_path, rows))
    assert "<script>" not in outputs[0].data["text/html"]
    check(outputs, "&lt;script&gt;")


def test_a_notebook_run_twice_does_not_take_its_own_names_for_parameters(tmp_path):
    visit = load_visit(build_site(tmp_path, linearity_rows()))
    case = select_case(visit, channel="STG-1-V11", test="linearity", condition="as-found")
    check_parameters({"case": case, "result": object(), "In": [], "_i1": "x", "channel": "c"}, ["channel"])


def test_a_person_may_keep_variables_of_their_own(monkeypatch):
    monkeypatch.setattr("vibcal_nb.notebook.frame.parameters.is_interactive", lambda: True)
    check_parameters({"my_scratch": 3}, ["channel"])
    with pytest.raises(ParameterError, match="no parameter 'chanel'"):
        check_parameters({"chanel": "c"}, ["channel"])
