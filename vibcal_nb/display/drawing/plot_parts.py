"""What several plots are drawn of: readings with their U, limits, running speeds, set points, scales.

Lines and marks are drawn as few artists as there are looks: matplotlib's time goes with their number.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from vibcal_nb.arrays import FloatArray
from vibcal_nb.display.style import ALLOWED, GREY, GUARD, LIMIT, SET_POINT
from vibcal_nb.display.writing.numbers import true_minus
from vibcal_nb.model.asset import Rotor

Axes = Any  # matplotlib's, which is imported by whoever makes a figure

_STEPS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
_SMALL = 8.5
_ABOVE = 6  # order of drawing: words lie over marks
WITHIN = "filled: within its limits, hollow: not"


def shade_allowed(ax: Axes, lower: float, upper: float, *, accepted: tuple[float, float] | None = None) -> None:
    """Shade what is allowed across the plot and number its edges; a guard band within is paler, its edge dashed."""
    ax.axhspan(lower, upper, color=ALLOWED if accepted is None else GUARD, lw=0, zorder=0.8)
    if accepted is not None:
        ax.axhspan(*accepted, color=ALLOWED, lw=0, zorder=0.8)
        for value in accepted:
            ax.axhline(value, color=LIMIT, lw=0.8, ls=(0, (4, 3)), zorder=1)
    for value in (lower, upper):
        ax.axhline(value, color=LIMIT, lw=1.1, zorder=1)
        name_level(ax, value, f"{signed(value)} %")


def shade_allowed_over(ax: Axes, span: tuple[float, float], lower: float, upper: float) -> None:
    """Shade what is allowed over a part of x, with its edges drawn."""
    ax.fill_between(span, lower, upper, color=ALLOWED, lw=0, zorder=0.8)
    for value in (lower, upper):
        ax.plot(span, [value, value], color=LIMIT, lw=1.1, zorder=1)


def name_level(ax: Axes, value: float, text: str) -> None:
    """Write what a level is, right of the plot."""
    ax.text(
        1.006, value, text, transform=ax.get_yaxis_transform(), va="center", fontsize=_SMALL, color=LIMIT, zorder=_ABOVE
    )


def signed(value: float) -> str:
    """Write a number as short as it was stated, with its sign."""
    return true_minus(f"{value:+g}")


def shade_allowed_across(ax: Axes, lower: float, upper: float) -> None:
    """Shade what is allowed of an x that is a deviation."""
    ax.axvspan(lower, upper, color=ALLOWED, lw=0, zorder=0.8)
    for value in (lower, upper):
        ax.axvline(value, color=LIMIT, lw=1.1, zorder=1)


def mark_zero(ax: Axes) -> None:
    """Draw the line of no deviation."""
    ax.axhline(0.0, color=GREY, lw=0.8, zorder=1)


def mark_zero_across(ax: Axes) -> None:
    """Draw the line of no deviation where x is one."""
    ax.axvline(0.0, color=GREY, lw=0.8, zorder=1)


def mark_set_points(ax: Axes, set_points: Iterable[tuple[str, float]], *, named: bool = True) -> None:
    """Mark the levels at which the monitor acts, on an axis of levels that has its limits."""
    low, high = ax.get_xlim()
    points_wide = 72.0 * ax.figure.get_size_inches()[0] * ax.get_position().width
    taken: list[list[tuple[float, float]]] = []  # by line of writing, from above
    for name, level in set_points:
        ax.axvline(level, color=SET_POINT, lw=1.1, ls=(0, (5, 3)), zorder=1)
        if named:
            words = f"{name} {level:g}"
            width = _LETTER * len(words) / points_wide * (high - low)
            right, line = _beside_mark(level, width, (low, high), taken)
            at, place = level + (0.005 if right else -0.005) * (high - low), ax.get_xaxis_transform()
            ax.text(at, 0.985 - _LINE * line, words, transform=place, va="top", ha="left" if right else "right",
                    fontsize=_SMALL, color=SET_POINT, zorder=_ABOVE)  # fmt: skip


_LETTER = 5.6  # points that a letter of small type is wide
_LINE = 0.09  # of a plot's height, from one line of such words to the next


def _beside_mark(
    level: float, width: float, ends: tuple[float, float], taken: list[list[tuple[float, float]]]
) -> tuple[bool, int]:
    """Return whether words of a mark stand right of it, and in which line, where no others stand."""
    sides = {False: (level - width, level), True: (level, level + width)}
    within = [right for right, (start, end) in sides.items() if start >= ends[0] and end <= ends[1]] or [True]
    for line in range(len(taken) + 1):
        if line == len(taken):
            taken.append([])
        for right in within:
            start, end = sides[right]
            if all(end <= other[0] or start >= other[1] for other in taken[line]):
                taken[line].append((start, end))
                return right, line
    raise AssertionError("a new line is free")


def mark_rotors(rotors: Iterable[Rotor], ax: Axes, low: float, high: float, *, named: bool = True) -> None:
    """Mark the rotors' speeds that lie on an axis of frequencies."""
    for rotor in rotors:
        if low <= rotor.speed_hz <= high:
            ax.axvline(rotor.speed_hz, color=GREY, lw=1.0, ls=(0, (2, 2)), zorder=1)
            if named:
                place = ax.get_xaxis_transform()
                ax.text(rotor.speed_hz, 1.01, rotor.name, transform=place, fontsize=_SMALL, va="bottom", ha="center")


def explain(ax: Axes, *parts: str) -> None:
    """Write above all plots of a figure, of which ``ax`` is the first, what their marks mean."""
    height, left = 72.0 * ax.figure.get_size_inches()[1], ax.get_position().x0
    place = ax.figure.transFigure
    ax.text(left, 1.0 - 4.0 / height, " · ".join(parts), transform=place, fontsize=_SMALL, color=GREY, va="top")


def round_up(value: float) -> float:
    """Return the next round number, so that the scale rests while a limit is moved."""
    decade = 10.0 ** math.floor(math.log10(value))
    return next(step * decade for step in _STEPS if value <= step * decade * 1.000001)


def scale_about_zero(values: FloatArray | Sequence[float], *, least: float) -> tuple[float, float]:
    """Return limits of a scale that holds the values and ``least`` on either side of zero, at round numbers."""
    found = np.asarray(values, dtype=float)
    found = found[np.isfinite(found)]
    low, high = (0.0, 0.0) if found.size == 0 else (float(found.min()), float(found.max()))
    return -round_up(max(least, -1.05 * low)), round_up(max(least, 1.05 * high))


def few_numbers(axis: Any, most: int) -> None:
    """Number an axis at a few round places."""
    from matplotlib.ticker import MaxNLocator

    axis.set_major_locator(MaxNLocator(nbins=most, steps=(1, 2, 2.5, 5, 10)))
    axis.set_major_formatter(lambda value, _: true_minus(f"{value:g}"))


def frequency_axis(ax: Axes, low: float, high: float, *, speeds: bool = False, most: int = 9) -> None:
    """Make x a logarithmic axis of frequencies with plain numbers at 1, 2 and 5, or at 1 where those are ``most``.

    ``speeds`` adds them in rpm.
    """
    from matplotlib.ticker import LogLocator, NullLocator

    ax.set(xscale="log", xlim=(low, high))
    steps = (1.0, 2.0, 5.0) if 3.0 * math.log10(high / low) <= most else (1.0,)
    ax.xaxis.set_major_locator(LogLocator(subs=steps))
    ax.xaxis.set_minor_locator(NullLocator())
    ax.xaxis.set_major_formatter(lambda hz, _: f"{hz:g}\n{60.0 * hz:g} rpm" if speeds else f"{hz:g}")


def level_axis(ax: Axes) -> None:
    """Number a logarithmic axis of levels plainly at 1, 2 and 5."""
    from matplotlib.ticker import LogLocator, NullLocator

    ax.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    ax.yaxis.set_minor_locator(NullLocator())
    ax.yaxis.set_major_formatter(lambda value, _: f"{value:g}")


def percent_axis(ax: Axes, limits: tuple[float, float]) -> None:
    """Give y these limits and a few numbers."""
    ax.set_ylim(*limits)
    few_numbers(ax.yaxis, 6)
