"""What several plots are drawn of: readings with their U, limits, marks of running speeds, logarithmic axes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.style import GREY, INK, VERDICT_LOOKS
from vibcal_nb.model.asset import Rotor

Axes = Any  # matplotlib's, which is imported by whoever makes a figure


def scatter(points: Iterable[JudgedPoint], ax: Axes, x_of: Any, y_of: Any, *, bars: bool = False) -> None:
    """Draw readings by their verdict's marker and colour; excluded ones as a struck-through grey cross."""
    groups: dict[str, list[tuple[float, float, float]]] = {}
    for point in points:
        y = y_of(point)
        if y is None:
            continue
        key: str = "excluded" if point.excluded else (point.verdict or "not judged")
        groups.setdefault(key, []).append((x_of(point), y, point.expanded.U if point.expanded else 0.0))
    for key, triples in groups.items():
        x, y, u = (np.array(column) for column in zip(*triples, strict=True))
        marker, colour = _look(key)
        style = {"ls": "none", "marker": marker, "color": colour, "ms": 6, "zorder": 3}
        if bars and key != "excluded":
            ax.errorbar(x, y, yerr=u, elinewidth=1.0, capsize=0, label=key, **style)
        else:
            ax.plot(x, y, label=key, **style)


def _look(key: str) -> tuple[str, str]:
    if key == "excluded":
        return "x", GREY
    if key == "not judged":
        return ".", INK
    return VERDICT_LOOKS[key].marker, VERDICT_LOOKS[key].colour


def limit_range(ax: Axes, points: Iterable[JudgedPoint], *, centre: float, least: float) -> None:
    """Keep the limits in sight and the readings within, symmetric about the centre."""
    reach = [
        abs(p.value_pct - centre) + (p.expanded.U if p.expanded else 0.0) for p in points if p.value_pct is not None
    ]
    half = round_up(max([least, *(1.08 * r for r in reach)]))
    ax.set_ylim(centre - half, centre + half)


def round_up(value: float) -> float:
    """Return the next round number, so that the scale rests while a limit is moved."""
    decade = 10.0 ** math.floor(math.log10(value))
    return next(
        step * decade for step in (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0) if value <= step * decade * 1.000001
    )


def mark_rotors(rotors: Iterable[Rotor], ax: Axes, low: float, high: float) -> None:
    """Mark the rotors' speeds that lie on the axis."""
    for rotor in rotors:
        if low <= rotor.speed_hz <= high:
            ax.axvline(rotor.speed_hz, color=GREY, lw=1.0, ls=(0, (2, 2)))
            ax.text(
                rotor.speed_hz,
                1.0,
                f" {rotor.name}",
                transform=ax.get_xaxis_transform(),
                fontsize=8.5,
                va="bottom",
                ha="center",
            )


def plain_log_axis(ax: Axes) -> None:
    """Label a logarithmic frequency axis with plain numbers at 1, 2 and 5."""
    from matplotlib.ticker import LogLocator, NullLocator, StrMethodFormatter

    ax.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    ax.xaxis.set_major_formatter(StrMethodFormatter("{x:g}"))
    ax.xaxis.set_minor_locator(NullLocator())
