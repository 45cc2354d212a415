"""What a sealed record says of itself: which record it is, how it was made, and its result."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from vibcal_nb.display.writing.names import spoken
from vibcal_nb.model.names import ALL_TESTS
from vibcal_nb.records.inputs_used.record_inputs import MIME_TYPE as INPUTS_TYPE
from vibcal_nb.records.seal.surroundings import main_software

MIME_TYPE = "application/vnd.vibcal-nb.result+json"


def results_in(notebook: Any) -> list[Any]:
    """Return every result, whatever it holds, that the outputs of a notebook's content carry."""
    return _shown_as(notebook, MIME_TYPE)


def _shown_as(notebook: Any, kind: str) -> list[Any]:
    cells = notebook.get("cells", ()) if isinstance(notebook, Mapping) else ()
    return [
        output["data"][kind] for cell in cells for output in cell.get("outputs", ()) if kind in output.get("data", {})
    ]


def inputs_of(notebook: Any) -> dict[str, Any]:
    """Return what a record states that it was made from; empty where it states nothing, or more than once."""
    found = _shown_as(notebook, INPUTS_TYPE)
    return found[0] if len(found) == 1 and isinstance(found[0], dict) else {}


def result_of(notebook: Any) -> dict[str, Any]:
    """Return the result inside a record's content; empty where there is none or more than one."""
    found = results_in(notebook)
    return found[0] if len(found) == 1 and isinstance(found[0], dict) else {}


def identity_line(seal: Mapping[str, Any]) -> str:
    """Name a record in one line: channel, analysis, condition, asset and visit, revision; or the site and the day."""
    record = seal.get("record", {})
    analysis, condition = str(record.get("analysis")), str(record.get("condition"))
    if analysis == ALL_TESTS:
        return f"{record.get('channel')} of {record.get('asset')} on {record.get('visit')}"
    words = [spoken(analysis), spoken(condition)]
    revision = f", revision {seal['revision']}" if seal.get("revision", 1) != 1 else ""
    return f"{record.get('channel')}, {', '.join(words)} ({record.get('asset')}, visit {record.get('visit')}){revision}"


def seal_rows(seal: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return what a seal says as pairs of name and text, for a table."""
    parameters = ", ".join(f"{name} = {value}" for name, value in seal.get("parameters", {}).items())
    rows = [
        ("digest, SHA-256", seal["digest"]),
        ("made", str(seal.get("made", ""))),
        ("parameters", parameters),
        ("made with", main_software(seal.get("environment", {}))),
        ("revision", str(seal.get("revision", ""))),
    ]
    replaces = seal.get("replaces")
    if replaces:
        rows.append(("replaces", f"{replaces['record']}, seal {replaces['seal'] or 'none'}"))
        rows.append(("what changed", "; ".join(replaces["changed"])))
        rows += [("had been signed off", word_signoff(item)) for item in replaces.get("signed_off", ())]
    return rows


def word_signoff(item: Mapping[str, Any]) -> str:
    """Say of an entry of ``signed_off`` in a seal who had signed, and how."""
    return f"{item['by']}{', with a signature' if item['signature'] else ', typed and unsigned'}"


def now() -> str:
    """Return the time in UTC to the second, as ISO 8601 writes it."""
    return datetime.now(UTC).isoformat(timespec="seconds")
