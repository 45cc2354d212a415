"""Where the files of a record lie."""

from __future__ import annotations

from pathlib import Path

SUPERSEDED = "superseded"


def page_path(record: Path) -> Path:
    """Return where the page of a record lies: beside it."""
    return record.with_suffix(".html")


def sheet_path(record: Path) -> Path:
    """Return where the sheet of a record's channel lies: beside it, named as the channel's folder."""
    return record.with_name(f"{record.parent.name}.pdf")


RESULTS_FILE = "results.json"
