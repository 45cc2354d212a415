"""Cells executed in a forked process, as records are: the outputs of a Jupyter kernel, and its ways to fail."""

from __future__ import annotations

import sys
import warnings

import nbformat
import papermill
import pytest
from jupyter_client.manager import AsyncKernelManager
from nbclient.exceptions import CellTimeoutError, DeadKernelError

from tests.support.kept.same_record import timeless
from tests.support.places import ROOT
from tests.support.running.warm_kernel import is_running
from vibcal_nb.running.kernels import template_client as template_process
from vibcal_nb.running.kernels.execute_notebook import call_papermill
from vibcal_nb.running.kernels.papermill_engine import ENGINE
from vibcal_nb.running.kernels.template_client import WarmKernelFailed

FORKED, KERNEL = {"engine_name": ENGINE}, {"kernel_manager_class": AsyncKernelManager}
pytestmark = [
    pytest.mark.filterwarnings("default"),  # what jupyter_client and ipykernel warn of is not ours
    pytest.mark.skipif(sys.platform != "linux", reason="forked processes need Linux"),
]


def execute(folder, *sources, seconds=120, **way):
    cells = [nbformat.v4.new_code_cell(source) for source in sources]
    kernel = {"name": "python3", "display_name": "Python", "language": "python"}
    path = folder / "cells.ipynb"
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": kernel}), path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return call_papermill(path, folder / "out.ipynb", parameters={}, cell_seconds=seconds, **way)


def said(notebook):
    return eval(notebook.cells[-1].outputs[0]["data"]["text/plain"])


SHOWN = (
    "1 + 1",
    "print('a'); print('b', end='')",
    "import sys; print('c', file=sys.stderr); sys.stderr.write('d')",
    "print('before'); display('between'); print('after')",
    "2;",
    "_ + 1",
    "from IPython.display import display, HTML, Image; display(HTML('<p>µ')); HTML('<b>')",
    "display({'application/vnd.x+json': {'a': [1, None, 'ü']}, 'text/plain': 't'}, raw=True)",
    "import matplotlib.pyplot as plt; plt.figure(figsize=(1, 1)); plt.plot([1, 2]); plt.show()",
    "import numpy as np; np.arange(3)",
    "import asyncio; await asyncio.sleep(0, 'awaited')",
    "display('gone'); from IPython.display import clear_output; clear_output(); display('stays')",
    "import warnings; warnings.simplefilter('ignore'); __name__, sorted(n for n in globals() if n[0] != '_')",
    "",
)


def test_the_outputs_are_those_of_a_kernel(tmp_path):
    forked, kernel = execute(tmp_path, *SHOWN, **FORKED), execute(tmp_path, *SHOWN, **KERNEL)
    for source, one, other in zip(SHOWN, forked.cells, kernel.cells, strict=True):
        assert (source, one.outputs, one.execution_count) == (source, other.outputs, other.execution_count)
    assert forked.metadata["language_info"] == kernel.metadata["language_info"]


@pytest.mark.parametrize("source", ["1 / 0", "raise SystemExit(3)", "x = = 1", "from nowhere import it"])
def test_a_cell_that_fails_ends_it_as_in_a_kernel(tmp_path, source):
    told = []
    for way in (FORKED, KERNEL):
        with pytest.raises(papermill.PapermillExecutionError) as raised:
            execute(tmp_path, "a = 1", source, "never = 1", **way)
        written = nbformat.read(tmp_path / "out.ipynb", as_version=4)
        kinds = [[output["output_type"] for output in cell.get("outputs", ())] for cell in written.cells]
        told.append((raised.value.ename, raised.value.evalue, raised.value.exec_count, kinds))
    assert told[0] == told[1]


@pytest.mark.parametrize("name", ["linearity", "band_response", "sensor_alone"])
def test_records_are_equal_to_those_of_a_kernel(tmp_path, name):
    parameters = {"visit_folder": "data_demo/STG-1/2026-05-19", "channel": "STG-1-V12", "condition": "as-found"}
    records = []
    for way in (FORKED, KERNEL):
        output = tmp_path / "record.ipynb"
        call_papermill(ROOT / "notebooks" / f"{name}.ipynb", output, parameters=parameters, cell_seconds=120, **way)
        records.append(timeless(output))
    assert records[0] == records[1]


def test_a_process_that_hangs_is_killed(tmp_path):
    source = f"import os, time; open({str(tmp_path / 'pid')!r}, 'w').write(str(os.getpid())); time.sleep(600)"
    with pytest.raises(CellTimeoutError):
        execute(tmp_path, source, seconds=5, **FORKED)
    assert not is_running(int((tmp_path / "pid").read_text(encoding="utf-8")))


def test_a_process_that_dies_is_told(tmp_path):
    with pytest.raises(DeadKernelError):
        execute(tmp_path, "import os; os._exit(1)", **FORKED)


def test_every_notebook_has_a_process_of_its_own(tmp_path):
    source = "import os, random, numpy; os.getpid(), os.getppid(), random.random(), numpy.random.rand()"
    one, other = (said(execute(tmp_path, "left_over = 1", source, **FORKED)) for _ in range(2))
    assert one[1] == other[1]  # forked from one template
    assert not {one[0], *one[2:]} & {other[0], *other[2:]}
    assert said(execute(tmp_path, "'left_over' in globals()", **FORKED)) is False


def test_where_nothing_can_be_forked_that_is_said(tmp_path, monkeypatch):
    monkeypatch.setattr(template_process, "current_platform", lambda: "another")
    with pytest.raises(WarmKernelFailed, match="need Linux"):
        execute(tmp_path, "1", **FORKED)


def test_only_what_a_record_uses_is_loaded(tmp_path):
    heavy = ("ipywidgets", "distributed", "dask", "typst", "openpyxl", "pandas", "scipy.stats", "papermill", "nbformat")
    source = f"import sys; [name for name in {heavy!r} if name in sys.modules]"
    assert said(execute(tmp_path, source, **FORKED)) == []
