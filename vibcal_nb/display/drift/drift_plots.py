"""Figure of drift: every quantity over the visits on one axis of time, with its trend and forecast."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np

from vibcal_nb.analysis.drift.drift import DriftResult, QuantityDrift
from vibcal_nb.analysis.drift.normalized_error import Change
from vibcal_nb.analysis.drift.observations import Observation
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.marks import Mark, draw_bars, draw_marks, verdict_mark
from vibcal_nb.display.drawing.plot_parts import Axes, explain, few_numbers, mark_zero, scale_about_zero, shade_allowed
from vibcal_nb.display.drift.interval_plots import draw_intervals, interval_axes, interval_height
from vibcal_nb.display.style import FAILED, GREY, SET_POINT, UNCERTAIN
from vibcal_nb.display.writing.numbers import percent
from vibcal_nb.metrology.over_time.conformity_date import ConformityDate
from vibcal_nb.model.names import AS_LEFT

SHOWS = "Deviation from nominal over the visits with trend and forecast, and the intervals that each method proposes."
FORECAST_YEARS = 3.0  # drawn beyond the last visit, or as far as the date lies, if that is not far
SHOWN = 2.2  # times the tolerance: what lies farther out is marked at the edge with its value
DECIMALS = 6  # of a year and of a %: what is fitted has last digits of its own in each process, and no pixel shall
_ROW = 1.25  # inches
_TOP = 40.0  # points
_BELOW = 40.0


def drift_height(result: DriftResult) -> float:
    """Return the height of the figure in inches."""
    return _ROW * max(len(result.quantities), 1) + (_TOP + _BELOW) / 72.0 + interval_height(result)


def drift_axes(result: DriftResult, figure: Any) -> tuple[Axes, ...]:
    """Return plots on an empty figure: one a quantity below the other, and that of the intervals."""
    below = _BELOW + 72.0 * interval_height(result)
    heights = (1.0,) * max(len(result.quantities), 1)
    grid = axes_grid(figure, heights=heights, right=40.0, top=_TOP, bottom=below, down=24.0)
    return (*(row[0] for row in grid), interval_axes(result, figure))


def draw_drift(result: DriftResult, axes: Sequence[Axes], *, speed_axis: bool = False) -> None:
    """Draw a drift into the plots of `drift_axes`, all quantities on one axis of time."""
    *rows, last = axes
    span = _span(result)
    for item, ax in zip(result.quantities, rows, strict=False):
        draw_quantity(item, ax, span)
    draw_intervals(result, last)
    explain(rows[0], "○ as found, ◇ as left; filled: the test passed, hollow: it did not", "bar: U",
            "grey: trend, dashed: forecast", "blue: allowed")  # fmt: skip


def draw_quantity(item: QuantityDrift, ax: Axes, span: tuple[float, float]) -> Axes:
    """Draw one quantity's history, trend and forecast over a span of decimal years."""
    last, found = _decimal_year(item.observations[-1].date), _as_drawn(item.date)
    tolerance = item.tolerance_pct
    edge = SHOWN * (tolerance or 5.0)
    within = [value for value in _ends(item) if abs(value) <= edge]
    low, high = scale_about_zero(within, least=1.3 * (tolerance or 3.0))
    ax.set(xlim=span, ylim=(low, high))
    if tolerance is not None:
        shade_allowed(ax, -tolerance, tolerance)
    mark_zero(ax)
    ax.axvline(last, color=GREY, lw=0.8, ls=(0, (1, 2)), zorder=1)
    if item.trend is not None and item.trend.steady is not False:
        _draw_trend(item, ax, last, span[1])
    for change in item.breaks:
        _draw_break(change, ax)
    for observation in item.observations:
        _draw_observation(ax, observation, low, high)
    if found is not None and found.years is not None:
        _draw_date(found, found.years, ax, last, span[1], low)
    ax.set_title(item.quantity)
    ax.set_ylabel("%")
    few_numbers(ax.yaxis, 4)
    ax.set_xticks(range(int(np.ceil(span[0])), int(np.floor(span[1])) + 1))
    ax.xaxis.set_major_formatter(lambda x, _: f"{x:.0f}")
    return ax


def _span(result: DriftResult) -> tuple[float, float]:
    """Return the time that holds all visits and forecasts, in decimal years."""
    starts, ends = [2000.0], [2001.0]
    if result.quantities:
        starts = [_decimal_year(item.observations[0].date) - 0.3 for item in result.quantities]
        ends = list(map(_end, result.quantities))
    return min(starts), max(ends)


def _end(item: QuantityDrift) -> float:
    last, found = _decimal_year(item.observations[-1].date), _as_drawn(item.date)
    if found is None or found.years is None:
        return last + FORECAST_YEARS
    return last + min(max(1.3 * found.years, 1.5), 6.0)


def _ends(item: QuantityDrift) -> Iterator[float]:
    for observation in item.observations:
        yield observation.deviation_pct - 2.0 * observation.u_pct
        yield observation.deviation_pct + 2.0 * observation.u_pct


def _decimal_year(day: date) -> float:
    first = date(day.year, 1, 1)
    return day.year + (day - first).days / (date(day.year + 1, 1, 1) - first).days


def _draw_trend(item: QuantityDrift, ax: Axes, last: float, end: float) -> None:
    trend = item.trend
    assert trend is not None  # the caller has asked
    numbers = np.array(trend.stretch)
    for stretch in range(len(trend.levels)):
        t = trend.t[numbers == stretch]
        until = end - last if stretch == len(trend.levels) - 1 else float(t.max())
        at = np.linspace(float(t.min()), max(until, float(t.min()) + 1e-6), 30)
        value, u = (np.round(fitted, DECIMALS) for fitted in trend.predict(at, stretch=stretch))
        known = at <= 1e-9
        ax.fill_between(last + at, value - 1.96 * u, value + 1.96 * u, color=UNCERTAIN, lw=0, zorder=0.9)
        ax.plot(last + at[known], value[known], color=GREY, zorder=2)
        ax.plot(last + at[~known], value[~known], color=GREY, ls=(0, (5, 3)), zorder=2)


def _draw_break(change: Change, ax: Axes) -> None:
    """Mark between two visits that what was tested is another thing since."""
    middle = 0.5 * (_decimal_year(change.before.date) + _decimal_year(change.after.date))
    ax.axvline(middle, color=SET_POINT, lw=1.1, ls=(0, (5, 3)), zorder=1)
    words = "exchanged" if change.why_broken is not None and change.why_broken.exchanges else "nominal restated"
    ax.annotate(words, (middle, 1.0), xycoords=ax.get_xaxis_transform(), xytext=(3, -2), textcoords="offset points",
                va="top", fontsize=8.5, color=SET_POINT, zorder=6)  # fmt: skip


def _draw_observation(ax: Axes, observation: Observation, low: float, high: float) -> None:
    left, value = observation.condition == AS_LEFT, observation.deviation_pct
    x = _decimal_year(observation.date) + (0.06 if left else 0.0)
    look = verdict_mark(observation.verdict)._replace(shape="D" if left else "o", size=5.0)
    if low <= value <= high:
        ends = np.clip([value - 2.0 * observation.u_pct, value + 2.0 * observation.u_pct], low, high)
        draw_bars(ax, [x], [ends.mean()], [0.5 * float(np.ptp(ends))], colour=look.colour)
        for end, shape in ((low, "v"), (high, "^")):
            if end in ends:  # the bar goes on beyond the plot
                draw_marks(ax, [x], [end], Mark(shape, look.colour, size=3.5))
        draw_marks(ax, [x], [value], look, rows=[observation.date.toordinal()])
        return
    at = high - 0.08 * (high - low) if value > 0.0 else low + 0.08 * (high - low)
    beyond = Mark("^" if value > 0.0 else "v", look.colour, look.filled, 6.0)
    draw_marks(ax, [x], [at], beyond, rows=[observation.date.toordinal()])
    ax.annotate(percent(value, decimals=0), (x, at), xytext=(7, 0), textcoords="offset points", va="center",
                fontsize=8.5, zorder=6)  # fmt: skip


def _as_drawn(found: ConformityDate | None) -> ConformityDate | None:
    """The date without the last digits, which the fit has of its own in each process."""
    if found is None:
        return None
    years, low, high = (None if y is None else round(y, DECIMALS) for y in (found.years, *found.interval_years))
    return replace(found, years=years, interval_years=(low, high))


def _draw_date(found: ConformityDate, years: float, ax: Axes, last: float, end: float, bottom: float) -> None:
    """Draw when the probability of conformity falls too low, with its interval, along the lower edge."""
    low, high = found.interval_years
    y = 0.86 * bottom
    ends = [last + (low or 0.0), min(last + (end if high is None else high), end)]
    ax.plot(ends, [y, y], color=FAILED, lw=2.4, zorder=3)
    ax.plot([last + years], [y], ls="none", marker="|", ms=10.0, mew=2.0, color=FAILED, zorder=4)
    ax.annotate(
        f"below {100.0 * found.level:g} %", (last + years, y), xytext=(0, 6), textcoords="offset points", ha="center",
        fontsize=8.5, color=FAILED, zorder=6,
    )  # fmt: skip
