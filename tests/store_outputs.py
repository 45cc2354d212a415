"""Execute notebooks and store their outputs, which the tests compare: python -m tests.store_outputs [NAME...].

What the notebooks execute is written down, too, by its sum: `run` makes records with these notebooks and no others.
"""

from __future__ import annotations

import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient

from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.running.fleet import own_notebooks
from vibcal_nb.running.fleet.own_notebooks import OWN_NOTEBOOKS
from vibcal_nb.running.fleet.stamp import notebook_stamp, package_version

NOTEBOOKS = Path(__file__).parent.parent / "notebooks"


def store_outputs(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    for cell in notebook.cells:
        cell.metadata.pop("papermill", None)
        cell.metadata.pop("execution", None)
    NotebookClient(
        notebook,
        record_timing=False,
        resources={"metadata": {"path": str(NOTEBOOKS)}},
        extra_arguments=["--IPKernelApp.log_level=50"],
    ).execute()
    notebook.metadata.pop("papermill", None)
    notebook.metadata["language_info"] = {"name": "python"}
    nbformat.write(notebook, path)


def write_sums() -> None:
    """Write the sums of the notebooks that make records as those of the package's own of this version."""
    names = sorted(analysis_named(name).notebook for name in ANALYSES)
    sums = {name: notebook_stamp(NOTEBOOKS / name)["sha256"] for name in names}
    known = {**OWN_NOTEBOOKS, package_version(): sums}
    path = Path(own_notebooks.__file__)
    head, _, rest = path.read_text(encoding="utf-8").partition("OWN_NOTEBOOKS: ")
    _, _, tail = rest.partition("\n}\n")
    lines = [
        line
        for version, own in known.items()
        for line in (
            f'    "{version}": {{',
            *(f'        "{name}": "{digest}",' for name, digest in own.items()),
            "    },",
        )
    ]
    said = "OWN_NOTEBOOKS: Mapping[str, Mapping[str, str]] = {\n" + "\n".join(lines)
    path.write_text(f"{head}{said}\n}}\n{tail}", encoding="utf-8")


def main() -> None:
    names = sys.argv[1:] or sorted(path.stem for path in NOTEBOOKS.glob("*.ipynb"))
    for name in names:
        store_outputs(NOTEBOOKS / f"{name}.ipynb")
    write_sums()


if __name__ == "__main__":
    main()
