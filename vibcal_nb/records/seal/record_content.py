"""What a sealed record says of itself: which record it is, how it was made, and its result."""

from __future__ import annotations

import platform
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from typing import Any

from vibcal_nb.display.writing.names import spoken

MIME_TYPE = "application/vnd.vibcal-nb.result+json"
_SOFTWARE = ("vibcal_nb", "numpy", "scipy", "matplotlib", "papermill")


def results_in(notebook: Any) -> list[Any]:
    """Return every result, whatever it holds, that the outputs of a notebook's content carry."""
    cells = notebook.get("cells", ()) if isinstance(notebook, Mapping) else ()
    return [
        output["data"][MIME_TYPE]
        for cell in cells
        for output in cell.get("outputs", ())
        if MIME_TYPE in output.get("data", {})
    ]


def result_of(notebook: Any) -> dict[str, Any]:
    """Return the result inside a record's content; empty where there is none or more than one."""
    found = results_in(notebook)
    return found[0] if len(found) == 1 and isinstance(found[0], dict) else {}


def identity_line(seal: Mapping[str, Any]) -> str:
    """Name a record in one line: channel, analysis, condition, asset and visit, revision."""
    record = seal.get("record", {})
    analysis, condition = str(record.get("analysis")), str(record.get("condition"))
    words = [spoken(analysis), spoken(condition)]
    revision = f", revision {seal['revision']}" if seal.get("revision", 1) != 1 else ""
    return f"{record.get('channel')}, {', '.join(words)} ({record.get('asset')}, visit {record.get('visit')}){revision}"


def seal_rows(seal: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return what a seal says as pairs of name and text, for a table."""
    parameters = ", ".join(f"{name} = {value}" for name, value in seal.get("parameters", {}).items())
    software = ", ".join(f"{name} {value}" for name, value in seal.get("environment", {}).items())
    rows = [
        ("digest, SHA-256", seal["digest"]),
        ("made", str(seal.get("made", ""))),
        ("parameters", parameters),
        ("made with", software),
        ("revision", str(seal.get("revision", ""))),
    ]
    replaces = seal.get("replaces")
    if replaces:
        rows.append(("replaces", f"{replaces['record']}, seal {replaces['seal'] or 'none'}"))
        rows.append(("what changed", "; ".join(replaces["changed"])))
    return rows


@cache
def environment() -> dict[str, str]:
    """Return the software that seals: Python, the libraries that computed, and the kind of system."""
    found = {"Python": platform.python_version()}
    for name in _SOFTWARE:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "unknown"
    return {**found, "system": f"{platform.system()} {platform.machine()}"}


def now() -> str:
    """Return the time in UTC to the second, as ISO 8601 writes it."""
    return datetime.now(UTC).isoformat(timespec="seconds")
