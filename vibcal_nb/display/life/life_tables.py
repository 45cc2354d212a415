"""A channel's life as tables, and the answer in one sentence."""

from __future__ import annotations

from vibcal_nb.analysis.life.channel_life import EXCHANGE, ChannelLife
from vibcal_nb.display.style import verdict_text
from vibcal_nb.display.writing.names import plural, spoken
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.conformity.decision import PASSING
from vibcal_nb.model.names import AS_FOUND, AS_LEFT


def answer_sentence(life: ChannelLife) -> str:
    """Say how the channel stands and what its visits found."""
    last = life.visits[-1]
    verdict = last.verdict(AS_LEFT) or last.verdict(AS_FOUND) or "no verdict"
    failed = [str(v.day) for v in life.visits if (v.verdict(AS_FOUND) or PASSING[0]) not in PASSING]
    exchanged = sum(event.kind == EXCHANGE for event in life.events)
    return (
        f"{life.channel} of {life.asset}: {verdict} on {last.day}. {plural(len(life.visits), 'visit')} since "
        f"{life.visits[0].day}; as found it did not pass on {', '.join(failed) or 'none of them'}; "
        f"{plural(exchanged, 'exchange')}."
    )


def visits_table(life: ChannelLife) -> Table:
    """Return the visits, the latest first: verdicts, who performed, who decided, what was used and installed."""
    rows = []
    for visit in reversed(life.visits):
        verdicts = [visit.verdict(condition) for condition in (AS_FOUND, AS_LEFT)]
        decided = dict.fromkeys(text for item in visit.tests for text in item.decided)
        rows.append(
            Row(
                cells=(
                    str(visit.day),
                    *("" if verdict is None else verdict_text(verdict) for verdict in verdicts),
                    visit.performed_by,
                    "; ".join(decided) or "nobody, as far as records are at hand",
                    ", ".join(f"{part} {name}" for part, name in visit.items.items()) or "not stated",
                    ", ".join(item.id for item in visit.equipment),
                )
            )
        )
    headings = ("visit", "as found", "as left", "performed by", "signed off or returned", "installed", "equipment")
    return Table(caption="Visits, the latest first", headings=headings, rows=tuple(rows), text_columns=range_of(7))


def tests_table(life: ChannelLife) -> Table:
    """Return each test's verdicts, a column a visit."""
    rows = []
    for test in life.tests:
        for condition in (AS_FOUND, AS_LEFT):
            found = [
                next((i.verdict for i in visit.tests if (i.test, i.condition) == (test, condition)), None)
                for visit in life.visits
            ]
            if any(found):
                cells = ("" if verdict is None else verdict_text(verdict) for verdict in found)
                rows.append(Row(cells=(f"{spoken(test)}, {spoken(condition)}", *cells)))
    headings = ("test", *(str(visit.day) for visit in life.visits))
    return Table(caption="Verdicts by test", headings=headings, rows=tuple(rows), text_columns=range_of(len(headings)))


def events_table(life: ChannelLife) -> Table:
    """Return what happened, the latest first."""
    rows = tuple(Row(cells=(str(event.day), event.kind, event.said)) for event in reversed(life.events))
    caption = "Exchanges, adjustments, certificates that had run out" if rows else "Nothing was exchanged or adjusted"
    return Table(caption=caption, headings=("day", "what", "in words"), rows=rows, text_columns=range_of(3))


def set_points_table(life: ChannelLife) -> Table:
    """Return the set points that were driven through their relays, the latest first."""
    rows = tuple(
        Row(cells=(str(visit.day), item.name, f"{item.level:g}", _acted(item.estimate, item.expanded), item.verdict))
        for visit in reversed(life.visits)
        for item in visit.set_points
    )
    caption = "Set points proved" if rows else "No set point was driven through its relay"
    headings = ("visit", "set point", f"set at, {life.unit}", f"acts at, {life.unit}", "verdict")
    return Table(caption=caption, headings=headings, rows=rows, text_columns=(0, 1, 4))


def _acted(estimate: float | None, expanded: float | None) -> str:
    if estimate is None:
        return "not found"
    return f"{estimate:.4g}" + (f" ± {expanded:.2g}" if expanded is not None else "")


def range_of(count: int) -> tuple[int, ...]:
    """Return the places of so many columns."""
    return tuple(range(count))
