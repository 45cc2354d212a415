"""The file of a visit that is planned: what is known of it, and what is to be filled in."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from vibcal_nb.model.keys.visit_keys import VISIT_FILE
from vibcal_nb.records.files.whole_files import write_atomically


def visit_text(day: date, *, equipment: Sequence[str]) -> str:
    """Return the text of a visit.toml for a planned day; ``equipment`` are ids that would be valid on it."""
    ids = ", ".join(json.dumps(name, ensure_ascii=False) for name in equipment)
    return "\n".join(
        [
            "# A planned visit. It is counted, and stops nothing, until its reading table holds an output.",
            f"date = {day.isoformat()}",
            f'performed_by = ""  # {VISIT_FILE["performed_by"].says}',
            f"equipment = [{ids}]  # {VISIT_FILE['equipment'].says} Proposed: what is valid on that day.",
            "",
        ]
    )


def write_visit(folder: Path, day: date, *, equipment: Sequence[str]) -> None:
    """Make the folder of a planned visit with its visit.toml. Raises ``OSError``."""
    folder.mkdir(parents=True, exist_ok=True)
    write_atomically(folder / "visit.toml", visit_text(day, equipment=equipment).encode("utf-8"))
