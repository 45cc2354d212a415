"""Figure of drift: deviations over the visits with the trend, its forecast, and the date it leaves the tolerance."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np

from vibcal_nb.analysis.drift.drift import QuantityDrift
from vibcal_nb.display.style import ALLOWED, FAILED, GREY, INK, LIMIT
from vibcal_nb.display.writing.numbers import percent
from vibcal_nb.metrology.over_time.conformity_date import ConformityDate
from vibcal_nb.model.names import AS_LEFT

COLUMNS = 2
FORECAST_YEARS = 3.0  # drawn beyond the last visit, or as far as the date lies, if that is not far
SHOWN = 2.2  # times the tolerance: what lies farther out is marked at the edge with its value
DECIMALS = 6  # of a year and of a %: what is fitted has last digits of its own in each process, and no pixel shall


def draw_quantity(item: QuantityDrift, ax: Any) -> Any:
    """Draw one quantity's history, trend and forecast into ``ax``; return it."""
    last = _decimal_year(item.observations[-1].date)
    end, found = last + FORECAST_YEARS, _as_drawn(item.date)
    if found is not None and found.years is not None:
        end = last + min(max(1.3 * found.years, 1.5), 6.0)
    start = _decimal_year(item.observations[0].date) - 0.3
    tolerance = item.tolerance_pct
    edge = SHOWN * (tolerance or 5.0)
    if tolerance is not None:
        ax.axhspan(-tolerance, tolerance, color=ALLOWED, lw=0)
    ax.axhline(0.0, color=GREY, lw=0.8)
    ax.axvline(last, color=GREY, lw=0.8, ls=":")
    if item.trend is not None and item.trend.steady is not False:
        _draw_trend(item, ax, last, end)
    for observation in item.observations:
        _draw_observation(ax, observation, edge)
    _draw_date(found, ax, last, end, edge)
    ax.set(xlim=(start, end), ylim=(-edge, edge), title=item.quantity, ylabel="deviation, %")
    ax.set_xticks(range(int(np.ceil(start)), int(np.floor(end)) + 1))
    ax.xaxis.set_major_formatter(lambda x, _: f"{x:.0f}")
    return ax


def _decimal_year(day: date) -> float:
    first = date(day.year, 1, 1)
    return day.year + (day - first).days / (date(day.year + 1, 1, 1) - first).days


def _draw_trend(item: QuantityDrift, ax: Any, last: float, end: float) -> None:
    trend = item.trend
    assert trend is not None
    numbers = np.array(trend.stretch)
    for stretch in range(len(trend.levels)):
        t = trend.t[numbers == stretch]
        until = end - last if stretch == len(trend.levels) - 1 else float(t.max())
        at = np.linspace(float(t.min()), max(until, float(t.min()) + 1e-6), 60)
        value, u = (np.round(fitted, DECIMALS) for fitted in trend.predict(at, stretch=stretch))
        known = at <= 1e-9
        ax.plot(last + at[known], value[known], color=GREY)
        ax.plot(last + at[~known], value[~known], color=GREY, ls="--")
        ax.fill_between(last + at, value - 1.96 * u, value + 1.96 * u, color=GREY, alpha=0.13, lw=0)


def _draw_observation(ax: Any, observation: Any, edge: float) -> None:
    x, y = _decimal_year(observation.date), observation.deviation_pct
    left = observation.condition == AS_LEFT
    look = {"marker": "D" if left else "o", "ms": 5.5, "color": LIMIT if left else INK, "zorder": 5}
    x += 0.06 if left else 0.0
    if abs(y) <= edge:
        ax.errorbar([x], [y], yerr=[2.0 * observation.u_pct], elinewidth=1.1, capsize=2.5, **look)
        return
    at = float(np.clip(y, -0.9 * edge, 0.9 * edge))
    look["marker"] = "^" if y > 0 else "v"
    ax.plot([x], [at], **look)
    ax.annotate(percent(y, decimals=0), (x, at), xytext=(7, 0), textcoords="offset points", va="center", fontsize=8.5)


def _as_drawn(found: ConformityDate | None) -> ConformityDate | None:
    """The date without the last digits, which the fit has of its own in each process."""
    if found is None:
        return None
    years, low, high = (None if y is None else round(y, DECIMALS) for y in (found.years, *found.interval_years))
    return replace(found, years=years, interval_years=(low, high))


def _draw_date(found: ConformityDate | None, ax: Any, last: float, end: float, edge: float) -> None:
    if found is None or found.years is None:
        return
    low, high = found.interval_years
    y = -0.88 * edge
    ax.plot([last + (low or 0.0), min(last + (end if high is None else high), end)], [y, y], color=FAILED, lw=2.4)
    ax.plot([last + found.years], [y], marker="|", ms=12, mew=2.4, color=FAILED)
    ax.annotate(
        f"below {100.0 * found.level:g} %", (last + found.years, y), xytext=(0, 8), textcoords="offset points",
        ha="center", fontsize=8.5, color=FAILED,
    )  # fmt: skip
