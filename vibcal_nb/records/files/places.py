"""Where the files of a record lie."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from vibcal_nb.problems import Refused

# Not allowed in a file name on Windows, and "%" because it is the escape.
_UNSAFE = re.compile(r'[<>:"/\\|?*%\x00-\x1f\x7f]|^\.|[. ]$')
_RESERVED = re.compile(r"(?i)^(con|prn|aux|nul|com\d|lpt\d)(?=\.|$)")

OVERVIEW = "site_overview"
SUPERSEDED = "superseded"


def require_place(path: Path) -> None:
    """Raise ``Refused`` where a person names a record or a folder that is not there."""
    if not path.exists():
        raise Refused(f"{path.as_posix()}: no such file or folder; give a record, or a folder of records.")


def no_record_in(paths: Iterable[Path]) -> str:
    """Say that what a person named holds no record."""
    named = ", ".join(dict.fromkeys(path.as_posix() for path in paths))
    return f"There is no record here ({named}); give a record, or a folder of records, as run makes it."


def page_path(record: Path) -> Path:
    """Return where the page of a record lies: beside it."""
    return record.with_suffix(".html")


def sheet_path(record: Path) -> Path:
    """Return where the sheet of a record's channel lies: beside it, named as the channel's folder."""
    return record.with_name(f"{record.parent.name}.pdf")


RESULTS_FILE = "results.json"


def path_name(name: str) -> str:
    """Make a file name of a tag: what some system does not allow in one is percent-encoded.

    So a tag such as ``V11/A`` or ``..`` names a file in its folder and never another folder.
    """
    encoded = _UNSAFE.sub(lambda found: _percent(found.group()), name)
    return _RESERVED.sub(lambda found: _percent(found.group()[0]) + found.group()[1:], encoded)


def _percent(characters: str) -> str:
    return "".join(f"%{byte:02X}" for byte in characters.encode())


def record_stem(analysis: str, condition: str) -> str:
    """Return what the files of a record are called, but for their endings."""
    return f"{path_name(analysis)}.{path_name(condition)}"
