"""A notebook that failed: kept beside, for whoever finds out why, and marked so that nobody takes it for a record."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from vibcal_nb.records.files.canonical import kept_bytes
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.seal.seal import METADATA_KEY

_MARK_ID = "not-a-record"


def keep_failed(executed: Path, failed: Path, *, sentence: str) -> None:
    """Write the notebook at ``executed`` to ``failed`` with the sentence of what went wrong on its top.

    A file that is no notebook any more (the run was cut off while it was written) is left out. Raises ``OSError``.
    """
    try:
        notebook = json.loads(executed.read_text(encoding="utf-8"))
        cells, metadata = notebook["cells"], notebook["metadata"]
    except (ValueError, KeyError, TypeError):
        return
    notebook["cells"] = [_mark(sentence), *(cell for cell in cells if cell.get("id") != _MARK_ID)]
    metadata[METADATA_KEY] = {"failed": sentence}
    write_atomically(failed, kept_bytes(notebook))


def _mark(sentence: str) -> dict[str, Any]:
    plain = "".join(f"\\{c}" if c in r"\`*_{}[]<>()#+-.!|~$&" else c for c in sentence)
    lines = ["# This is not a record\n", "\n", f"The notebook failed: {plain}\n", "\n", "It holds no verdict."]
    return {"cell_type": "markdown", "id": _MARK_ID, "metadata": {}, "source": lines}
