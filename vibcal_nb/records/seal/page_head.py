"""The head of a record's page: which record it is, what a reader has to know first, and links to what lies around it.

Every link is relative and leads to where `run` puts the file, so that a copied folder keeps its links.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import escape
from pathlib import PurePosixPath
from typing import Any
from urllib.parse import quote

from vibcal_nb.display.views import VIEWS
from vibcal_nb.records.files.places import OVERVIEW, path_name, record_stem
from vibcal_nb.records.seal.record_content import identity_line, word_signoff
from vibcal_nb.records.seal.seal import METADATA_KEY

_UP = "../../.."  # from a channel's folder to the folder of all records


def page_head(notebook: Mapping[str, Any], seal: Mapping[str, Any]) -> str:
    """Return the head of a record's page as HTML."""
    warnings = "".join(f"<p class=warning><b>{escape(text)}</b></p>" for text in _warnings(notebook, seal))
    links = " · ".join(f'<a href="{escape(quote(place))}">{text}</a>' for text, place in _links(seal))
    around = f"<nav>{links}</nav>" if links else ""
    return f"<p class=identity>{escape(identity_line(seal))}</p>{around}{warnings}"


def _warnings(notebook: Mapping[str, Any], seal: Mapping[str, Any]) -> Iterator[str]:
    """What a reader has to know before anything else."""
    made = notebook["metadata"][METADATA_KEY].get("notebook")
    if isinstance(made, Mapping) and made.get("own") is not True:
        yield f"Made with another notebook than the package's own: {made.get('file')}, SHA-256 {made.get('sha256')}."
    replaces = seal.get("replaces") or {}
    for item in replaces.get("signed_off", ()):
        yield f"Replaces revision {replaces['revision']}, which had been signed off: {word_signoff(item)}."


def _links(seal: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """What lies around a record of a channel, and where."""
    record = seal.get("record", {})
    channel, analysis, condition = (str(record.get(name)) for name in ("channel", "analysis", "condition"))
    if analysis not in VIEWS:
        return
    yield "notebook of this record", f"{record_stem(analysis, condition)}.ipynb"
    yield "report of the channel (PDF)", f"{path_name(channel)}.pdf"
    replaces = seal.get("replaces")
    if replaces:
        yield "revision before", PurePosixPath(str(replaces["record"])).with_suffix(".html").as_posix()
    yield "overview of the site", f"{_UP}/{OVERVIEW}.html"
