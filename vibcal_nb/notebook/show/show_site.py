"""What the site overview's cells call to show something: one call, one display."""

from __future__ import annotations

from vibcal_nb.analysis.site.site_overview import SiteOverview
from vibcal_nb.display.site.margin_plots import margins_picture
from vibcal_nb.display.site.site_answer import site_answer_html, site_answer_text
from vibcal_nb.display.site.site_map import site_map_html, site_map_text
from vibcal_nb.display.site.site_matrix import matrix_html
from vibcal_nb.display.site.site_tables import (
    actions_html,
    actions_table,
    counted,
    counts_table,
    instruments_table,
    shifts_table,
)
from vibcal_nb.display.site.timeline_plots import timeline_picture
from vibcal_nb.notebook.show import show


def answer(overview: SiteOverview) -> None:
    """Show what fails now, what is overdue, and how all stand, on one card."""
    show.html(site_answer_html(overview), site_answer_text(overview))


def site_map(overview: SiteOverview) -> None:
    """Show the site machine by machine, each channel with a link to its record."""
    show.html(site_map_html(overview), site_map_text(overview))


def timeline(overview: SiteOverview) -> None:
    """Show visits, due dates and certificates over time."""
    show.picture(timeline_picture(overview))


def summary(overview: SiteOverview) -> None:
    """Show the verdicts by asset."""
    show.table(counts_table(overview))


def actions(overview: SiteOverview) -> None:
    """Show what to do, the most urgent first, each channel with a link to its record."""
    show.html(actions_html(overview), actions_table(overview).to_text())


def equipment(overview: SiteOverview) -> None:
    """Show the equipment and what of it is overdue."""
    show.table(instruments_table(overview))


def shifts(overview: SiteOverview) -> None:
    """Show what all channels of an occasion share."""
    if overview.shifts:
        show.table(shifts_table(overview))
    else:
        text = "No shift that all channels of an occasion share was found."
        show.sentence(text)


def matrix(overview: SiteOverview) -> None:
    """Show the matrix, the most urgent channels first and the rest folded."""
    show.html(matrix_html(overview, overview.channels), f"Matrix of {counted(overview.channels)}, by urgency.")


def figure(overview: SiteOverview) -> None:
    """Show every channel's margin to its nearest limit."""
    show.picture(margins_picture(overview))
