"""Figures of a verdict on a whole channel: the ladder of levels, and its tests in small multiples."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.analysis.channel.reach_point import ReachPoint
from vibcal_nb.analysis.readings.grouping import same_speed
from vibcal_nb.display.band_response.band_plots import draw_band_response
from vibcal_nb.display.channel.channel_statements import reach_sentence
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import plain_log_axis
from vibcal_nb.display.linearity.linearity_plots import draw_level_deviations
from vibcal_nb.display.sensor_alone.sensor_plots import draw_sensor_alone
from vibcal_nb.display.style import ALLOWED, FAILED, GREY, INK, LIMIT, SET_POINT, UNCERTAIN, verdict_text
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import frequency, number
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED
from vibcal_nb.model.names import LINEARITY, MODULE_ALONE

Axes = Any  # matplotlib's, which is imported by whoever makes a figure

_ATTRIBUTION = "whose deviation it is"
_SMALL = {"font.size": 8.0, "axes.titlesize": 9.0, "axes.labelsize": 8.0}
_MARKERS = {"demonstrated": "o", "inferred": "D", NOT_VERIFIED: "s"}


def draw_ladder(result: ChannelVerdict, ax: Axes) -> Axes:
    """Draw the ladder of levels, a column a speed: 0, what was driven, where each set point is indicated, full scale.

    A filled bar is what was driven in the test of the whole channel or its parts; a dashed rung is a set point as it
    is set; a marker with its U is where it is indicated in truth (round: demonstrated, diamond: inferred, hollow
    square: not verified, where the line would meet it).
    """
    speeds = list(dict.fromkeys(point.frequency_hz for point in result.reach))
    for column, speed in enumerate(speeds):
        points = [point for point in result.reach if point.frequency_hz == speed]
        _draw_column(result, column, points, ax)
    full_scale = result.case.channel.full_scale
    if full_scale is not None:
        ax.axhline(full_scale, color=INK, lw=1.2)
        text = f"full scale {full_scale:g}"
        ax.text(0.01, full_scale, text, transform=ax.get_yaxis_transform(), va="bottom", fontsize=8.5, color=INK)
    ax.axhline(0.0, color=INK, lw=1.2)
    levels = [point.true_level or point.extrapolated_level or 0.0 for point in result.reach]
    levels += [point.set_level for point in result.reach] + [point.highest_level or 0.0 for point in result.reach]
    room = 0.5 if len(speeds) > 1 else 1.0
    ax.set(xlim=(-room, len(speeds) - 1.0 + room), ylim=(0.0, 1.1 * max([*levels, full_scale or 0.0, 1e-12])))
    ax.set_xticks(range(len(speeds)), [_speed_label(result, speed) for speed in speeds])
    ax.grid(axis="x", visible=False)
    ax.set_ylabel(f"true vibration, {result.case.input_unit.text}")
    return ax


def _speed_label(result: ChannelVerdict, speed: float) -> str:
    names = list(dict.fromkeys(p.rotor.name for p in result.reach if p.rotor and p.frequency_hz == speed))
    return f"{', '.join(names)}\n{frequency(speed)} = {speed * 60:.5g} rpm".lstrip("\n")


def _driven(result: ChannelVerdict, speed: float) -> float | None:
    """The highest level driven through the whole channel at a speed."""
    linearity = result.tests.linearity
    tops = [
        item.max_applied
        for item in (() if linearity is None else linearity.frequencies)
        if item.max_applied is not None and same_speed(item.frequency_hz, speed)
    ]
    return max(tops, default=None)


def _draw_column(result: ChannelVerdict, column: int, points: list[ReachPoint], ax: Axes) -> None:
    """Left of the bar what is set, right of it what is so."""
    top = _driven(result, points[0].frequency_hz)
    if top is not None:
        ax.bar(column - 0.15, top, width=0.14, color=UNCERTAIN)
        text = f"driven to\n{number(top, digits=3)}"
        ax.text(column - 0.15, 0.02 * top, text, ha="center", va="bottom", fontsize=8, color=INK)
    for point in points:
        colour = SET_POINT
        ax.plot([column - 0.28, column - 0.03], [point.set_level] * 2, color=colour, lw=1.2, ls=(0, (5, 3)))
        label = f"{point.set_point} set\nat {point.set_level:g}"
        ax.text(column - 0.29, point.set_level, label, ha="right", va="center", fontsize=8.5)
        _draw_true_level(point, column, colour, ax)


def _draw_true_level(point: ReachPoint, column: int, colour: str, ax: Axes) -> None:
    level = point.true_level if point.true_level is not None else point.extrapolated_level
    if level is None:
        ax.text(column + 0.02, point.set_level, point.status, va="center", fontsize=8.5)
        return
    expanded = None if point.expanded is None else point.expanded.U
    ax.errorbar(
        column - 0.03,
        level,
        yerr=expanded,
        marker=_MARKERS[point.status],
        ms=7,
        color=colour,
        markerfacecolor="white" if expanded is None else colour,
        elinewidth=1.4,
        capsize=3,
        zorder=4,
    )
    about = f"{number(level)} if straight" if expanded is None else f"{number(level)} ± {number(expanded, digits=2)}"
    ax.text(column + 0.02, level, f"{about}\n{point.status}", va="center", fontsize=8.5)


def draw_attribution(result: ChannelVerdict, ax: Axes) -> Axes:
    """Draw the deviation of channel, sensor and rest over frequency, with U, near the main one."""
    assert result.attribution is not None  # the caller has asked
    main = result.attribution.main
    limit = result.case.channel.tolerance_pct
    ax.axhspan(-limit, limit, color=ALLOWED, lw=0)
    ax.axhline(0.0, color=GREY, lw=0.8)
    points = result.attribution.points
    for name, marker, colour in (("channel", "o", INK), ("sensor", "^", LIMIT), ("rest", "D", FAILED)):
        hz = [point.frequency_hz for point in points]
        value = [getattr(point, f"{name}_pct") for point in points]
        expanded = [getattr(point, name).U for point in points]
        ax.errorbar(hz, value, yerr=expanded, ls="none", marker=marker, ms=4, color=colour, label=name, elinewidth=0.8)
    half = max(2.0 * limit, 1.4 * max(abs(main.channel_pct), abs(main.sensor_pct), abs(main.rest_pct)))
    ax.set(xscale="log", ylim=(-half, half))
    plain_log_axis(ax)
    ax.set_xlabel("frequency, Hz")
    ax.set_ylabel("deviation, %", labelpad=1.0)
    ax.legend(loc="upper left", ncols=3, fontsize=7.5, columnspacing=0.8, handletextpad=0.2)
    return ax


def small_multiples(result: ChannelVerdict) -> list[tuple[str, Callable[[Axes], Axes]]]:
    """Return a title and a drawing for each small multiple there is."""
    panels: list[tuple[str, Callable[[Axes], Axes]]] = []
    tests = result.tests
    lines = [] if tests.linearity is None else [(LINEARITY, tests.linearity)]
    lines += [] if tests.module is None else [(MODULE_ALONE, inner) for inner in tests.module.results]
    for test, outcome in lines:
        for item in outcome.frequencies:
            title = f"{spoken(test)} at {frequency(item.frequency_hz)}: {verdict_text(item.verdict)}"
            panels.append((title, partial(draw_level_deviations, outcome, item)))
    if tests.band is not None:
        title = f"band response: {verdict_text(tests.band.verdict)}"
        panels.append((title, partial(draw_band_response, tests.band)))
    if tests.sensor is not None:
        title = f"sensor alone: {verdict_text(tests.sensor.verdict)}"
        panels.append((title, partial(draw_sensor_alone, tests.sensor)))
    if result.attribution is not None:
        panels.append((_ATTRIBUTION, partial(draw_attribution, result)))
    return panels


def ladder_picture(result: ChannelVerdict) -> Picture:
    """Return the ladder of levels."""
    said = ". ".join(reach_sentence(point, result) for point in result.reach)
    text = f"Ladder of levels in true vibration, a column a running speed. {said}."
    return draw_picture(4.6, lambda figure: draw_ladder(result, axes_grid(figure)[0][0]), text=text)


def tests_picture(result: ChannelVerdict) -> Picture | None:
    """Return the tests in small multiples, three to a row; None where there is none."""
    panels = small_multiples(result)
    if not panels:
        return None
    columns = min(3, len(panels))
    rows = -(-len(panels) // columns)

    def draw(figure: Any) -> None:
        grid = axes_grid(figure, columns=columns, heights=(1.0,) * rows, down=70.0)
        axes = [ax for row in grid for ax in row]
        for ax, (title, draw_panel) in zip(axes, panels, strict=False):
            _draw_small(title, draw_panel, ax)
        for ax in axes[len(panels) :]:
            ax.remove()

    titles = ", ".join(title for title, _ in panels)
    text = f"The tests of {result.case.channel.tag} in small multiples: {titles}."
    return draw_picture(2.8 * rows, draw, text=text, look=_SMALL)


def _draw_small(title: str, draw_panel: Callable[[Axes], Axes], ax: Axes) -> None:
    draw_panel(ax)
    ax.yaxis.get_major_locator().set_params(nbins=5)
    ax.tick_params(labelbottom=True)
    ax.set_title(title, y=1.07)  # above the rotors' names
    if title != _ATTRIBUTION and ax.get_legend() is not None:
        ax.get_legend().remove()
