"""The notebooks keep to the contract of a record: short code cells, text before code, literals as parameters."""

from __future__ import annotations

import ast
import re

import nbformat
import pytest

from tests.support.places import NOTEBOOKS

NOTEBOOKS = sorted((NOTEBOOKS).glob("*.ipynb"))


@pytest.fixture(params=NOTEBOOKS, ids=lambda p: p.stem)
def notebook(request):
    return nbformat.read(request.param, as_version=4)


def code_cells(notebook):
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def test_there_are_the_standard_notebooks():
    names = {"start_here", "linearity", "band_response", "sensor_alone", "channel_verdict"}
    assert {p.stem for p in NOTEBOOKS} >= names


def test_code_cells_are_short_and_plain(notebook):
    for cell in code_cells(notebook):
        assert len(cell.source.splitlines()) <= 10, cell.id
        assert not re.search(r"^\s*(def|for|if|while|class)\b|\bprint\(", cell.source, re.M), cell.id


SET_UP = {"imports", "parameters", "answer"}
"""Cells that stand together at the top, so that the answer is on the first screen."""


def test_every_code_cell_follows_a_text(notebook):
    for before, cell in zip(notebook.cells, notebook.cells[1:], strict=False):
        if cell.cell_type == "code":
            assert before.cell_type == "markdown" or {before.id, cell.id} <= SET_UP, cell.id


def test_the_answer_comes_before_every_further_text(notebook):
    ids = [cell.id for cell in notebook.cells]
    if "answer" in ids:
        assert ids[:4] == ["title", "imports", "parameters", "answer"]


def test_parameters_are_annotated_literals_with_help(notebook):
    (cell,) = [cell for cell in code_cells(notebook) if "parameters" in cell.metadata.get("tags", [])]
    tree = ast.parse(cell.source)
    assert all(isinstance(node, ast.AnnAssign) and isinstance(node.value, ast.Constant) for node in tree.body)
    assert all("# " in line for line in cell.source.splitlines())


def test_text_never_states_an_outcome(notebook):
    text = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    assert not re.search(r"\d+(\.\d+)? (mV|pC|mA)\b|✓|✗", text)


def test_stored_outputs_hold_no_error_and_no_widget(notebook):
    assert not notebook.metadata.get("widgets")
    kinds = {output.output_type for cell in code_cells(notebook) for output in cell.outputs}
    assert kinds == {"display_data"}


def test_every_figure_has_alternative_text(notebook):
    pictures = re.findall(r"<img [^>]*>", "".join(str(o.data) for c in code_cells(notebook) for o in c.outputs))
    figures = [picture for picture in pictures if 'alt=""' not in picture]
    assert figures
    assert all(re.search(r'alt="[^"]{40,}"', figure) for figure in figures)
    beside_their_numbers = [picture for picture in pictures if picture not in figures]
    assert all('width="120" height="18"' in picture for picture in beside_their_numbers)
