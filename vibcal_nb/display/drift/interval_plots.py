"""Figure of proposed intervals: every method's on one scale of months, beside the interval as it is now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.display.drawing.axes_grid import place_axes
from vibcal_nb.display.drawing.marks import Mark, draw_marks
from vibcal_nb.display.drawing.plot_parts import Axes
from vibcal_nb.display.style import GREY, INK, SET_POINT
from vibcal_nb.display.writing.names import plural

_ROW = 0.28  # inches
_LEFT = 250.0  # points: the names of methods and quantities
_NUMBERS = (1, 2, 3, 6, 12, 18, 24, 36, 60, 120)
_DECIMALS = 1  # of a month: what is drawn has last digits of its own in each process, and no pixel shall


class Proposed(NamedTuple):
    """A proposal in months, with its interval where it has one."""

    name: str
    months: float
    interval: tuple[float, float] | None = None


def interval_height(result: DriftResult) -> float:
    """Return the height in inches that the proposals take."""
    rows = len(list_proposed(result))
    return _ROW * rows + 0.85 if rows else 0.0


def interval_axes(result: DriftResult, figure: Any) -> Axes:
    """Return the plot at the foot of a figure."""
    width = 72.0 * figure.get_size_inches()[0]
    high = 72.0 * _ROW * max(len(list_proposed(result)), 1)
    return place_axes(figure, left=_LEFT, low=36.0, wide=width - _LEFT - 40.0, high=high)


def draw_intervals(result: DriftResult, ax: Axes) -> Axes:
    """Draw the proposals as dots on one logarithmic scale, the shortest on top."""
    proposed = list_proposed(result)
    if not proposed:
        ax.set_axis_off()
        return ax
    now = result.settings.steps.current_months
    values = [now, *(item.months for item in proposed), *(end for item in proposed for end in item.interval or ())]
    low, high = 0.7 * min(values), 1.5 * max(values)
    ax.set(xscale="log", xlim=(low, high), ylim=(len(proposed) - 0.5, -0.5))
    ax.axvline(now, color=SET_POINT, lw=1.4, zorder=1)
    ax.text(now, -0.62, f"now {now:g} months", ha="center", va="bottom", fontsize=8.5, color=SET_POINT, zorder=6)
    for row, item in enumerate(proposed):
        if item.interval is not None:
            ax.plot(item.interval, [row, row], color=GREY, lw=2.0, zorder=2)
        draw_marks(ax, [item.months], [row], Mark("o", INK))
        ax.annotate(f"{item.months:.2g}", (item.months, row), xytext=(6, 1), textcoords="offset points", va="bottom",
                    fontsize=8.5, zorder=6)  # fmt: skip
    ax.set_yticks(range(len(proposed)), [item.name for item in proposed])
    ax.set_xticks([number for number in _NUMBERS if low <= number <= high])
    ax.xaxis.set_minor_locator(_no_minor())
    ax.xaxis.set_major_formatter(lambda months, _: f"{months:g}")
    ax.grid(axis="y", visible=False)
    ax.set_xlabel("months to the next visit, proposed")
    return ax


def list_proposed(result: DriftResult) -> list[Proposed]:
    """List what the methods propose, the shortest first; quantities for which a method says the same stand together."""
    same: dict[tuple[str, float], list[str]] = {}
    for item in result.quantities:
        for proposal in item.proposals:
            if proposal.months is not None:
                same.setdefault((proposal.method, proposal.months), []).append(item.quantity)
    every = len(result.quantities)
    named = [
        Proposed(f"{method}, {_quantities(quantities, every)}", months) for (method, months), quantities in same.items()
    ]
    return sorted([*named, *_dates(result), *_of_like_channels(result)], key=lambda item: item.months)


def _quantities(names: Sequence[str], every: int) -> str:
    if len(names) == 1:
        return names[0]
    return f"all {every}" if len(names) == every else f"{len(names)} of {every} quantities"


def _dates(result: DriftResult) -> Iterator[Proposed]:
    """Until when each quantity is within its tolerance with the probability that is asked for."""
    for item in result.quantities:
        found = item.date
        if found is not None and found.years:
            low, high = (round(12.0 * (end or found.horizon_years), _DECIMALS) for end in found.interval_years)
            name = f"within with {100.0 * found.level:g} %, {item.quantity}"
            yield Proposed(name, round(12.0 * found.years, _DECIMALS), (max(low, 0.5), max(high, 0.5)))


def _of_like_channels(result: DriftResult) -> Iterator[Proposed]:
    found, proposal = result.reliability, result.reliability_proposal
    if found is None or proposal.months is None:
        return
    low, high = found.interval_limits(result.settings.target_reliability)
    longest = result.settings.steps.longest_months
    ends = max(12.0 * low, 0.5), longest if high is None else min(12.0 * high, 2.0 * longest)
    observed = plural(len(found.years), "observation")
    yield Proposed(f"reliability of like channels ({observed})", proposal.months, ends)


def _no_minor() -> Any:
    from matplotlib.ticker import NullLocator

    return NullLocator()
