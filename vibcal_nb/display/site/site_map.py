"""A site as a map: a strip a machine, its bearings in train order, a cell a channel that leads to its record.

Groups that vote stand behind the bearings: they are no place on the machine.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from html import escape

from vibcal_nb.analysis.site.channel_state import ChannelState
from vibcal_nb.analysis.site.site_overview import SiteOverview
from vibcal_nb.display.site.site_links import linked
from vibcal_nb.display.site.site_style import SITE_STYLE, verdict_class
from vibcal_nb.display.site.site_tables import counted
from vibcal_nb.display.style import VERDICT_LOOKS

VOTES = "groups that vote"
OPEN = 12  # machines whose strips stand open; of a larger site, those with something to be done
_NOTHING = 8  # the urgency of a channel of which nothing is to be done


def site_map_html(overview: SiteOverview) -> str:
    """Return the map as HTML: the machines with the most urgent channels first, and those of a large site folded."""
    machines: dict[str, list[ChannelState]] = {}
    for state in overview.channels:  # by urgency, and so are the machines
        machines.setdefault(state.asset, []).append(state)
    strips = list(machines.items())
    shown = "".join(_machine(asset, own) for asset, own in strips[:OPEN])
    folded = "".join(
        f"<details><summary>{escape(asset)}: {_progress(own)}</summary>{_strip(own)}</details>"
        for asset, own in strips[OPEN:]
    )
    return f'<style>{SITE_STYLE}</style><div class="site">{shown}{folded}</div>'


def _machine(asset: str, own: Sequence[ChannelState]) -> str:
    return f"<h3>{escape(asset)}: {_progress(own)}</h3>{_strip(own)}"


def _progress(own: Sequence[ChannelState]) -> str:
    asked = sum(state.urgency < _NOTHING for state in own)
    return f"{counted(own)}, {f'{asked} with something to do' if asked else 'nothing to do'}"


def _strip(own: Sequence[ChannelState]) -> str:
    bearings: dict[str, list[ChannelState]] = {}
    for state in sorted(own, key=lambda state: (state.is_group, in_train_order(state.channel))):
        bearings.setdefault(_bearing(state), []).append(state)
    return f'<div class="strip">{"".join(_group(name, states) for name, states in bearings.items())}</div>'


def in_train_order(tag: str) -> list[tuple[int, str]]:
    """Return what a tag is sorted by: its numbers as numbers, since tags are counted along the train."""
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in re.split(r"(\d+)", tag)]


def _bearing(state: ChannelState) -> str:
    """The place of a channel without its direction, which a comma parts from it."""
    if state.is_group:
        return VOTES
    return state.location.rpartition(",")[0] or state.location


def _group(name: str, states: Sequence[ChannelState]) -> str:
    return f'<div class="bearing"><p>{escape(name)}</p>{"".join(map(_cell, states))}</div>'


def _cell(state: ChannelState) -> str:
    tag = state.channel.removeprefix(f"{state.asset}-")
    text = f"{VERDICT_LOOKS[state.verdict].symbol} {tag} {_direction(state)}".strip()
    return linked(state, text, look=f"cell {verdict_class(state.verdict)}")


def _direction(state: ChannelState) -> str:
    """The direction of a channel, which stands behind the comma; of a group its logic, which comes first."""
    if state.is_group:
        return state.location.partition(" of ")[0]
    return state.location.rpartition(",")[2].strip() if "," in state.location else ""


def site_map_text(overview: SiteOverview) -> str:
    """Return the map as plain text, a machine a line."""
    return "\n".join(_lines(overview))


def _lines(overview: SiteOverview) -> Iterator[str]:
    for asset in dict.fromkeys(state.asset for state in overview.channels):
        own = [state for state in overview.channels if state.asset == asset]
        yield f"{asset}: {', '.join(f'{state.channel} {state.verdict}' for state in own)}"
