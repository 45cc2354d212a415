"""Tables of a site besides the matrix: the count of channels, what to do, equipment, and shifts that all share."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from html import escape

from vibcal_nb.analysis.site.channel_state import ChannelState
from vibcal_nb.analysis.site.site_overview import Action, SiteOverview
from vibcal_nb.display.site.site_links import linked
from vibcal_nb.display.site.site_style import SITE_STYLE
from vibcal_nb.display.style import verdict_text
from vibcal_nb.display.writing.names import plural, spoken
from vibcal_nb.display.writing.numbers import NONE, fixed, percent, true_minus
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.conformity.decision import VERDICTS
from vibcal_nb.model.names import TESTS

MOST_ROWS = 20  # assets, or shifts, that a table lists
MOST_NAMED = 12  # subjects that an action names; the matrix has them all


def counted(states: Sequence[ChannelState]) -> str:
    """Count channels, and groups that vote apart."""
    groups = sum(state.is_group for state in states)
    channels = plural(len(states) - groups, "channel")
    if not groups:
        return channels
    votes = f"{groups} {'group that votes' if groups == 1 else 'groups that vote'}"
    return votes if groups == len(states) else f"{channels} and {votes}"


def overdue(overview: SiteOverview) -> str:
    """Count what is overdue for a visit, channels and groups apart; nothing where nothing is."""
    late = [state for state in overview.channels if state.overdue_days > 0]
    return counted(late) if late else ""


def site_sentence(overview: SiteOverview) -> str:
    """Say the state of the site in one sentence."""
    words = Counter(state.verdict for state in overview.channels)
    counts = ", ".join(f"{words[word]} {word}" for word in VERDICTS if words[word])
    retired = f"; {len(overview.retired)} retired" if overview.retired else ""
    return (
        f"On {overview.on.isoformat()}: {counted(overview.channels)} of "
        f"{plural(len({state.asset for state in overview.channels}), 'asset')} from "
        f"{plural(overview.results, 'result')}; {counts}; "
        f"overdue for a visit: {overdue(overview) or 'none'}{retired}"
    )


def counts_table(overview: SiteOverview) -> Table:
    """Verdicts as left, by asset."""
    assets: dict[str, Counter[str]] = {}
    for state in overview.channels:
        assets.setdefault(state.asset, Counter())[state.verdict] += 1
    words = [word for word in VERDICTS if any(own[word] for own in assets.values())]
    ranked = sorted(assets.items(), key=lambda pair: (*(-pair[1][word] for word in reversed(words)), pair[0]))
    more = len(ranked) - MOST_ROWS
    groups = any(state.is_group for state in overview.channels)
    rows = [
        Row(cells=(asset, str(sum(own.values())), *(str(own[word] or NONE) for word in words)))
        for asset, own in ranked[:MOST_ROWS]
    ]
    return Table(
        caption="Channels by their verdict, as left at the last visit",
        headings=("asset", "channels and groups" if groups else "channels", *(verdict_text(word) for word in words)),
        rows=tuple(rows),
        note="The verdict is that on the whole channel; where none was made, the worst of its tests."
        + (" A group that votes counts by itself, beside its channels." if groups else "")
        + (f" The worst {MOST_ROWS} assets; {more} more are in the matrix." if more > 0 else ""),
    )


NOTHING_TO_DO = 8
URGENCY_WORDS = {
    1: "now",
    2: "soon",
    3: "decide",
    4: "overdue",
    5: "cover",
    6: "judge",
    7: "watch",
    NOTHING_TO_DO: "nothing",
}
"""Each urgency in a word: what is asked for."""


def in_words(reason: str) -> str:
    """Write a reason as a sentence has it: tests without their hyphens, each minus as one."""
    for test in TESTS:
        reason = reason.replace(test, spoken(test))
    return true_minus(reason).replace("E_n", "Eₙ")


def actions_table(overview: SiteOverview) -> Table:
    """What to do, the most urgent first."""
    rows = []
    for action in overview.actions:
        named = ", ".join([*action.subjects[:MOST_NAMED], *_more(action)])
        rows.append(Row(cells=(URGENCY_WORDS[action.urgency], action.what, str(len(action.subjects)), named)))
    return Table(caption=_caption(overview), headings=_ACTIONS, rows=tuple(rows), text_columns=(0, 1, 3))


def actions_html(overview: SiteOverview) -> str:
    """Return what to do as HTML, each channel with a link to its record."""
    states = {state.channel: state for state in overview.channels}
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in _ACTIONS)
    rows = []
    for action in overview.actions:
        named = [_linked(states, subject) for subject in action.subjects[:MOST_NAMED]] + _more(action)
        word, what = URGENCY_WORDS[action.urgency], escape(action.what)
        count = len(action.subjects)
        rows.append(f"<tr><td><b>{word}</b></td><td>{what}</td><td>{count}</td><td>{', '.join(named)}</td></tr>")
    caption = f'<caption style="text-align: left; font-weight: bold">{_caption(overview)}</caption>'
    return (
        f"<style>{SITE_STYLE}</style><table class=site>{caption}<thead><tr>{head}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table>"
    )


_ACTIONS = ("urgency", "what", "number", "which")


def _caption(overview: SiteOverview) -> str:
    return "The most urgent first" if overview.actions else "Nothing is to be done"


def _more(action: Action) -> list[str]:
    more = len(action.subjects) - MOST_NAMED
    return [f"and {more} more"] if more > 0 else []


def _linked(states: Mapping[str, ChannelState], subject: str) -> str:
    return linked(states[subject], subject) if subject in states else escape(subject)


def instruments_table(overview: SiteOverview) -> Table:
    """Reference and readout equipment under its latest certificate."""
    rows = []
    for state in overview.instruments:
        item = state.instrument
        due = f"overdue by {state.overdue_days} days" if state.overdue_days > 0 else f"in {-state.overdue_days} days"
        late = "; ".join(state.used_overdue) or NONE
        cells = (item.id, item.kind, item.serial, item.calibrated.isoformat(), item.due.isoformat(), due)
        rows.append(Row(cells=(*cells, state.last_used.isoformat(), late)))
    return Table(
        caption="Equipment, as the results name it",
        headings=("id", "kind", "serial", "calibrated", "due", "due on that day", "last used", "used when overdue"),
        rows=tuple(rows),
        text_columns=(0, 1, 2, 3, 4, 5, 6, 7),
        note="The latest certificate of each serial number.",
    )


def shifts_table(overview: SiteOverview) -> Table:
    """Shifts that channels share, which point to the reference."""
    rows = [
        Row(
            cells=(
                shift.occasion,
                percent(shift.shift_pct),
                percent(shift.expanded.U, signed=False),
                fixed(shift.E_n, signed=True),
                f"{shift.alike} of {shift.channels}",
            )
        )
        for shift in overview.shifts[:MOST_ROWS]
    ]
    more = len(overview.shifts) - MOST_ROWS
    left_out = f" {more} more occasions are not listed." if more > 0 else ""
    return Table(
        caption="Shifts that channels share",
        headings=("where", "median shift", "U", "Eₙ", "moved alike"),
        rows=tuple(rows),
        note="Against the same channels on all other occasions, adjustments taken out; U is that of what the readings "
        "share. Three occasions and five channels are needed. A shift that all share is the reference's (or of what "
        "else they share), and not the channels'; changes from or to such an occasion are not held against them."
        + left_out,
    )
