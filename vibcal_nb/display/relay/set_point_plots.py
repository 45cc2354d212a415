"""Figure of set points: the levels held towards each relay, in % of the set level, and where it acts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.analysis.relay.set_points import SetPointFound, SetPointsResult
from vibcal_nb.display.drawing.axes_grid import axes_beside
from vibcal_nb.display.drawing.marks import Mark, draw_marks, verdict_mark
from vibcal_nb.display.drawing.plot_parts import Axes, explain, mark_zero_across, shade_allowed_across
from vibcal_nb.display.style import GREY, INK, VERDICT_LOOKS, verdict_text
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import frequency, percent_with_uncertainty

_EACH = 0.62  # inches a set point
_FRAME = 1.2
_NOT_ACTED, _ACTED = Mark("|", GREY, size=9.0), Mark("|", INK, size=13.0)


def set_point_height(result: SetPointsResult) -> float:
    """Return the height of the figure, in inches."""
    return _FRAME + _EACH * len(result.found)


def set_point_axes(_: SetPointsResult, figure: Any) -> tuple[Axes, ...]:
    """Return one plot on an empty figure."""
    return axes_beside(figure, widths=(1.0,), top=38.0, across=20.0, left=110.0)


def draw_set_points(result: SetPointsResult, axes: Sequence[Axes], *, speed_axis: bool = False) -> None:
    """Draw each set point as a line of levels held, with the level of action and its U."""
    (ax,) = axes
    allowed = max(item.allowed_pct for item in result.found)
    half = max([1.8 * allowed, *(1.15 * abs(_pct(item, level)) for item in result.found for level in _near(item))])
    ax.set_xlim(-half, half)
    ax.set_ylim(len(result.found) - 0.4, -0.6)
    shade_allowed_across(ax, -allowed, allowed)
    mark_zero_across(ax)
    for place, item in enumerate(result.found):
        _draw(ax, item, place, half)
    ax.set_yticks(range(len(result.found)), [_named(item) for item in result.found])
    ax.grid(visible=False, axis="y")
    ax.set_xlabel("level, % from the set level")
    ax.set_title(spoken(result.case.condition))
    ax.set_title(verdict_text(result.verdict), loc="right", color=VERDICT_LOOKS[result.verdict].colour)
    explain(
        ax, "short stroke: held and not acted", "long: acted", "mark and bar: level of action with U", "blue: allowed"
    )


def _named(item: SetPointFound) -> str:
    return f"{item.set_point.name} {item.set_point.level:g}\n{frequency(item.frequency_hz)}"


def _pct(item: SetPointFound, level: float) -> float:
    return 100.0 * (level / item.set_point.level - 1.0)


def _near(item: SetPointFound) -> list[float]:
    """The levels that the scale has to hold: those next to the level of action."""
    ends = (item.approaches.highest_not_acted, item.approaches.lowest_acted)
    return [level for level in ends if level is not None]


def _draw(ax: Axes, item: SetPointFound, place: int, half: float) -> None:
    for mark, acted in ((_NOT_ACTED, False), (_ACTED, True)):
        held = [(_pct(item, level), row.row) for level, row in item.approaches.towards if row.acted is acted]
        shown = [(level, row) for level, row in held if abs(level) <= half]
        levels, rows = [level for level, _ in shown], [row for _, row in shown]
        draw_marks(ax, levels, [place] * len(shown), mark, rows=rows)
    if item.deviation_pct is None or item.expanded is None:
        return
    expanded = item.expanded.times(100.0 / item.set_point.level)
    mark = verdict_mark(item.verdict)
    ax.plot(
        [item.deviation_pct - expanded.U, item.deviation_pct + expanded.U],
        [place + 0.22] * 2,
        color=mark.colour,
        lw=1.4,
    )
    draw_marks(ax, [item.deviation_pct], [place + 0.22], mark)
    words = percent_with_uncertainty(item.deviation_pct, expanded)
    right = item.deviation_pct < 0.5 * half
    at = item.deviation_pct + (expanded.U + 0.02 * half) * (1.0 if right else -1.0)
    ax.text(at, place + 0.22, words, va="center", ha="left" if right else "right", fontsize=8.5, color=mark.colour)
