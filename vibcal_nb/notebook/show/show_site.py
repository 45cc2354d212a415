"""What the site overview's cells call to show something: one call, one display."""

from __future__ import annotations

from vibcal_nb.analysis.site.site_overview import SiteOverview
from vibcal_nb.display.site.margin_plots import margins_picture
from vibcal_nb.display.site.site_matrix import matrix_html
from vibcal_nb.display.site.site_tables import (
    actions_table,
    counts_table,
    instruments_table,
    shifts_table,
    site_sentence,
)
from vibcal_nb.notebook.show import show


def summary(overview: SiteOverview) -> None:
    """Show the site in one sentence, and verdicts by asset."""
    from html import escape

    sentence, table = site_sentence(overview), counts_table(overview)
    show.html(
        f'<p style="font-size: 115%">{escape(sentence)}.</p>{table.to_html()}', f"{sentence}.\n\n{table.to_text()}"
    )


def actions(overview: SiteOverview) -> None:
    """Show what to do, the most urgent first."""
    show.table(actions_table(overview))


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
    show.html(matrix_html(overview, overview.channels), f"Matrix of {len(overview.channels)} channels, by urgency.")


def figure(overview: SiteOverview) -> None:
    """Show every channel's margin to its nearest limit."""
    show.picture(margins_picture(overview))
