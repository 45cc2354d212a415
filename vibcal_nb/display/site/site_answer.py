"""The answer of a site: what fails now, why, and where its record is; what is overdue; how all stand."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from vibcal_nb.analysis.site.channel_state import ChannelState
from vibcal_nb.analysis.site.site_overview import SiteOverview
from vibcal_nb.display.site.site_links import linked
from vibcal_nb.display.site.site_style import SITE_STYLE
from vibcal_nb.display.site.site_tables import in_words, overdue, site_sentence
from vibcal_nb.display.writing.chip import chip_html
from vibcal_nb.display.writing.names import plural

MOST_FAILING = 6  # channels named on the card; the others are in the map
MOST_RETURNED = 6  # records named on the card; review lists all
_NOW = 1  # the urgency of what fails, or does not act
ONCE = "Every channel was visited once: nothing is known of change"


def failing_now(overview: SiteOverview) -> list[ChannelState]:
    """Return the channels that were left failing, or do not act."""
    return [state for state in overview.channels if state.urgency == _NOW]


def site_answer_html(overview: SiteOverview) -> str:
    """Return the answer as HTML: what fails now comes first."""
    lines = "".join(f"<li>{line}</li>" for line in _failing_lines(overview))
    failing = (
        f'<p class="lead"><b>Fails now</b></p><ul>{lines}</ul>'
        if lines
        else '<p class="lead"><b>Nothing fails now.</b></p>'
    )
    rest = "".join(f"<p>{escape(text)}.</p>" for text in site_remarks(overview))
    return (
        f'<style>{SITE_STYLE}</style><div class="answer site"><h1>Site overview, {overview.on.isoformat()}</h1>'
        f"{failing}{rest}</div>"
    )


def site_answer_text(overview: SiteOverview) -> str:
    """Return the answer as plain text."""
    named = [f"{state.channel}: {why(state)}" for state in failing_now(overview)]
    first = f"Fails now: {'; '.join(named)}" if named else "Nothing fails now"
    return "\n".join(f"{text}." for text in (first, *site_remarks(overview)))


def _failing_lines(overview: SiteOverview) -> Iterator[str]:
    failing = failing_now(overview)
    for state in failing[:MOST_FAILING]:
        where = f", {state.location}" if state.location else ""
        yield (
            f"{chip_html(state.verdict)} {linked(state, state.channel)}{escape(where)}: {escape(why(state))} "
            f"(visit of {state.last.isoformat()})"
        )
    if len(failing) > MOST_FAILING:
        yield f"and {plural(len(failing) - MOST_FAILING, 'channel')} more, below"


def why(state: ChannelState) -> str:
    """Say what decides a channel's urgency."""
    return in_words(state.reasons[0]) if state.reasons else "nothing to be done"


def site_remarks(overview: SiteOverview) -> Iterator[str]:
    """Say what was returned and is overdue, how many stand where, and whether anything is known of change."""
    if overview.returned:
        places = [f"{place} ({said})" for place, said in overview.returned[:MOST_RETURNED]]
        more = len(overview.returned) - MOST_RETURNED
        yield f"Returned by a reviewer: {'; '.join([*places, f'and {more} more'] if more > 0 else places)}"
    late = [state for state in overview.instruments if state.overdue_days > 0]
    if late:
        named = ", ".join(f"{item.instrument.id} (due {item.instrument.due.isoformat()})" for item in late)
        yield f"Overdue equipment: {named}"
    waiting = overdue(overview)
    if waiting:
        yield f"Overdue for a visit: {waiting}"
    yield site_sentence(overview)
    if all(state.visits == 1 for state in overview.channels):
        yield ONCE
