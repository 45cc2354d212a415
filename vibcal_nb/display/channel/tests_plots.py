"""Figure of a channel's tests: as found beside as left on the same scales, the part of each that is judged."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from vibcal_nb.analysis.channel.channel_tests import ChannelTests
from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.display.band_response.band_plots import band_ends, draw_response, response_scale
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import WITHIN, Axes, explain, frequency_axis
from vibcal_nb.display.linearity.linearity_plots import deviation_scale, draw_deviations
from vibcal_nb.display.sensor_alone.sensor_plots import draw_over_frequency, ratio_scale
from vibcal_nb.display.style import VERDICT_LOOKS, verdict_text
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import frequency, percent_with_uncertainty
from vibcal_nb.model.names import AS_FOUND, AS_LEFT, BAND_RESPONSE, LINEARITY, MODULE_ALONE, SENSOR_ALONE

Draw = Callable[[Axes], Any]
Cell = tuple[str, Draw] | None  # a plot's title and how it is drawn; None where the condition was not read
Row = tuple[Cell, ...]

_ROW = 1.95  # inches


def pictured_tests(result: ChannelVerdict) -> Picture | None:
    """Return the tests of a channel, as found beside as left where both were read; None where there is none."""
    rows = list(_rows(_states(result)))
    together = result.other is not None
    if not together:  # two different tests beside one another then
        cells = [cell for row in rows for cell in row]
        rows = [tuple(cells[place : place + 2]) for place in range(0, len(cells), 2)]
    if not rows:
        return None

    def draw(figure: Any) -> None:
        grid = axes_grid(figure, columns=2, heights=(1.0,) * len(rows), right=34.0, top=40.0, across=92.0, down=52.0)
        for row, axes in zip(rows, grid, strict=True):
            for number, ax in enumerate(axes):
                _draw_cell(row[number] if number < len(row) else None, ax, is_first=number == 0 or not together)
        explain(grid[0][0], f"{WITHIN}, small: no limits", "grey: line, model, U that all share", "blue: allowed")

    return draw_picture(0.3 + _ROW * len(rows), draw, text=_words(result))


def _draw_cell(cell: Cell, ax: Axes, *, is_first: bool) -> None:
    if cell is None:
        ax.remove()
        return
    title, draw = cell
    draw(ax)
    ax.tick_params(labelbottom=True)
    ax.set_title(title)
    ax.yaxis.label.set_fontsize(8.5)  # a row is lower than these words are long
    if not is_first:  # the same scale stands at its left
        ax.set_ylabel("")


def _states(result: ChannelVerdict) -> list[tuple[str, ChannelTests]]:
    states = [(result.case.condition, result.tests)]
    if result.other is not None:
        states.append((AS_LEFT if result.case.condition == AS_FOUND else AS_FOUND, result.other))
    return sorted(states)


def _rows(states: Sequence[tuple[str, ChannelTests]]) -> Iterator[Row]:
    yield from _line_rows(LINEARITY, [(name, () if t.linearity is None else (t.linearity,)) for name, t in states])
    yield from _line_rows(MODULE_ALONE, [(name, () if t.module is None else t.module.results) for name, t in states])
    bands = [tests.band for _, tests in states]
    if any(bands):
        yield tuple(_band_cell(name, tests, states) for name, tests in states)
    if any(tests.sensor for _, tests in states):
        yield tuple(_sensor_cell(name, tests, states) for name, tests in states)


def _line_rows(test: str, states: Sequence[tuple[str, Sequence[LinearityResult]]]) -> Iterator[Row]:
    """Yield a row a frequency that was read in either condition, all on the same scale."""
    found = [(name, result, item) for name, results in states for result in results for item in result.frequencies]
    scale = deviation_scale([result for _, results in states for result in results]) if found else (0.0, 1.0)
    speeds: list[float] = []
    for _, _, item in found:
        if not any(same_frequency(item.frequency_hz, hz) for hz in speeds):
            speeds.append(item.frequency_hz)
    for hz in speeds:
        cells = {
            name: _line_cell(test, name, result, item, scale)
            for name, result, item in found
            if same_frequency(item.frequency_hz, hz)
        }
        yield tuple(cells.get(name) for name, _ in states)


def _line_cell(
    test: str, name: str, result: LinearityResult, item: FrequencyLinearity, scale: tuple[float, float]
) -> Cell:
    title = f"{spoken(test)} at {frequency(item.frequency_hz)}, {spoken(name)}"

    def draw(ax: Axes) -> None:
        draw_deviations(result, item, ax, scale, named=title)
        ax.set_xlabel(f"level, {result.case.input_unit.shown}")
        ax.set_ylabel("deviation, %")

    return title, draw


def _band_cell(name: str, tests: ChannelTests, states: Sequence[tuple[str, ChannelTests]]) -> Cell:
    band = tests.band
    if band is None:
        return None
    title = f"{spoken(BAND_RESPONSE)}, {spoken(name)}"
    scale = response_scale([other.band for _, other in states if other.band is not None])

    def draw(ax: Axes) -> None:
        draw_response(band, ax, scale, most_named=1)
        frequency_axis(ax, *band_ends(band), most=5)
        ax.set_xlabel("frequency, Hz")
        _title_verdict(ax, band.verdict)

    return title, draw


def _sensor_cell(name: str, tests: ChannelTests, states: Sequence[tuple[str, ChannelTests]]) -> Cell:
    sensor = tests.sensor
    if sensor is None:
        return None
    scale = ratio_scale([other.sensor for _, other in states if other.sensor is not None])
    title = f"{spoken(SENSOR_ALONE)}, {spoken(name)}"
    reference = sensor.reference
    if reference is not None and reference.decision is not None:
        title += f": {percent_with_uncertainty(reference.deviation_pct, reference.decision.uncertainty)}"

    def draw(ax: Axes) -> None:
        draw_over_frequency(sensor, ax, scale, named=False)
        _title_verdict(ax, sensor.verdict)

    return title, draw


def _title_verdict(ax: Axes, verdict: Any) -> None:
    ax.set_title(verdict_text(verdict), loc="right", color=VERDICT_LOOKS[verdict].colour)


def _words(result: ChannelVerdict) -> str:
    said = [
        f"{spoken(test)} {spoken(name)}: {outcome.verdict}"
        for name, tests in _states(result)
        for test, outcome in tests.results()
    ]
    return f"The tests of {result.case.channel.tag}, what is judged of each. {'; '.join(said)}."
