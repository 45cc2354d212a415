"""What a notebook's cells call to show something: one call, one display."""

from __future__ import annotations

from html import escape
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.card.card import card_html, card_of, card_text
from vibcal_nb.display.drawing.picture import Picture
from vibcal_nb.display.results.budget import budget_table
from vibcal_nb.display.results.budget_plots import budgets_picture
from vibcal_nb.display.results.figures import result_picture
from vibcal_nb.display.results.input_tables import readings_table, specification_table
from vibcal_nb.display.results.not_shown import list_not_shown
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.display.results.tables import points_tables, summary_table
from vibcal_nb.display.results.verdict_html import list_html, verdict_html
from vibcal_nb.display.views import view_of
from vibcal_nb.display.writing.table import Table
from vibcal_nb.model.case import Case


def html(content: str, text: str) -> None:
    """Show HTML; ``text`` is for whatever shows no HTML."""
    from IPython.display import display

    display({"text/html": content, "text/plain": text}, raw=True)


def table(*tables: Table) -> None:
    """Show tables one below the other."""
    html("".join(item.to_html() for item in tables), "\n\n".join(item.to_text() for item in tables))


def sentence(text: str) -> None:
    """Show one sentence."""
    html(f"<p>{escape(text)}</p>", text)


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


def points(result: Result) -> None:
    """Show what was made of each reading."""
    table(*points_tables(result))


def figure(result: Result, *, speed_axis: bool = False) -> None:
    """Show the figure of a result; its alternative text is the result in words."""
    picture(result_picture(result, speed_axis=speed_axis))


def picture(picture: Picture) -> None:
    """Show a picture; what it says in words is for whoever does not see it."""
    html(picture.to_html(), f"[figure] {picture.text}")


def budget(result: Any) -> None:
    """Show the uncertainty budgets of the sensitivity as tables and as bars."""
    budgets = view_of(result).budgets(result)
    for name, lines in budgets:
        caption = f"Uncertainty of the sensitivity at {name}, in % of nominal"
        table(budget_table(lines, caption=caption, probability=result.uncertainty.probability))
    if budgets:
        picture(budgets_picture(budgets))


def verdict(result: Result) -> None:
    """Show the verdict, why it is so, what was not verified, and the decision rule."""
    html(verdict_html(result), compose_statement(result))


def not_shown(result: Result) -> None:
    """Show what the record does not show, so that a reader does not assume it."""
    listed("This record does not show", list_not_shown(result))


def listed(title: str, items: tuple[str, ...]) -> None:
    """Show items, which are sentences without their full stops, under a title."""
    html(list_html(title, items), f"{title}: " + "; ".join(items) + ".")
