"""An explanation drawn over the readings it explains, and what would be left were it mended."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from vibcal_nb.analysis.faults.chain_model import predict_ratio
from vibcal_nb.analysis.faults.faults import Explanation, FaultExplanations
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.arrays import FloatArray
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.marks import LEFT_OUT, Mark, draw_bars, draw_marks
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import Axes, explain, few_numbers, frequency_axis, mark_zero, round_up
from vibcal_nb.display.style import FAILED, GREY, INK
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import frequency
from vibcal_nb.model.names import SHAKER_TESTS

HEIGHT = 4.6  # inches
AGAINST = -2.0  # nats: a reading that speaks so clearly against the explanation is ringed
_COVERAGE = 2.0  # of a reading's standard uncertainty
_SHAPES = ("o", "s", "^", "D", "v")
_CURVE = 90  # places at which an explanation's prediction is drawn


class _Curve(NamedTuple):
    """Readings that one curve goes through: their rows, the places of the curve and what is predicted there."""

    rows: Any
    x: FloatArray
    predicted: FloatArray
    name: str
    shape: str


def explanation_picture(found: FaultExplanations, item: Explanation, *, text: str) -> Picture:
    """Return the figure of one explanation; ``text`` says in words what it shows."""
    return draw_picture(HEIGHT, lambda figure: draw_both(found, item, make_columns(found, figure)), text=text)


def make_columns(found: FaultExplanations, figure: Any) -> Sequence[Axes]:
    """Return the axes on an empty figure: a column a test, what was read above and what would be left below."""
    rows = axes_grid(figure, columns=len(_tests(found)), heights=(1.6, 1.0), top=40.0)
    return tuple(ax for row in rows for ax in row)


def draw_both(found: FaultExplanations, item: Explanation, axes: Sequence[Axes]) -> None:
    """Draw one explanation into the axes that `make_columns` made."""
    tests = _tests(found)
    for column, test in enumerate(tests):
        above, below = axes[column], axes[len(tests) + column]
        curves = list(_curves(found, item, test))
        draw_explanation(found, item, test, curves, above)
        draw_remainder(found, item, test, curves, below)
        if column == 0:
            above.set_ylabel("output − nominal, %")
            below.set_ylabel("remainder, %")
    left_out = ["×: left out"] if found.readings.excluded else []
    explain(axes[0], f"grey: {item.name}", "bar: U", "ring: speaks against it", *left_out)


def draw_explanation(
    found: FaultExplanations, item: Explanation, test: int, curves: Sequence[_Curve], ax: Axes
) -> Axes:
    """Draw by how much each reading of a test departs from nominal, and what the explanation predicts."""
    readings = found.readings
    left_out = _left_out(found, test)
    _scale_x(found, test, ax)
    mark_zero(ax)
    ends: list[float] = [100.0 * (ratio - 1.0) for _, ratio, _ in left_out]
    for curve in curves:
        value, u = 100.0 * (readings.ratio[curve.rows] - 1.0), 100.0 * _COVERAGE * readings.u_ratio[curve.rows]
        predicted = 100.0 * (curve.predicted - 1.0)
        ax.plot(curve.x, predicted, color=GREY, zorder=2)
        draw_bars(ax, _place(found, test, curve.rows), value, u, colour=INK)
        rows = rows_of(found, curve.rows)
        draw_marks(ax, _place(found, test, curve.rows), value, Mark(curve.shape, INK, size=4.5), rows=rows)
        ends += [*(value - u), *(value + u), *predicted]
        if len(curves) > 1:
            ax.annotate(curve.name, (curve.x[-1], predicted[-1]), xytext=(5, 0), textcoords="offset points",
                        va="center", fontsize=8.5, color=GREY)  # fmt: skip
    against = (readings.points.test == test) & (item.support < AGAINST)
    if against.any():
        rings = {"ls": "none", "marker": "o", "ms": 10.0, "mfc": "none", "mec": FAILED, "zorder": 5}
        ax.plot(_place(found, test, against), 100.0 * (readings.ratio[against] - 1.0), **rings)
    if left_out:
        x, ratio, out = zip(*left_out, strict=True)
        draw_marks(ax, x, 100.0 * (np.array(ratio) - 1.0), LEFT_OUT, rows=out)
    _round_limits(ax, ends)
    few_numbers(ax.yaxis, 6)
    ax.set_title(spoken(SHAKER_TESTS[test]))
    return ax


def draw_remainder(found: FaultExplanations, item: Explanation, test: int, curves: Sequence[_Curve], ax: Axes) -> Axes:
    """Draw what would be left of each reading's deviation were the explained fault mended."""
    readings, most = found.readings, 0.1
    _scale_x(found, test, ax)
    mark_zero(ax)
    for curve in curves:
        expected = item.fitted.prediction[curve.rows]
        left = 100.0 * (readings.ratio[curve.rows] / expected - 1.0)
        u = 100.0 * _COVERAGE * readings.u_ratio[curve.rows] / np.abs(expected)
        draw_bars(ax, _place(found, test, curve.rows), left, u, colour=INK)
        rows = rows_of(found, curve.rows)
        draw_marks(ax, _place(found, test, curve.rows), left, Mark(curve.shape, INK, size=4.0), rows=rows)
        most = max(most, float((np.abs(left) + u).max()))
    half = round_up(1.05 * most)
    ax.set_ylim(-half, half)
    few_numbers(ax.yaxis, 4)
    ax.set_xlabel("frequency, Hz" if test else f"level, {readings.channel.input_unit.shown}")
    return ax


def explanation_text(found: FaultExplanations, item: Explanation) -> str:
    """Say in words what the figure shows."""
    against = int((item.support < AGAINST).sum())
    return (
        f"Output less nominal of every reading of {found.readings.channel.tag}, what {item.name} predicts for it, and "
        f"what would be left were it mended. {against} of {len(found.readings)} readings speak against it."
    )


def _tests(found: FaultExplanations) -> list[int]:
    return [number for number in range(len(SHAKER_TESTS)) if (found.readings.points.test == number).any()]


def _curves(found: FaultExplanations, item: Explanation, test: int) -> Iterator[_Curve]:
    """Yield the curves of a test: over the level one a frequency, over the frequency one."""
    points, rows = found.readings.points, found.readings.points.test == test
    if test:
        f, level = points.frequency_hz[rows], points.level[rows]
        order = np.argsort(f, kind="stable")
        x = np.geomspace(f.min(), f.max(), _CURVE)
        levels = np.interp(np.log(x), np.log(f[order]), level[order])
        yield _Curve(rows, x, _predict(found, item, test, x, levels), "", _SHAPES[0])
        return
    for number, hz in enumerate(_frequencies(points.frequency_hz[rows])):
        own = rows & np.isclose(points.frequency_hz, hz, rtol=0.01)
        level = np.linspace(0.5 * points.level[own].min(), points.level[own].max(), _CURVE)
        predicted = _predict(found, item, test, np.full(_CURVE, hz), level)
        x = level * found.readings.full_scale
        yield _Curve(own, x, predicted, frequency(hz), _SHAPES[number % len(_SHAPES)])


def _predict(
    found: FaultExplanations, item: Explanation, test: int, frequency_hz: FloatArray, level: FloatArray
) -> FloatArray:
    """Return what the explanation predicts between the readings too, for levels that rise."""
    points = replace(
        found.readings.points,
        test=np.full(len(level), test, dtype=np.intp),
        frequency_hz=frequency_hz,
        level=level,
        falling=np.zeros(len(level)),
        order=None,
    )
    predicted: FloatArray = predict_ratio(item.fitted.parameters[None, :], points)[0]
    return predicted


def _frequencies(hz: FloatArray) -> list[float]:
    ordered = np.sort(hz)
    return list(ordered[np.insert(np.diff(ordered) > 0.01 * ordered[:-1], 0, True)])


def rows_of(found: FaultExplanations, which: Any) -> list[int]:
    """Return the rows of the readings that a mask of the points names."""
    return [found.readings.readings[int(i)].row for i in np.flatnonzero(which)]


def _left_out(found: FaultExplanations, test: int) -> list[tuple[float, float, int]]:
    """Place, output over nominal, and row of each reading of a test that is not used."""
    pairs: list[tuple[float, float, int]] = []
    for case in found.readings.cases:
        if case.test != SHAKER_TESTS[test]:
            continue
        scaled = scale_readings(case)
        out = ~scaled.used & (scaled.x > 0.0)
        x = scaled.frequency_hz[out] if test else scaled.x[out]
        ratio = scaled.y[out] / (case.nominal_sensitivity * scaled.x[out])
        rows = [scaled.readings[int(i)].row for i in np.flatnonzero(out)]
        pairs += zip(x.tolist(), ratio.tolist(), rows, strict=True)
    return pairs


def _scale_x(found: FaultExplanations, test: int, ax: Axes) -> None:
    """Make the horizontal axis that of levels, from zero, or of frequencies."""
    x = _place(found, test, found.readings.points.test == test)
    if test:
        frequency_axis(ax, x.min() / 1.2, x.max() * 1.2, most=5)
    else:
        ax.set_xlim(0.0, 1.25 * x.max())  # room for the curves' names
        few_numbers(ax.xaxis, 5)


def _round_limits(ax: Axes, values: Sequence[float]) -> None:
    """End the scale at round numbers, so that it rests from one explanation to the next where it can."""
    low, high = min(values), max(values)
    step = round_up(max(high - low, 1e-4)) / 10.0
    ax.set_ylim((np.floor(low / step) - 0.5) * step, (np.ceil(high / step) + 0.5) * step)


def _place(found: FaultExplanations, test: int, rows: Any) -> FloatArray:
    points = found.readings.points
    place: FloatArray = points.frequency_hz[rows] if test else points.level[rows] * found.readings.full_scale
    return place
