"""What of a notebook is executed or read: its cells without outputs, and without the parameters put in for one run."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from vibcal_nb.records.files.canonical import sum_of

INJECTED = "injected-parameters"


def is_injected(cell: Any) -> bool:
    """Whether a cell holds the parameters that were put in for one run."""
    metadata = cell.get("metadata") if isinstance(cell, Mapping) else None
    tags = metadata.get("tags", ()) if isinstance(metadata, Mapping) else ()
    return isinstance(tags, list | tuple) and INJECTED in tags


def joined(text: Any) -> str:
    """Return a text that a notebook's file may hold as a list of lines."""
    return "".join(text) if isinstance(text, list) else str(text)


def sources_of(notebook: Mapping[str, Any]) -> list[list[Any]]:
    """Return id, kind, tags and source of each cell, in order, without the one that holds injected parameters."""
    return [
        [cell.get("id"), cell.get("cell_type"), cell.get("metadata", {}).get("tags", []), joined(cell.get("source"))]
        for cell in notebook["cells"]
        if not is_injected(cell)
    ]


def sum_of_sources(notebook: Mapping[str, Any]) -> str:
    """Return the SHA-256 sum over what of a notebook is executed or read, whatever outputs are stored in it.

    The same for a notebook and for a record that was made of it.
    """
    return sum_of(sources_of(notebook))
