"""Data flows one way: inputs -> analysis -> display -> records -> running, and imports only leftward."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

import vibcal_nb

PACKAGE = Path(vibcal_nb.__file__).parent
LAYERS = ("units", "inputs", "analysis", "display", "records", "running")
MODULES = sorted(PACKAGE.rglob("*.py"))


def imported(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    return names


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_imports_go_leftward(path):
    own = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
    if own not in LAYERS:
        return
    for name in imported(path):
        parts = name.split(".")
        if parts[0] == "vibcal_nb" and len(parts) > 1:
            assert LAYERS.index(parts[1]) <= LAYERS.index(own), f"{path.name} imports {name}"


@pytest.mark.parametrize("path", [p for p in MODULES if "analysis" in p.parts], ids=lambda p: p.name)
def test_analysis_knows_no_file_plot_widget_or_clock(path):
    forbidden = {"pathlib", "os", "matplotlib", "ipywidgets", "time", "random", "pandas", "IPython", "scipy.stats"}
    assert not imported(path) & forbidden


def test_a_standard_notebook_loads_nothing_it_does_not_use():
    code = (
        "import sys; import vibcal_nb.records.record, vibcal_nb.display.panels, vibcal_nb.analysis.linearity;"
        "print(sorted({'pandas', 'ipywidgets', 'openpyxl', 'papermill', 'scipy.stats'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_making_records_loads_no_grammars_of_addresses():
    code = (
        "import sys; from vibcal_nb.records.notebook_format import import_papermill; import_papermill();"
        "from vibcal_nb.running import execute, forked_engine;"
        "print(sorted({'papermill', 'nbformat', 'jsonschema', 'lark', 'rfc3987_syntax'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['jsonschema', 'nbformat', 'papermill']"


def test_the_schemas_of_notebooks_ask_for_no_format_that_is_left_out():
    schemas = sorted(Path(nbformat.__file__).parent.glob("v*/*.schema.json"))
    formats = {name for path in schemas for name in re.findall(r'"format": *"([^"]+)"', path.read_text("utf-8"))}
    assert schemas
    assert not {"iri", "iri-reference"} & formats
