"""The records that a reviewer returned and that no other revision replaced, as the register has them."""

from __future__ import annotations

from pathlib import Path

from vibcal_nb.records.register.documents import RETURN
from vibcal_nb.records.register.register import read_columns, read_documents, register_path


def returned_records(records: Path) -> list[tuple[str, str]]:
    """Return the place of each such record, and who returned it, when and why. Raises ``RegisterUnusable``."""
    path = register_path(records)
    hold = {str(seal): str(record) for record, seal in read_columns(path, ("record", "seal"))}
    return [(hold[item.seal], item.said) for item in read_documents(path) if item.kind == RETURN and item.seal in hold]
