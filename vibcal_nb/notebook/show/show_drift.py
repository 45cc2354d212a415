"""What the drift notebook's cells call to show something: one call, one display."""

from __future__ import annotations

from dataclasses import replace

from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.display.drift.drift_tables import (
    changes_table,
    first_of_each_method,
    furthest_changes,
    history_table,
    intervals_table,
    taken_for_granted,
    trend_table,
)
from vibcal_nb.display.results.verdict_html import folded_html, list_html
from vibcal_nb.display.writing.names import plural
from vibcal_nb.notebook.show import show


def history(result: DriftResult) -> None:
    """Show every visit's deviations."""
    show.table(history_table(result))


FIRST_CHANGES = 6
"""Changes from one state to the next that stand unfolded: those most beyond their uncertainty."""


def changes(result: DriftResult) -> None:
    """Show what changed from one state to the next, what is most beyond its uncertainty unfolded."""
    first, rest = furthest_changes(result, FIRST_CHANGES)
    shown = first.to_html()
    if rest.rows:
        count = plural(len(rest.rows), "further change")
        shown += folded_html(f"{count}: less beyond the uncertainty, or where an item was exchanged", rest.to_html())
    show.html(shown, changes_table(result).to_text())


def trend(result: DriftResult) -> None:
    """Show rates, their tests, and dates; how to read them, folded."""
    whole = trend_table(result)
    note = folded_html("How to read this table", list_html("", (whole.note.rstrip("."),)))
    show.html(replace(whole, note="").to_html() + note, whole.to_text())


def intervals(result: DriftResult) -> None:
    """Show what the interval methods propose: each method's shortest, the rest and what they assume folded."""
    whole, granted = intervals_table(result), taken_for_granted(result)
    first, rest = first_of_each_method(whole)
    shown = first.to_html()
    if rest.rows:
        shown += folded_html(f"{plural(len(rest.rows), 'further proposal')}, none of a method shorter", rest.to_html())
    shown += folded_html("What each method takes for granted", list_html("", granted))
    show.html(shown, "\n".join([whole.to_text(), "Taken for granted:", *granted]))


def figure(result: DriftResult) -> None:
    """Show the history of every quantity with its trend and forecast."""
    show.figure(result)
