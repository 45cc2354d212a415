"""An explanation drawn over the readings it explains, and what would be left were it mended."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

import numpy as np

from vibcal_nb.analysis.faults.faults import Explanation, FaultExplanations
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import plain_log_axis, round_up
from vibcal_nb.display.results.live_figure import LiveFigure
from vibcal_nb.display.style import FAILED, GREY, INK, UNCERTAIN
from vibcal_nb.model.names import SHAKER_TESTS

HEIGHT = 5.4
AGAINST = -2.0  # nats: a reading that speaks so clearly against the explanation is ringed


def explanation_picture(found: FaultExplanations, item: Explanation, *, text: str) -> Picture:
    """Return the figure of one explanation; ``text`` says in words what it shows."""
    return draw_picture(HEIGHT, lambda figure: draw_both(found, item, make_columns(found, figure)), text=text)


def live_explanation_png(figure: LiveFigure, found: FaultExplanations, item: Explanation) -> bytes:
    """Return the same picture from a figure that is drawn again and again."""
    shape = (tuple(_tests(found)), found.readings.channel.input_unit.text)
    return figure.drawn(shape, HEIGHT, partial(make_columns, found), partial(draw_both, found, item))


def make_columns(found: FaultExplanations, figure: Any) -> Sequence[Any]:
    """Return the axes on an empty figure: a column a test, what was read above and what would be left below."""
    rows = axes_grid(figure, columns=len(_tests(found)), heights=(1.6, 1.0), top=40.0)
    return tuple(ax for row in rows for ax in row)


def draw_both(found: FaultExplanations, item: Explanation, axes: Sequence[Any]) -> None:
    """Draw one explanation into the axes that `make_columns` made, with one legend above all of them."""
    tests = _tests(found)
    for column, number in enumerate(tests):
        draw_explanation(found, item, number, axes[column])
        draw_remainder(found, item, number, axes[len(tests) + column])
    _name_marks(axes[: len(tests)])


def _tests(found: FaultExplanations) -> list[int]:
    return [number for number in range(len(SHAKER_TESTS)) if (found.readings.points.test == number).any()]


def _name_marks(axes: Sequence[Any]) -> None:
    """Put the legend where no reading can lie under it; one that says the same stays."""
    marks = {name: mark for ax in axes for mark, name in zip(*ax.get_legend_handles_labels(), strict=True)}
    figure = axes[0].figure
    for legend in figure.legends[:]:
        if [text.get_text() for text in legend.get_texts()] == list(marks):
            return
        legend.remove()
    figure.legend(marks.values(), marks.keys(), loc="upper right", ncols=len(marks))


def draw_explanation(found: FaultExplanations, item: Explanation, test: int, ax: Any) -> Any:
    """Draw the output over nominal of one test's readings, and what the explanation predicts for each."""
    readings, x, rows = found.readings, _place(found, test), _rows(found, test)
    ax.errorbar(
        x,
        100.0 * readings.ratio[rows],
        yerr=200.0 * readings.u_ratio[rows],
        ls="none",
        marker="o",
        ms=4.5,
        color=INK,
        label="reading ± U",
    )
    for number, hz in enumerate(_lines(found, test)):
        part = rows & np.isclose(readings.points.frequency_hz, hz, rtol=0.01) if hz else rows
        order = np.argsort(_of(found, test, part), kind="stable")
        values = 100.0 * item.fitted.prediction[part][order]
        ax.plot(_of(found, test, part)[order], values, color=GREY, label=item.name if number == 0 else None)
    against = rows & (item.support < AGAINST)
    if against.any():
        ax.plot(_of(found, test, against), 100.0 * readings.ratio[against], ls="none", marker="o", ms=11, mfc="none",
                color=FAILED, label="speaks against it")  # fmt: skip
    ax.set_title(SHAKER_TESTS[test].replace("-", " "))
    ax.set_ylabel("output over nominal, %")
    _scale(ax, test, x)
    shown, u = 100.0 * readings.ratio[rows], 200.0 * readings.u_ratio[rows]
    _round_limits(ax, [*(shown - u), *(shown + u), *(100.0 * item.fitted.prediction[rows])])
    return ax


def draw_remainder(found: FaultExplanations, item: Explanation, test: int, ax: Any) -> Any:
    """Draw what would be left of each reading's deviation were the explained fault mended."""
    readings, rows = found.readings, _rows(found, test)
    left = 100.0 * (readings.ratio[rows] / item.fitted.prediction[rows] - 1.0)
    u = 200.0 * readings.u_ratio[rows] / np.abs(item.fitted.prediction[rows])
    ax.axhline(0.0, color=GREY, lw=0.8)
    ax.errorbar(_place(found, test), left, yerr=u, ls="none", marker="s", ms=4, color=INK, ecolor=UNCERTAIN)
    ax.set_ylabel("remainder, %")
    ax.set_xlabel("frequency, Hz" if test else f"level, {readings.channel.input_unit.text}")
    _scale(ax, test, _place(found, test))
    half = round_up(1.05 * float((np.abs(left) + u).max()))
    ax.set_ylim(-half, half)
    return ax


def _scale(ax: Any, test: int, x: Any) -> None:
    """Make the horizontal axis that of levels, from zero, or of frequencies."""
    if test:
        ax.set(xscale="log", xlim=(x.min() / 1.2, x.max() * 1.2))
        plain_log_axis(ax)
    else:
        ax.set_xlim(0.0, 1.05 * x.max())


def _round_limits(ax: Any, values: Sequence[float]) -> None:
    """End the scale at round numbers, so that it rests from one explanation to the next where it can."""
    low, high = min(values), max(values)
    step = round_up(max(high - low, 1e-6)) / 10.0
    ax.set_ylim((np.floor(low / step) - 0.5) * step, (np.ceil(high / step) + 0.5) * step)


def _rows(found: FaultExplanations, test: int) -> Any:
    return found.readings.points.test == test


def _place(found: FaultExplanations, test: int) -> Any:
    return _of(found, test, _rows(found, test))


def _of(found: FaultExplanations, test: int, rows: Any) -> Any:
    points = found.readings.points
    return points.frequency_hz[rows] if test else points.level[rows] * found.readings.full_scale


def _lines(found: FaultExplanations, test: int) -> list[float]:
    """The frequencies that get a line of their own: each of a linearity test, all together elsewhere."""
    if test:
        return [0.0]
    hz = np.sort(found.readings.points.frequency_hz[_rows(found, test)])
    return list(hz[np.insert(np.diff(hz) > 0.01 * hz[:-1], 0, True)])


def explanation_text(found: FaultExplanations, item: Explanation) -> str:
    """Say in words what the figure shows."""
    against = int((item.support < AGAINST).sum())
    return (
        f"Output over nominal of every reading of {found.readings.channel.tag}, what {item.name} predicts for it, and "
        f"what would be left were it mended. {against} of {len(found.readings)} readings speak against it."
    )
