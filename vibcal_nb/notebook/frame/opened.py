"""What this notebook has opened: the statement of what each of its results is made from, until the result is kept."""

from __future__ import annotations

from pathlib import Path
from typing import Any

_opened: dict[tuple[str, str], dict[str, Any]] = {}
_folders: dict[tuple[str, str], Path] = {}


def note_opened(statement: dict[str, Any], *, channel: str, condition: str, folder: Path | None = None) -> None:
    """Note what the next result of this channel and condition will be made from, and the folder of its visit."""
    _opened[channel, condition] = statement
    if folder is not None:
        _folders[channel, condition] = folder.absolute()


def opened_folder(*, channel: str, condition: str) -> Path | None:
    """Return the folder of the visit that was opened last; None where none was."""
    return _folders.get((channel, condition))


def opened_inputs(*, channel: str, condition: str) -> dict[str, Any] | None:
    """Return what was noted last; None where nothing was, as for a result that no opener stands behind."""
    return _opened.get((channel, condition))
