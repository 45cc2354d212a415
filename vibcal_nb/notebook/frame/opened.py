"""What this notebook has opened: the statement of what each of its results is made from, until the result is kept."""

from __future__ import annotations

from typing import Any

_opened: dict[tuple[str, str], dict[str, Any]] = {}


def note_opened(statement: dict[str, Any], *, channel: str, condition: str) -> None:
    """Note what the next result of this channel and condition will be made from."""
    _opened[channel, condition] = statement


def opened_inputs(*, channel: str, condition: str) -> dict[str, Any] | None:
    """Return what was noted last; None where nothing was, as for a result that no opener stands behind."""
    return _opened.get((channel, condition))
