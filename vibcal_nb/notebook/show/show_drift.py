"""What the drift notebook's cells call to show something: one call, one display."""

from __future__ import annotations

from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.display.drift.drift_tables import changes_table, history_table, intervals_table, trend_table
from vibcal_nb.notebook.show import show


def history(result: DriftResult) -> None:
    """Show every visit's deviations."""
    show.table(history_table(result))


def changes(result: DriftResult) -> None:
    """Show what changed from one state to the next."""
    show.table(changes_table(result))


def trend(result: DriftResult) -> None:
    """Show rates, their tests, and dates."""
    show.table(trend_table(result))


def intervals(result: DriftResult) -> None:
    """Show what the interval methods propose."""
    show.table(intervals_table(result))


def figure(result: DriftResult) -> None:
    """Show the history of every quantity with its trend and forecast."""
    show.figure(result)
