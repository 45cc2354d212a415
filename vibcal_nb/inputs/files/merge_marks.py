"""Marks that version control leaves in a text where two versions of it could not be merged."""

from __future__ import annotations

import re

_MARKS = re.compile(r"(?m)^(<{7}|={7}|>{7})(?: .*)?\r?$")
REMEDY = "keep one of the two versions of each part, and remove the marks"


def merge_marks(text: str) -> str | None:
    """Say where a text holds a conflict that nobody has settled; None where it holds none."""
    found = [(text.count("\n", 0, mark.start()) + 1, mark[1][0]) for mark in _MARKS.finditer(text)]
    if not {"<", "=", ">"} <= {sign for _, sign in found}:
        return None
    rows = [str(row) for row, _ in found]
    more = f" and {len(rows) - 6} more" if len(rows) > 6 else ""
    return f"merge-conflict marks of version control in lines {', '.join(rows[:6])}{more}"
