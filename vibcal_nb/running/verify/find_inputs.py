"""Where the inputs of a record are now."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.records.files.plain_files import is_plain


def find_inputs(seal: Mapping[str, Any], inputs: Path | None) -> Path | None:
    """Find the visit folder that a record was made from; None where it is not at hand."""
    stated = str(seal.get("parameters", {}).get("visit_folder", ""))
    if not stated or stated.startswith(("\\\\", "//")):  # nothing is fetched from a network share a record names
        return None
    folder = Path(stated)
    places = [folder]
    if inputs is not None:
        places = [inputs, inputs / folder.name, inputs / folder.parent.name / folder.name]
    found = [place for place in places if place.name == folder.name and is_plain(place / "visit.toml")]
    return found[0] if found else None
