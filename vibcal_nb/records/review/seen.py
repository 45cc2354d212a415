"""Which records somebody has looked at, by their seals: so that what changed since is told.

Kept in the records folder, hidden, a file a reviewer; it is no evidence and nothing rests on it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from vibcal_nb.records.files.places import path_name
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.signoff.allowed_signers import spelled

_LONGEST = 1 << 24


def seen_path(records: Path, name: str) -> Path:
    """Return where it is kept what somebody has seen of a records folder."""
    return records / f".seen-{path_name(spelled(name) or 'nobody')}.json"


def read_seen(records: Path, name: str) -> dict[str, str]:
    """Return the seals that somebody has seen, by the places of the records; none where nothing can be read."""
    try:
        said = json.loads(read_plain(seen_path(records, name), most=_LONGEST))
        return {str(place): str(seal) for place, seal in said.items()}
    except (OSError, ValueError, AttributeError, RecursionError):
        return {}


def note_seen(records: Path, name: str, seals: Mapping[str, str]) -> None:
    """Note that somebody has seen records. Raises ``OSError``."""
    before = read_seen(records, name)
    if not seals.items() <= before.items():
        text = json.dumps({**before, **seals}, sort_keys=True, indent=1, ensure_ascii=False)
        write_atomically(seen_path(records, name), text + "\n")
