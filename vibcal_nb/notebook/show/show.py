"""What a notebook's cells call to show something: one call, one display."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.card.card import card_html, card_of, card_text
from vibcal_nb.display.drawing.marks import MOST_MARKS
from vibcal_nb.display.drawing.picture import Picture
from vibcal_nb.display.readings.input_tables import readings_table, specification_table
from vibcal_nb.display.results.budget import budget_table
from vibcal_nb.display.results.budget_plots import budgets_picture
from vibcal_nb.display.results.figures import result_picture
from vibcal_nb.display.results.not_shown import list_not_shown
from vibcal_nb.display.results.points_and_whole import word_points_and_whole
from vibcal_nb.display.results.statements import word_result
from vibcal_nb.display.results.tables import points_tables, summary_table
from vibcal_nb.display.results.verdict_html import folded_html, list_html
from vibcal_nb.display.views import view_of
from vibcal_nb.display.writing.names import plural
from vibcal_nb.display.writing.table import Table, noted_once
from vibcal_nb.model.case import Case
from vibcal_nb.notebook.frame.interactive import is_interactive


def html(content: str, text: str) -> None:
    """Show HTML; ``text`` is for whatever shows no HTML."""
    from IPython.display import display

    display({"text/html": content, "text/plain": text}, raw=True)


def table(*tables: Table) -> None:
    """Show tables one below the other."""
    html("".join(item.to_html() for item in tables), "\n\n".join(item.to_text() for item in tables))


def folded_tables(summary: str, *tables: Table) -> None:
    """Show tables that a reader unfolds."""
    html(folded(summary, *tables), "\n\n".join(item.to_text() for item in tables))


def sentence(text: str) -> None:
    """Show one sentence."""
    html(f"<p>{escape(text)}</p>", text)


def widget(make: Callable[[], Any], *, otherwise: str) -> None:
    """Show the widget that ``make`` makes where a person is at the notebook; in a record, one sentence in its place."""
    if not is_interactive():
        sentence(otherwise)
        return
    from IPython.display import display

    display(make())


def inputs(case: Case) -> None:
    """Show what the channel should do, and the readings as they were typed."""
    table(specification_table(case), readings_table(case))


def answer(result: Result) -> None:
    """Show the answer on one card: what was tested, the verdict, what it rests on, what to do."""
    card = card_of(result)
    html(card_html(card), card_text(card))


def summary(result: Result) -> None:
    """Show the figures of a result."""
    table(summary_table(result))


FIRST = 6
"""Readings that stand unfolded, where they are in one table: the worst."""
FIRST_OF_EACH = 4
"""The same, where there are more tables."""
_FEW = 2
"""So few more stand unfolded, too."""


MOST = 400
"""Readings that stand in a record's table: the worst half of them, and every so many-th of the others."""


def points(result: Result) -> None:
    """Show each reading as it was typed and what was made of it, the worst first, the rest folded.

    Of very many, not all are shown; all are in the record's data.
    """
    parts, texts, tables = [], [], points_tables(result)
    first = FIRST if len(tables) == 1 else FIRST_OF_EACH
    for whole in noted_once(tables):
        item = whole.thinned(MOST)
        open_rows = len(item.rows) if len(item.rows) <= first + _FEW else first
        parts.append(item.first(open_rows).to_html())
        if len(item.rows) > open_rows:
            parts.append(folded(f"{plural(len(item.rows) - open_rows, 'further reading')}", item.after(open_rows)))
        left = len(whole.rows) - len(item.rows)
        said = _left_out(left, len(whole.rows)) if left else ""
        parts.append(f"<p>{escape(said)}</p>" if said else "")
        texts.append(item.to_text() + (f"\n{said}" if said else ""))
    html("".join(parts), "\n\n".join(texts))


def _left_out(left: int, count: int) -> str:
    return (
        f"{plural(left, 'reading')} of {count} are not shown in this table, none of them among the {MOST // 2} worst. "
        "Each is in the data of this record (its result, quantities, points) and in the reading table; the figure "
        f"draws at most {MOST_MARKS} of one kind, the highest and lowest among them."
    )


def folded(summary: str, *tables: Table) -> str:
    """Return tables as HTML that a reader unfolds."""
    return folded_html(summary, "".join(item.to_html() for item in tables))


SAID = 4
"""Sentences of one kind that stand unfolded."""
_TOGETHER = "Each reading, and all together"


def further(result: Result) -> None:
    """Show what else is to be seen: what was not verified, what the readings or the equipment show besides."""
    said = word_result(result)
    parts = [("Not verified", said.gaps), ("Also seen", said.remarks)]
    parts.append((_TOGETHER, word_points_and_whole(result)))
    found = [(title, items) for title, items in parts if items]
    text = " ".join(f"{title}: {'; '.join(items)}." for title, items in found)
    shown = "".join(list_html(title, items, most=SAID) for title, items in found if title != _TOGETHER)
    shown += "".join(folded_html(title, list_html("", items)) for title, items in found if title == _TOGETHER)
    html(shown or "<p>Nothing else.</p>", text or "Nothing else.")


def specification(case: Case) -> None:
    """Show what the channel should do, and who measured with what, folded."""
    folded_tables("What it should do, and who measured with what", specification_table(case))


def figure(result: Result, *, speed_axis: bool = False) -> None:
    """Show the figure of a result; its alternative text is the result in words."""
    picture(result_picture(result, speed_axis=speed_axis))


def picture(picture: Picture) -> None:
    """Show a picture; what it says in words is for whoever does not see it."""
    html(picture.to_html(), f"[figure] {picture.text}")


def budget(result: Any) -> None:
    """Show the uncertainty budgets of a result as bars, and line by line, folded."""
    view = view_of(result)
    budgets, (what, of_what) = view.budgets(result), view.budget_of
    if not budgets:
        return
    picture(budgets_picture(budgets))
    tables = []
    for name, lines in budgets:
        caption = f"Uncertainty of {what} at {name}, in % of {of_what}"
        tables.append(budget_table(lines, caption=caption, probability=result.uncertainty.probability))
    folded_tables("Every contribution, with its source", *tables)


def not_shown(result: Result) -> None:
    """Show what the record does not show, so that a reader does not assume it."""
    listed("", list_not_shown(result))


def listed(title: str, items: tuple[str, ...]) -> None:
    """Show items, which are sentences without their full stops, under a title (none where it is empty)."""
    html(list_html(title, items), f"{f'{title}: ' if title else ''}{'; '.join(items)}.")
