"""Tables of a site besides the matrix: the count of channels, what to do, equipment, and shifts that all share."""

from __future__ import annotations

from collections import Counter

from vibcal_nb.analysis.site.site_overview import URGENCIES, SiteOverview
from vibcal_nb.display.style import verdict_text
from vibcal_nb.display.writing.numbers import NONE, fixed, percent
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.conformity.decision import VERDICTS

MOST_ROWS = 20  # assets, or shifts, that a table lists
MOST_NAMED = 12  # subjects that an action names; the matrix has them all


def site_sentence(overview: SiteOverview) -> str:
    """Say the state of the site in one sentence."""
    words = Counter(state.verdict for state in overview.channels)
    counts = ", ".join(f"{words[word]} {word}" for word in VERDICTS if words[word])
    late = sum(state.overdue_days > 0 for state in overview.channels)
    return (
        f"On {overview.on.isoformat()}: {len(overview.channels)} channels of "
        f"{len({state.asset for state in overview.channels})} assets from {overview.results} results; {counts}; "
        f"{late} overdue{f'; {len(overview.retired)} retired' if overview.retired else ''}"
    )


def counts_table(overview: SiteOverview) -> Table:
    """Verdicts as left, by asset."""
    assets: dict[str, Counter[str]] = {}
    for state in overview.channels:
        assets.setdefault(state.asset, Counter())[state.verdict] += 1
    words = [word for word in VERDICTS if any(own[word] for own in assets.values())]
    ranked = sorted(assets.items(), key=lambda pair: (*(-pair[1][word] for word in reversed(words)), pair[0]))
    more = len(ranked) - MOST_ROWS
    rows = [
        Row(cells=(asset, str(sum(own.values())), *(str(own[word] or NONE) for word in words)))
        for asset, own in ranked[:MOST_ROWS]
    ]
    return Table(
        caption="Channels by their verdict, as left at the last visit",
        headings=("asset", "channels", *(verdict_text(word) for word in words)),
        rows=tuple(rows),
        note="The verdict is that on the whole channel; where none was made, the worst of its tests."
        + (f" The worst {MOST_ROWS} assets; {more} more are in the matrix." if more > 0 else ""),
    )


def actions_table(overview: SiteOverview) -> Table:
    """What to do, the most urgent first."""
    rows = []
    for action in overview.actions:
        named = ", ".join(action.subjects[:MOST_NAMED])
        more = len(action.subjects) - MOST_NAMED
        named += f" and {more} more" if more > 0 else ""
        rows.append(Row(cells=(str(action.urgency), action.what, str(len(action.subjects)), named)))
    return Table(
        caption="What to do" if rows else "Nothing is to be done",
        headings=("urgency", "what", "number", "which"),
        rows=tuple(rows),
        text_columns=(0, 1, 3),
        note="Urgencies: " + "; ".join(f"{n} {text.split(':')[0]}" for n, text in URGENCIES.items()) + ".",
    )


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
        headings=("where", "median shift", "U", "E_n", "moved alike"),
        rows=tuple(rows),
        note="Against the same channels on all other occasions, adjustments taken out; U is that of what the readings "
        "share. Three occasions and five channels are needed. A shift that all share is the reference's (or of what "
        "else they share), and not the channels'; changes from or to such an occasion are not held against them."
        + left_out,
    )
