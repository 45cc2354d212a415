"""Figure of the set points: for each at each running speed, where it is set and at what true vibration it comes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.analysis.channel.reach_point import DEMONSTRATED, DOES_NOT_ACT, INFERRED, PROVED, ReachPoint
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.marks import Mark, draw_marks
from vibcal_nb.display.drawing.plot_parts import Axes, explain, few_numbers
from vibcal_nb.display.style import GREY, INK, SET_POINT
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import frequency, number, with_uncertainty
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED
from vibcal_nb.model.names import AS_FOUND, AS_LEFT

SHOWS = "For each set point and running speed, where it is set and at what true vibration it is indicated."
_ROW = 0.36  # inches
_DOTTED = (1.1, (0, (1, 2)))
_LINES = {
    PROVED: (4.5, "-"),
    DEMONSTRATED: (3.0, "-"),
    INFERRED: (1.1, "-"),
    NOT_VERIFIED: _DOTTED,
    DOES_NOT_ACT: _DOTTED,
}
_SHAPES = {AS_FOUND: "o", AS_LEFT: "D"}


class _Row(NamedTuple):
    """A set point at a speed, as found and as left, None where the visit does not hold that."""

    found: ReachPoint | None
    left: ReachPoint | None

    @property
    def known(self) -> ReachPoint:
        point = self.found or self.left
        assert point is not None  # a row is made of one at least
        return point


def set_point_height(result: ChannelVerdict) -> float:
    """Return the height of the figure in inches."""
    return 0.95 + _ROW * max(len(_rows(result)), 1)


def set_point_axes(_: ChannelVerdict, figure: Any) -> tuple[Axes, ...]:
    """Return the plot on an empty figure, with room for names at its left and for words at its right."""
    return (axes_grid(figure, left=150.0, right=190.0, top=24.0)[0][0],)


def draw_set_points(result: ChannelVerdict, axes: Sequence[Axes], *, speed_axis: bool = False) -> None:
    """Draw a row for each set point at each speed, in % of where it is set, into the plot of `set_point_axes`."""
    (ax,) = axes
    rows = _rows(result)
    unit = result.case.input_unit.shown
    ax.axvline(100.0, color=SET_POINT, lw=1.4, zorder=1)
    for number_, row in enumerate(rows):
        start = 100.0
        for point, condition in ((row.found, AS_FOUND), (row.left, AS_LEFT)):
            if point is not None:
                start = _draw_step(ax, number_, start, point, condition)
        words = " → ".join(_words(point) for point in row if point is not None)
        ax.text(1.015, number_, words, transform=ax.get_yaxis_transform(), va="center", fontsize=8.5)
    ax.set(ylim=(max(len(rows), 1) - 0.5, -0.5), xlim=_scale(rows))
    ax.set_yticks(range(len(rows)), [_name(row.known, unit) for row in rows])
    ax.grid(axis="y", visible=False)
    few_numbers(ax.xaxis, 6)
    ax.set_xlabel("true vibration at which it is indicated, % of the set point")
    marks = [f"{'○' if name == AS_FOUND else '◇'} {spoken(name)}" for name in _conditions(rows)]
    proved = any(point is not None and point.status == PROVED for row in rows for point in row)
    widths = f"{'thickest: proved, ' if proved else ''}thick: demonstrated, thin: inferred, dotted: neither"
    explain(ax, "line at 100: as set", *marks, "bar: U", widths)


def _rows(result: ChannelVerdict) -> list[_Row]:
    both = result.reach, result.other_reach
    found, left = both if result.case.condition == AS_FOUND else both[::-1]
    pairs: dict[tuple[float, str], list[ReachPoint | None]] = {}
    for place, points in enumerate((found, left)):
        for point in points:
            key = (round(point.frequency_hz, 1), point.set_point)
            pairs.setdefault(key, [None, None])[place] = point
    return [_Row(*pair) for pair in pairs.values()]


def _conditions(rows: Sequence[_Row]) -> list[str]:
    there = [(AS_FOUND, any(row.found for row in rows)), (AS_LEFT, any(row.left for row in rows))]
    return [name for name, is_there in there if is_there]


def _level(point: ReachPoint) -> float | None:
    """The true level in % of the set point; without one, where the line would meet it, or where it was driven to."""
    level = point.true_level if point.true_level is not None else point.extrapolated_level
    if level is None and point.status == DOES_NOT_ACT:
        level = point.highest_level
    return None if level is None else 100.0 * level / point.set_level


def _draw_step(ax: Axes, row: int, start: float, point: ReachPoint, condition: str) -> float:
    """Draw from where it came before to where it comes now; return that."""
    level = _level(point)
    if level is None:
        return start
    width, dashes = _LINES[point.status]
    ax.plot([start, level], [row, row], color=GREY, lw=width, ls=dashes, zorder=2, solid_capstyle="butt")
    if point.expanded is not None:
        u = 100.0 * point.expanded.U / point.set_level
        ax.plot([level - u, level + u], [row, row], color=INK, lw=1.0, marker="|", ms=7.0, zorder=3)
    draw_marks(ax, [level], [row], Mark(_SHAPES[condition], INK, point.expanded is not None))
    return level


def _words(point: ReachPoint) -> str:
    if point.true_level is not None and point.expanded is not None:
        known = with_uncertainty(point.true_level, point.expanded)
        return known if point.status == DEMONSTRATED else f"{known}, {point.status}"
    if point.status == DOES_NOT_ACT:
        return f"does not act at {number(point.highest_level or 0.0, digits=3)}"
    return NOT_VERIFIED if point.highest_level is None else f"driven to {number(point.highest_level, digits=3)}"


def _name(point: ReachPoint, unit: str) -> str:
    rotor = f"{point.rotor.name}, " if point.rotor else ""
    return f"{rotor}{frequency(point.frequency_hz)}\n{point.set_point} {point.set_level:g} {unit}"


def _scale(rows: Sequence[_Row]) -> tuple[float, float]:
    values = [95.0, 105.0]
    for row in rows:
        for point in row:
            level = None if point is None else _level(point)
            if point is not None and level is not None:
                u = 0.0 if point.expanded is None else 100.0 * point.expanded.U / point.set_level
                values += [level - u, level + u]
    room = 0.05 * (max(values) - min(values))
    return min(values) - room, max(values) + room
