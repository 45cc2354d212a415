"""What the channel history's cells call to show something: one call, one display."""

from __future__ import annotations

from vibcal_nb.analysis.life.channel_life import ChannelLife
from vibcal_nb.display.life.life_plots import life_picture
from vibcal_nb.display.life.life_tables import (
    answer_sentence,
    events_table,
    set_points_table,
    tests_table,
    visits_table,
)
from vibcal_nb.notebook.show import show


def answer(life: ChannelLife) -> None:
    """Show how the channel stands and what its visits found."""
    show.sentence(answer_sentence(life))


def figure(life: ChannelLife) -> None:
    """Show drift, verdicts, exchanges and certificates on one axis of years."""
    show.picture(life_picture(life))


def visits(life: ChannelLife) -> None:
    """Show the visits, and each test's verdicts."""
    show.table(visits_table(life), tests_table(life))


def events(life: ChannelLife) -> None:
    """Show what was exchanged, adjusted, or had run out."""
    show.table(events_table(life))


def set_points(life: ChannelLife) -> None:
    """Show the set points that were driven through their relays."""
    table = set_points_table(life)
    if table.rows:
        show.table(table)
    else:
        show.sentence(f"{table.caption}.")
