"""The file of a visit that is planned: what is known of it, and what is to be filled in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.new_files.file_texts import VISIT, visit_text


def write_visit(folder: Path, day: date, *, equipment: Sequence[str]) -> None:
    """Make the folder of a planned visit with its visit.toml. Raises ``OSError``."""
    write_atomically(folder / VISIT, visit_text(day, equipment=equipment))
