"""Rooms stand above what they use: a room imports only from rooms below it, and no imports run in a circle."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

import vibcal_nb
from tests.support.places import ROOT

PACKAGE = Path(vibcal_nb.__file__).parent
MODULES = {
    path.relative_to(PACKAGE.parent).with_suffix("").as_posix().replace("/", ".").removesuffix(".__init__"): path
    for path in sorted(PACKAGE.rglob("*.py"))
}
BELOW = {
    "arrays": set(),
    "units": {"arrays", "problems"},
    "problems": set(),
    "metrology": {"arrays"},
    "model": {"arrays", "units", "problems", "metrology"},
    "inputs": {"arrays", "units", "problems", "metrology", "model"},
    "analysis": {"arrays", "units", "problems", "metrology", "model"},
    "display": {"arrays", "units", "problems", "metrology", "model", "inputs", "analysis"},
}
BELOW["records"] = {*BELOW["display"], "display"}
BELOW["face"] = {*BELOW["records"], "records"}
BELOW["notebook"] = {*BELOW["records"], "records"}
BELOW["running"] = {*BELOW["notebook"], "notebook"}
STOREYS = {"running": ("kernels", "fleet", "verify", "commands")}


def imported(path: Path) -> set[str]:
    """Every module that a file names in an import, those of the package in full."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {
                full if (full := f"{node.module}.{alias.name}") in MODULES else node.module for alias in node.names
            }
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    return names


def room_of(module: str) -> str:
    return [*module.split("."), ""][1]


@pytest.mark.parametrize("module", [name for name in MODULES if room_of(name) in BELOW])
def test_a_room_imports_only_from_rooms_below_it(module):
    own = room_of(module)
    for name in imported(MODULES[module]):
        if name.startswith("vibcal_nb."):
            assert room_of(name) in {*BELOW[own], own}, f"{module} imports {name}"


@pytest.mark.parametrize("module", [name for name in MODULES if room_of(name) in STOREYS])
def test_within_a_room_imports_go_down_the_storeys(module):
    storeys = STOREYS[room_of(module)]
    own = module.split(".")[2] if module.count(".") > 1 else storeys[-1]
    for name in imported(MODULES[module]):
        if room_of(name) == room_of(module) and name.count(".") > 1:
            assert storeys.index(name.split(".")[2]) <= storeys.index(own), f"{module} imports {name}"


@pytest.mark.parametrize("path", sorted(ROOT.glob("tests/**/*.py")), ids=lambda p: p.relative_to(ROOT).as_posix())
def test_nothing_imports_a_test_module(path):
    assert not [name for name in imported(path) if name.startswith("tests.") and ".test_" in name]


def test_every_room_has_its_place():
    rooms = {room_of(name) for name in MODULES} - {"", "__main__"}
    assert rooms == set(BELOW)


def test_no_imports_run_in_a_circle():
    """Also not by an import within a function, which only hides a circle."""
    arrows = {name: sorted(imported(path) & set(MODULES) - {name}) for name, path in MODULES.items()}
    done: set[str] = set()

    def walk(name: str, path: tuple[str, ...]) -> None:
        assert name not in path, " -> ".join([*path[path.index(name) :], name])
        if name not in done:
            for target in arrows[name]:
                walk(target, (*path, name))
            done.add(name)

    for name in MODULES:
        walk(name, ())


@pytest.mark.parametrize("folder", sorted({path.parent for path in MODULES.values()}), ids=lambda p: p.name)
def test_a_folder_is_small_and_opens_with_its_map(folder):
    modules = [path for path in folder.glob("*.py") if path.name != "__init__.py"]
    assert len(modules) <= 14
    map_ = ast.get_docstring(ast.parse((folder / "__init__.py").read_text(encoding="utf-8"))) or ""
    rooms = [inner.parent for inner in folder.glob("*/__init__.py")]
    missing = [item.stem for item in (*modules, *rooms) if not re.search(rf"\b{item.stem}\b", map_)]
    assert folder == PACKAGE or missing == [], "name them in the folder's __init__"


@pytest.mark.parametrize("module", [name for name in MODULES if room_of(name) in ("metrology", "analysis")])
def test_analysis_knows_no_file_plot_widget_or_clock(module):
    forbidden = {"pathlib", "os", "matplotlib", "ipywidgets", "time", "random", "pandas", "IPython", "scipy.stats"}
    assert not imported(MODULES[module]) & forbidden


def test_a_standard_notebook_loads_nothing_it_does_not_use():
    code = (
        "import sys; import vibcal_nb.notebook.record, vibcal_nb.notebook.panels.what_if;"
        "import vibcal_nb.analysis.linearity.linearity;"
        "print(sorted({'pandas', 'ipywidgets', 'openpyxl', 'papermill', 'scipy.stats'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_making_records_loads_no_grammars_of_addresses():
    code = (
        "import sys; from vibcal_nb.records.files.lean_imports import import_papermill; import_papermill();"
        "from vibcal_nb.running.fleet import make_record; from vibcal_nb.running.kernels import papermill_engine;"
        "print(sorted({'papermill', 'nbformat', 'jsonschema', 'lark', 'rfc3987_syntax'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['jsonschema', 'nbformat', 'papermill']"


def test_the_schemas_of_notebooks_ask_for_no_format_that_is_left_out():
    schemas = sorted(Path(nbformat.__file__).parent.glob("v*/*.schema.json"))
    formats = {name for path in schemas for name in re.findall(r'"format": *"([^"]+)"', path.read_text("utf-8"))}
    assert schemas
    assert not {"iri", "iri-reference"} & formats
