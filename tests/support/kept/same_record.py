"""What of a record must be the same whenever it is made: all but times, paths, and ids that are new each time."""

from __future__ import annotations

import json
from pathlib import Path


def timeless(path: Path) -> dict:
    notebook = json.loads(path.read_text(encoding="utf-8"))
    notebook["metadata"].pop("papermill", None)
    own = notebook["metadata"].get("vibcal_nb")
    if own is not None:
        own.pop("seal", None)
    for cell in notebook["cells"]:
        cell["metadata"].pop("papermill", None)
        cell["metadata"].pop("execution", None)
        if "injected-parameters" in cell["metadata"].get("tags", ()):
            cell["id"] = "injected"
    return notebook
