"""Drift, verdicts, exchanges and certificates of one channel on one axis of years."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from vibcal_nb.analysis.life.channel_life import EXCHANGE, ChannelLife
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.marks import Mark, draw_bars, draw_marks, verdict_mark
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import Axes, explain, mark_zero
from vibcal_nb.display.life.life_tables import answer_sentence
from vibcal_nb.display.style import ALLOWED, FAILED, GREY, LIMIT, SET_POINT
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.model.names import AS_LEFT
from vibcal_nb.units import DAYS_PER_YEAR

_ROW = 0.28  # inches
_MARGIN = 0.35  # years
_APART = 0.17  # of a row: as found above, as left below


def life_picture(life: ChannelLife) -> Picture:
    """Return the figure of a channel's life."""
    used = list(dict.fromkeys(item.serial or item.id for visit in life.visits for item in visit.equipment))
    rows = [*map(spoken, life.tests), "exchanges", *used]
    height = 1.5 + 1.0 + _ROW * len(rows)

    def draw(figure: Any) -> None:
        shares = (1.5, _ROW * len(rows))
        above, below = (
            row[0] for row in axes_grid(figure, heights=shares, left=120.0, right=20.0, top=34.0, down=18.0)
        )
        _draw_deviations(life, above)
        _draw_rows(life, below, used)
        below.set_yticks(range(len(rows)), rows)
        below.set_ylim(len(rows) - 0.4, -0.6)
        for ax in (above, below):
            _years(life, ax)
        below.grid(axis="y", visible=False)
        explain(above, "○ as found, ◇ as left; filled: passed, hollow: not", "bar: U", "blue: allowed",
                "│ exchange", "line: certificate")  # fmt: skip

    return draw_picture(height, draw, text=f"{answer_sentence(life)} Each test's verdict, the drift, exchanges and "
                        "certificates over the years.")  # fmt: skip


def _at(day: date) -> float:
    return round(day.toordinal() / DAYS_PER_YEAR, 6)


def _draw_deviations(life: ChannelLife, ax: Axes) -> None:
    """The deviations of the quantity that was followed longest, with their U."""
    quantities = () if life.drift is None else life.drift.quantities
    if not quantities:
        ax.set_yticks([])
        ax.text(0.5, 0.5, life.why_no_drift or "no sensitivity was followed", transform=ax.transAxes, ha="center")
        return
    followed = max(quantities, key=lambda item: len(item.observations))
    if followed.tolerance_pct is not None:
        ax.axhspan(-followed.tolerance_pct, followed.tolerance_pct, color=ALLOWED, zorder=0)
    mark_zero(ax)
    for seen in followed.observations:
        shape = "D" if seen.condition == AS_LEFT else "o"
        look = verdict_mark(seen.verdict)._replace(shape=shape, size=5.5)
        x, y = [_at(seen.date)], [round(seen.deviation_pct, 6)]
        draw_bars(ax, x, y, [round(2.0 * seen.u_pct, 6)], colour=GREY)
        draw_marks(ax, x, y, look)
    ax.set_title(f"{followed.quantity}: deviation from nominal, %")


def _draw_rows(life: ChannelLife, ax: Axes, used: Sequence[str]) -> None:
    for row, test in enumerate(life.tests):
        for visit in life.visits:
            for item in (item for item in visit.tests if item.test == test):
                left = item.condition == AS_LEFT
                look = verdict_mark(item.verdict)._replace(shape="D" if left else "o", size=6.0)
                draw_marks(ax, [_at(visit.day)], [row + (_APART if left else -_APART)], look)
    row = len(life.tests)
    for event in (event for event in life.events if event.kind == EXCHANGE):
        draw_marks(ax, [_at(event.day)], [row], Mark("|", SET_POINT, size=12.0))
        ax.axvline(_at(event.day), color=SET_POINT, lw=0.8, ls=":", zorder=1)
    for number, name in enumerate(used, start=row + 1):
        for visit in life.visits:
            for used_item in (one for one in visit.equipment if (one.serial or one.id) == name):
                colour = FAILED if used_item.due < visit.day else LIMIT
                ends = [_at(visit.day), _at(used_item.due)]
                ax.plot(ends, [number, number], color=colour, lw=2.0, zorder=2)
                draw_marks(ax, ends[:1], [number], Mark("o", colour, size=4.0))


def _years(life: ChannelLife, ax: Axes) -> None:
    days = [visit.day for visit in life.visits]
    low, high = _at(min(days)) - _MARGIN, _at(max(days)) + _MARGIN
    ax.set_xlim(low, high)
    starts = [(_at(date(year, 1, 1)), str(year)) for year in range(min(days).year, max(days).year + 2)]
    shown = [(place, year) for place, year in starts if low <= place <= high]
    ax.set_xticks([place for place, _ in shown], [year for _, year in shown])
