"""Execute notebooks and store their outputs, which the tests compare: python -m tests.store_outputs [NAME...].

What the notebooks execute is written down, too, by its sum: `run` makes records with these notebooks and no others.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import nbformat
from nbclient import NotebookClient

from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.running.fleet import own_notebooks
from vibcal_nb.running.fleet.own_notebooks import EARLIER_NOTEBOOKS, OWN_NOTEBOOKS
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
    now, earlier = all_sums(OWN_NOTEBOOKS, EARLIER_NOTEBOOKS, version=package_version(), sums=sums)
    path = Path(own_notebooks.__file__)
    text = path.read_text(encoding="utf-8")
    for name, content in (("OWN_NOTEBOOKS", now), ("EARLIER_NOTEBOOKS", earlier)):
        head, _, rest = text.partition(f"\n{name}: ")
        kind, _, rest = rest.partition(" = {")
        tail = rest.partition("\n\n\n" if name == "EARLIER_NOTEBOOKS" else "\n\n")
        text = f"{head}\n{name}: {kind} = {written(content)}{tail[1]}{tail[2]}"
    path.write_text(text, encoding="utf-8")


def all_sums(
    present: Mapping[str, Mapping[str, str]],
    earlier: Mapping[str, Mapping[str, tuple[str, ...]]],
    *,
    version: str,
    sums: Mapping[str, str],
) -> tuple[dict[str, dict[str, str]], dict[str, dict[str, tuple[str, ...]]]]:
    """Return the present and the earlier sums with those of a version put in; no sum that was known is lost."""
    now = {**{name: dict(own) for name, own in present.items()}, version: dict(sums)}
    before = {name: dict(own) for name, own in earlier.items()}
    of_version = before.setdefault(version, {})
    for file, replaced in present.get(version, {}).items():
        known = of_version.get(file, ())
        if replaced != sums.get(file) and replaced not in known:
            of_version[file] = (*known, replaced)
    return now, before


def written(content: Any, indent: str = "") -> str:
    """Return mappings, tuples and texts as a formatted module states them: one entry a line."""
    if isinstance(content, str):
        return f'"{content}"'
    inner = indent + "    "
    if isinstance(content, tuple) and len(content) == 1:
        return f'("{content[0]}",)'
    if isinstance(content, tuple):
        return "".join(["(\n", *(f'{inner}"{item}",\n' for item in content), indent, ")"])
    lines = [f'{inner}"{key}": {written(value, inner)},\n' for key, value in content.items()]
    return "".join(["{\n", *lines, indent, "}"])


def main() -> None:
    names = sys.argv[1:] or sorted(path.stem for path in NOTEBOOKS.glob("*.ipynb"))
    for name in names:
        store_outputs(NOTEBOOKS / f"{name}.ipynb")
    write_sums()


if __name__ == "__main__":
    main()
