"""Figure of a site over time: when each machine was visited and is due, and how long each certificate holds."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from vibcal_nb.analysis.site.channel_state import DAYS_PER_MONTH
from vibcal_nb.analysis.site.site_overview import InstrumentState, SiteOverview
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.marks import Mark, draw_marks
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import Axes, explain
from vibcal_nb.display.style import FAILED, GREY, INK, LIMIT
from vibcal_nb.display.writing.names import plural
from vibcal_nb.units import DAYS_PER_YEAR

MOST_ROWS = 20  # machines, the most urgent first, and as many certificates
_ROW = 0.26  # inches


def timeline_picture(overview: SiteOverview) -> Picture:
    """Return the figure of visits, due dates and certificates."""
    machines, instruments = _machines(overview)[:MOST_ROWS], overview.instruments[:MOST_ROWS]
    rows = len(machines) + len(instruments)

    def draw(figure: Any) -> None:
        ax = axes_grid(figure, left=110.0, right=20.0, top=30.0, bottom=24.0)[0][0]
        for row, (_, days) in enumerate(machines):
            _draw_visits(ax, row, days, overview)
        for row, state in enumerate(instruments, start=len(machines)):
            _draw_certificate(ax, row, state)
        ax.axvline(_years(overview.on), color=INK, lw=1.0, zorder=1)
        ax.set_yticks(range(rows), [*(asset for asset, _ in machines), *(s.instrument.id for s in instruments)])
        ax.set_ylim(rows - 0.4, -0.6)
        _axis_of_years(ax)
        explain(
            ax,
            "● visit",
            "◇ due",
            "line: certificate, ┃ its end",
            "coloured as a failure: overdue",
            f"│ {overview.on.isoformat()}",
        )

    return draw_picture(0.8 + _ROW * max(rows, 1), draw, text=timeline_text(overview))


def timeline_text(overview: SiteOverview) -> str:
    """Say in words what the figure shows."""
    machines = _machines(overview)
    late = [asset for asset, days in machines if _due(days, overview) < overview.on]
    ended = [state.instrument.id for state in overview.instruments if state.overdue_days > 0]
    return (
        f"Visits of {plural(len(machines), 'machine')} and certificates of {plural(len(overview.instruments), 'item')} "
        f"of equipment over time. Overdue for a visit: {', '.join(late[:MOST_ROWS]) or 'none'}. Certificate ended: "
        f"{', '.join(ended[:MOST_ROWS]) or 'none'}."
    )


def _machines(overview: SiteOverview) -> list[tuple[str, list[date]]]:
    """The days on which each machine was visited; of its channels, the one that waits longest tells when it is due."""
    found: dict[str, dict[date, None]] = {}
    for state in overview.channels:
        found.setdefault(state.asset, {}).update(dict.fromkeys(state.days))
    return [(asset, sorted(days)) for asset, days in found.items()]


def _due(days: Sequence[date], overview: SiteOverview) -> date:
    return date.fromordinal(days[-1].toordinal() + round(overview.interval_months * DAYS_PER_MONTH))


def _years(day: date) -> float:
    return day.toordinal() / DAYS_PER_YEAR


def _draw_visits(ax: Axes, row: int, days: Sequence[date], overview: SiteOverview) -> None:
    due = _due(days, overview)
    late = due < overview.on
    ax.plot([_years(days[0]), _years(due)], [row, row], color=GREY, lw=0.8, zorder=2)
    draw_marks(ax, [_years(day) for day in days], [row] * len(days), Mark("o", INK))
    draw_marks(ax, [_years(due)], [row], Mark("D", FAILED if late else INK, filled=False, size=5.0))


def _draw_certificate(ax: Axes, row: int, state: InstrumentState) -> None:
    item = state.instrument
    colour = FAILED if state.overdue_days > 0 else LIMIT
    ends = [_years(item.calibrated), _years(item.due)]
    ax.plot(ends, [row, row], color=colour, lw=2.4, zorder=2)
    ax.plot(ends[1:], [row], ls="none", marker="|", ms=10.0, mew=2.0, color=colour, zorder=4)


def _axis_of_years(ax: Axes) -> None:
    low, high = ax.get_xlim()
    years = range(int(low) + 1, int(high) + 2)
    starts = [(_years(date(year, 1, 1)), year) for year in years if 1 <= year <= 9998]
    shown = [(at, year) for at, year in starts if low <= at <= high]
    step = max(1, len(shown) // 10)
    ax.set_xticks([at for at, _ in shown[::step]], [str(year) for _, year in shown[::step]])
    ax.grid(axis="y", visible=False)
