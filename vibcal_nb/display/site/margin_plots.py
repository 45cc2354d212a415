"""Figure of a site: every channel's margin to its nearest limit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from vibcal_nb.analysis.site.channel_state import SMALL_MARGIN_PCT, ChannelState
from vibcal_nb.analysis.site.site_overview import SiteOverview
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.marks import draw_marks, verdict_mark
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import Axes, few_numbers
from vibcal_nb.display.site.site_matrix import select_channels
from vibcal_nb.display.style import ALLOWED, GREY, INK, LIMIT
from vibcal_nb.display.writing.numbers import true_minus

FEW = 45  # channels that the figure names one by one
_LEAST = -100.0  # %: what lies farther out is marked at the edge with its value
_ROW = 0.24  # inches


def margins_picture(overview: SiteOverview) -> Picture:
    """Return the figure of margins: channel by channel where they are few, else how many lie below each."""
    known = [state for state in select_channels(overview, sort="margin") if state.margin_pct is not None]
    few = len(known) <= FEW

    def draw(figure: Any) -> None:
        ax = axes_grid(figure, left=110.0 if few else 50.0, right=40.0, top=8.0)[0][0]
        (draw_each if few else draw_share)(known, ax)
        ax.axvspan(0.0, 100.0, color=ALLOWED, lw=0, zorder=0.8)
        ax.axvline(0.0, color=LIMIT, lw=1.1, zorder=1)
        ax.set(xlim=(_LEAST, 100.0), xlabel="margin to the nearest limit, % of the room there is (blue: within)")
        few_numbers(ax.xaxis, 8)

    return draw_picture(0.7 + _ROW * max(len(known), 1) if few else 3.4, draw, text=margins_text(overview))


def margins_text(overview: SiteOverview) -> str:
    """Say in words what the figure shows."""
    worst = overview.channels[0]
    below = sum(c.margin_pct is not None and c.margin_pct < SMALL_MARGIN_PCT for c in overview.channels)
    return (
        f"Margin of every channel to its nearest limit: {below} of {len(overview.channels)} channels have less than "
        f"{SMALL_MARGIN_PCT:g} %. The most urgent channel is {worst.channel}."
    )


def draw_each(states: Sequence[ChannelState], ax: Axes) -> Axes:
    """Draw a row a channel, the smallest margin on top."""
    for row, state in enumerate(states):
        margin, look = state.margin_pct or 0.0, verdict_mark(state.verdict)
        at = max(margin, _LEAST + 3.0)
        ax.plot([0.0, at], [row, row], color=GREY, lw=0.8, zorder=2)
        draw_marks(ax, [at], [row], look._replace(shape="<") if margin < at else look)
        if margin < at:
            ax.annotate(true_minus(f"{margin:.0f} %"), (at, row), xytext=(7, 2), textcoords="offset points",
                        va="bottom", fontsize=8.5, zorder=6)  # fmt: skip
    ax.set_yticks(range(len(states)), [state.channel for state in states])
    ax.set_ylim(max(len(states), 1) - 0.5, -0.5)
    ax.grid(axis="y", visible=False)
    return ax


def draw_share(states: Sequence[ChannelState], ax: Axes) -> Axes:
    """Draw how many of the channels have each margin or less."""
    margins = np.sort([max(state.margin_pct or 0.0, _LEAST) for state in states])
    ax.step(margins, 100.0 * np.arange(1, len(margins) + 1) / len(margins), where="post", color=INK, zorder=2)
    ax.set(ylim=(0.0, 100.0), ylabel="channels with this margin or less, %")
    few_numbers(ax.yaxis, 6)
    return ax
