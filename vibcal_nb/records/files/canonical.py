"""One byte sequence for one content: the form a record's file is kept in, and the form its sums are taken over.

Both are JSON with sorted keys in UTF-8. A file in the kept form cannot be altered by a byte without altering
its content too: whatever reads as the same content in other bytes is not in this form.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any


def kept_bytes(content: Any) -> bytes:
    """Return a notebook's content as its file holds it: the form in which notebooks are commonly saved.

    One space of indentation, sorted keys, characters as themselves, LF, a line end at the end. ``content`` is
    JSON as read from a file. Raises ``RecursionError`` where it is nested too deeply.
    """
    text = json.dumps(content, sort_keys=True, indent=1, ensure_ascii=False, separators=(",", ": "))
    return (text + "\n").encode("utf-8", "surrogatepass")


def sum_of(content: Any) -> str:
    """Return the SHA-256 sum of some JSON content, in hexadecimal, over its compact form."""
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def results_bytes(content: Any) -> bytes:
    """Return the content of a results file as the file holds it. Raises ``ValueError`` where it holds NaN."""
    text = json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False)
    return (text + "\n").encode("utf-8", "surrogatepass")
