"""Figure of a plan: what the shaker reaches over frequency, what is planned, and what stays out of reach."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from vibcal_nb.analysis.planning.plan import ChannelPlan, OutOfReach
from vibcal_nb.analysis.planning.shaker import find_reach, force_for
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.marks import Mark, draw_marks
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import Axes, explain, frequency_axis, level_axis, mark_rotors
from vibcal_nb.display.style import ALLOWED, FAILED, INK, LIMIT, SET_POINT
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import number
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY, SENSOR_ALONE
from vibcal_nb.units import convert

HEIGHT = 4.0  # inches
_SHAPES = {LINEARITY: ("o", "●"), BAND_RESPONSE: ("s", "■"), SENSOR_ALONE: ("^", "▲")}
_FORCE = "force"


def plan_picture(plan: ChannelPlan) -> Picture:
    """Return the figure of a plan."""

    def draw(figure: Any) -> None:
        draw_plan(plan, axes_grid(figure, top=38.0, right=64.0)[0][0])

    return draw_picture(HEIGHT, draw, text=plan_text(plan))


def plan_text(plan: ChannelPlan) -> str:
    """Say what the figure of a plan shows."""
    gaps = "; ".join(gap_words(plan, gap) for gap in plan.out_of_reach) or "nothing"
    return (
        f"Highest level of shaker {plan.shaker.id} with {plan.moving_mass_kg:g} kg over frequency, with "
        f"{len(plan.points)} planned readings of {plan.channel.tag} below it. Out of reach: {gaps}."
    )


def gap_words(plan: ChannelPlan, gap: OutOfReach) -> str:
    """Say what is out of reach, and by how much: of force where that is what limits."""
    needed = f"{gap.what}, {gap.level:.4g} {gap.unit} wanted and {number(gap.reached, digits=2)} reached"
    force = _force(plan, gap)
    if force is None:
        return f"{needed} (limit: {gap.limited_by})"
    return f"{needed}, for want of force: {force:.0f} N where the shaker has {plan.shaker.force_n:g} N"


def _force(plan: ChannelPlan, gap: OutOfReach) -> float | None:
    """The force, in N, that would be needed; None where something else limits."""
    if gap.limited_by != _FORCE:
        return None
    mass = plan.moving_mass_kg
    return force_for(gap.level, gap.unit, frequency_hz=gap.frequency_hz, shaker=plan.shaker, moving_mass_kg=mass)


def draw_plan(plan: ChannelPlan, ax: Axes) -> Axes:
    """Draw the shaker's reach in the channel's unit, planned points, set points, and what is out of reach."""
    unit = plan.channel.input_unit
    frequencies = [point.frequency_hz for point in plan.points]
    low, high = min(frequencies) / 1.5, max(frequencies) * 1.5
    f = np.geomspace(low, high, 300)
    beside = plan.channel.overhang_mm or 0.0
    reach = find_reach(plan.shaker, frequency_hz=f, moving_mass_kg=plan.moving_mass_kg, overhang_mm=beside)
    level = np.where(reach.acceleration > 0.0, reach.level(unit), np.nan)
    lowest = 0.5 * min(_levels(plan))
    ax.set(yscale="log", ylim=(lowest, 2.0 * max([float(np.nanmax(level)), *_levels(plan)])))
    ax.fill_between(f, lowest, level, color=ALLOWED, lw=0, zorder=0.8)
    ax.plot(f, level, color=LIMIT, lw=1.4, zorder=2)
    for test, (shape, _) in _SHAPES.items():
        points = plan.of_test(test)
        levels = [convert(p.level, p.applied_unit, unit, frequency_hz=p.frequency_hz) for p in points]
        draw_marks(ax, [p.frequency_hz for p in points], levels, Mark(shape, INK, size=4.5))
    for name, value in plan.channel.set_points:
        ax.axhline(value, color=SET_POINT, lw=1.1, ls=(0, (5, 3)), zorder=1)
        place = ax.get_yaxis_transform()
        ax.text(1.006, value, f"{name} {value:g}", transform=place, va="center", fontsize=8.5, color=SET_POINT)
    _draw_gaps(plan, ax)
    frequency_axis(ax, low, high)
    ax.set(xlabel="frequency, Hz", ylabel=f"level, {unit}")
    level_axis(ax)
    mark_rotors(plan.channel.rotors, ax, low, high)
    marks = [f"{sign} {spoken(test)}" for test, (_, sign) in _SHAPES.items() if plan.of_test(test)]
    explain(ax, *marks, f"blue: within reach of {plan.shaker.id}", *(["□ out of reach"] if plan.out_of_reach else []))
    return ax


def _draw_gaps(plan: ChannelPlan, ax: Axes) -> None:
    """Draw from what is reached to what is wanted, with the force that would be needed."""
    unit = plan.channel.input_unit
    for gap in plan.out_of_reach:
        wanted, reached = (convert(v, gap.unit, unit, frequency_hz=gap.frequency_hz) for v in (gap.level, gap.reached))
        ax.plot([gap.frequency_hz] * 2, [reached, wanted], color=FAILED, lw=1.2, ls=(0, (2, 2)), zorder=2)
        draw_marks(ax, [gap.frequency_hz], [wanted], Mark("s", FAILED, filled=False))
        force = _force(plan, gap)
        words = gap.limited_by if force is None else f"{force:.0f} N needed, {plan.shaker.force_n:g} N there"
        ax.annotate(words, (gap.frequency_hz, wanted), xytext=(8, 2), textcoords="offset points", va="bottom",
                    fontsize=8.5, color=FAILED)  # fmt: skip


def _levels(plan: ChannelPlan) -> Iterator[float]:
    unit = plan.channel.input_unit
    for point in plan.points:
        yield convert(point.level, point.applied_unit, unit, frequency_hz=point.frequency_hz)
    for gap in plan.out_of_reach:
        yield convert(gap.level, gap.unit, unit, frequency_hz=gap.frequency_hz)
