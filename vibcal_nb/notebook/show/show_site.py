"""What the site overview's cells call to show something: one call, one display."""

from __future__ import annotations

from typing import Any

import numpy as np

from vibcal_nb.analysis.site.site_overview import SMALL_MARGIN_PCT, ChannelState, SiteOverview
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.site.site_matrix import matrix_html, select_channels
from vibcal_nb.display.site.site_tables import (
    actions_table,
    counts_table,
    instruments_table,
    shifts_table,
    site_sentence,
)
from vibcal_nb.display.style import GREY, INK, VERDICT_LOOKS
from vibcal_nb.display.writing.numbers import true_minus
from vibcal_nb.metrology.conformity.decision import FAIL
from vibcal_nb.notebook.show import show

FEW = 45  # channels that a figure names one by one


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


def _margins_text(overview: SiteOverview) -> str:
    worst = overview.channels[0]
    below = sum(c.margin_pct is not None and c.margin_pct < SMALL_MARGIN_PCT for c in overview.channels)
    return (
        f"Margin of every channel to its nearest limit: {below} of {len(overview.channels)} channels have less than "
        f"{SMALL_MARGIN_PCT:g} %. The most urgent channel is {worst.channel}."
    )


def margins_picture(overview: SiteOverview) -> Picture:
    """Return the figure of margins: channel by channel where they are few, else how many lie below each."""
    known = [state for state in select_channels(overview, sort="margin") if state.margin_pct is not None]
    few = len(known) <= FEW

    def draw(figure: Any) -> None:
        ax = axes_grid(figure, left=96.0 if few else 44.0, top=8.0)[0][0]
        (_draw_each if few else _draw_share)(known, ax)
        ax.axvspan(-100, 0, color=VERDICT_LOOKS[FAIL].colour, alpha=0.10, lw=0)
        ax.axvline(0.0, color=VERDICT_LOOKS[FAIL].colour, lw=1.0)
        ax.set(xlim=(-100, 100), xlabel="margin to the nearest limit, % of the room there is (0: on the limit)")

    return draw_picture(0.9 + 0.24 * len(known) if few else 3.4, draw, text=_margins_text(overview))


def _draw_each(states: list[ChannelState], ax: Any) -> None:
    for row, state in enumerate(states):
        look, margin = VERDICT_LOOKS[state.verdict], state.margin_pct or 0.0
        at = max(margin, -97.0)
        ax.plot([0.0, at], [row, row], color=GREY, lw=0.8, zorder=1)
        ax.plot([at], [row], marker="<" if margin < at else look.marker, color=look.colour, ms=6, ls="none", zorder=3)
        if margin < at:
            ax.annotate(
                true_minus(f"{margin:.0f} %"),
                (at, row),
                xytext=(7, 2),
                textcoords="offset points",
                va="bottom",
                fontsize=8,
            )
    ax.set_yticks(range(len(states)), [state.channel for state in states])
    ax.set_ylim(len(states) - 0.5, -0.5)
    ax.grid(axis="y", visible=False)


def _draw_share(states: list[ChannelState], ax: Any) -> None:
    margins = np.sort([max(state.margin_pct or 0.0, -100.0) for state in states])
    ax.step(margins, 100.0 * np.arange(1, len(margins) + 1) / len(margins), where="post", color=INK)
    ax.set(ylim=(0, 100), ylabel="channels with this margin or less, %")
