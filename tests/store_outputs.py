"""Execute notebooks and store their outputs, which the tests compare: python -m tests.store_outputs [NAME...]."""

from __future__ import annotations

import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient

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


def main() -> None:
    names = sys.argv[1:] or sorted(path.stem for path in NOTEBOOKS.glob("*.ipynb"))
    for name in names:
        store_outputs(NOTEBOOKS / f"{name}.ipynb")


if __name__ == "__main__":
    main()
