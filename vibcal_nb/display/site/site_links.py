"""Links from the site's page to the pages of records, which lie below it; none where there is no record."""

from __future__ import annotations

from html import escape
from pathlib import PurePosixPath
from urllib.parse import quote

from vibcal_nb.analysis.site.channel_state import ChannelState

_NOTEBOOK = ".ipynb"


def page_of(state: ChannelState) -> str | None:
    """Return where the page of the record that decides a channel's state lies, as a link has it.

    None where there is no record, or where its path leads out of the records folder: a register may come from anybody.
    """
    place = PurePosixPath(state.record)
    if place.suffix != _NOTEBOOK or place.is_absolute() or ".." in place.parts:
        return None
    return quote(f"{state.record.removesuffix(_NOTEBOOK)}.html")


def linked(state: ChannelState, text: str, *, look: str = "") -> str:
    """Return a text as HTML that leads to a channel's record; ``look`` are its classes."""
    place, classes = page_of(state), f' class="{look}"' if look else ""
    title = f' title="{escape(state.location)}"' if state.location else ""
    if place is None:
        return f"<span{classes}{title}>{escape(text)}</span>"
    return f'<a{classes} href="{escape(place)}"{title}>{escape(text)}</a>'
