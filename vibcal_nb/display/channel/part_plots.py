"""Figure of the parts of a channel: a sketch with the part to blame outlined, and what each adds to the deviation."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.analysis.channel.part_steps import (
    FILTER,
    MODULE,
    PARTS,
    SENSOR,
    PartStep,
    part_steps,
    parts_to_blame,
)
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import Axes, few_numbers, mark_zero_across, shade_allowed_across
from vibcal_nb.display.style import FAILED, GREY, INK, UNCERTAIN, VERDICT_LOOKS
from vibcal_nb.display.writing.names import listed
from vibcal_nb.display.writing.numbers import frequency, percent_with_uncertainty
from vibcal_nb.metrology.uncertainty.coverage import Expanded

_ROW = 0.30  # inches
_SKETCH = 0.75


class Bar(NamedTuple):
    """A bar from ``start`` to ``end``, in % of nominal, of what ``parts`` add (none: the whole channel)."""

    name: str
    parts: tuple[str, ...]
    start: float
    end: float
    value: float
    expanded: Expanded


def parts_picture(result: ChannelVerdict) -> Picture:
    """Return the sketch of the channel, and below it its steps where they are known."""
    steps = _steps(result)
    blamed = parts_to_blame(result.tests, steps, result.case.channel.tolerance_pct)
    rows = _bars(result, steps)
    height = 0.2 + _SKETCH + (0.65 + _ROW * len(rows) if rows else 0.0)

    def draw(figure: Any) -> None:
        shares = (_SKETCH, _ROW * len(rows)) if rows else (_SKETCH,)
        below = 36.0 if rows else 4.0
        grid = axes_grid(figure, heights=shares, left=150.0, right=110.0, top=8.0, bottom=below, down=10.0)
        draw_sketch(result, blamed, grid[0][0])
        if rows:
            draw_steps(result, rows, blamed, grid[1][0])

    return draw_picture(height, draw, text=_words(result, steps, blamed))


def draw_sketch(result: ChannelVerdict, blamed: frozenset[str], ax: Axes) -> Axes:
    """Draw the parts as boxes in the order of the signal, those to blame outlined, each with the word of its test."""
    ax.set_axis_off()
    ax.set(xlim=(0.0, len(PARTS)), ylim=(0.0, 1.0))
    verdicts = {SENSOR: result.tests.sensor, MODULE: result.tests.module, FILTER: result.tests.band}
    for place, part in enumerate(PARTS):
        left, right = place + 0.06, place + 0.94
        is_blamed = part in blamed
        ax.plot([left, right, right, left, left], [0.12, 0.12, 0.88, 0.88, 0.12], zorder=2,
                color=FAILED if is_blamed else GREY, lw=2.4 if is_blamed else 0.9)  # fmt: skip
        if place:
            ax.plot([left - 0.12, left - 0.02], [0.5, 0.5], color=GREY, lw=0.9, marker=">", markevery=[1], ms=4)
        test = verdicts.get(part)
        word = "" if test is None else f"\n{VERDICT_LOOKS[test.verdict].symbol} {test.verdict}"
        ax.text(place + 0.5, 0.5, part + word, ha="center", va="center", color=FAILED if is_blamed else INK)
    return ax


def draw_steps(result: ChannelVerdict, bars: Sequence[Bar], blamed: frozenset[str], ax: Axes) -> Axes:
    """Draw what each part adds as steps from no deviation to that of the channel, with U and the channel's limits."""
    tolerance = result.case.channel.tolerance_pct
    shade_allowed_across(ax, -tolerance, tolerance)
    mark_zero_across(ax)
    reach = [tolerance]
    for row, bar in enumerate(bars):
        _draw_bar(ax, row, bar, INK if not bar.parts else FAILED if blamed.intersection(bar.parts) else UNCERTAIN)
        if row + 2 < len(bars):
            ax.plot([bar.end, bar.end], [row + 0.31, row + 0.69], color=GREY, lw=0.8, zorder=1)
        reach += [abs(bar.end) + bar.expanded.U, abs(bar.start)]
    half = 1.08 * max(reach)
    ax.set(xlim=(-half, half), ylim=(len(bars) - 0.5, -0.5))
    ax.set_yticks(range(len(bars)), [bar.name for bar in bars])
    ax.grid(axis="y", visible=False)
    few_numbers(ax.xaxis, 8)
    ax.set_xlabel("deviation from nominal, % (blue: allowed to the channel)")
    return ax


def _draw_bar(ax: Axes, row: int, bar: Bar, colour: str) -> None:
    low, high = bar.end - bar.expanded.U, bar.end + bar.expanded.U
    ax.barh(row, bar.end - bar.start, left=bar.start, height=0.62, color=colour, zorder=2)
    ax.plot([low, high], [row, row], color=INK if bar.parts else GREY, lw=1.0, marker="|", ms=7.0, zorder=3)
    words = percent_with_uncertainty(bar.value, bar.expanded)
    ax.text(1.015, row, words, transform=ax.get_yaxis_transform(), va="center")


def _steps(result: ChannelVerdict) -> tuple[PartStep, ...]:
    return () if result.attribution is None else part_steps(result.attribution.main, result.tests)


def _bars(result: ChannelVerdict, steps: Sequence[PartStep]) -> list[Bar]:
    """Return the bars of the steps, each from where the one before ended; the last is the channel's own."""
    if result.attribution is None:
        return []
    bars, before = [], 0.0
    for step in steps:
        after = (100.0 + before) * (1.0 + step.deviation_pct / 100.0) - 100.0
        bars.append(Bar(_name(result, step), step.parts, before, after, step.deviation_pct, step.expanded))
        before = after
    main = result.attribution.main
    whole = f"channel at {frequency(main.frequency_hz)}"
    return [*bars, Bar(whole, (), 0.0, main.channel_pct, main.channel_pct, main.channel)]


def _name(result: ChannelVerdict, step: PartStep) -> str:
    assert result.attribution is not None  # where there are steps
    hz = result.attribution.main.frequency_hz
    if step.parts == (SENSOR,):
        return "sensor alone"
    name = ", ".join(step.parts)
    band = result.tests.band
    at_filter = step.parts == (FILTER,) and band is not None and not same_frequency(hz, band.specification.reference_hz)
    return f"{name} at {frequency(hz)}" if at_filter else name


def _words(result: ChannelVerdict, steps: Sequence[PartStep], blamed: frozenset[str]) -> str:
    ordered = [part for part in PARTS if part in blamed]
    said = f"outlined: {listed(ordered)}" if ordered else "none outlined"
    parts = f"Sketch of the channel from sensor to filter, {said}."
    if not steps or result.attribution is None:
        return parts
    main = result.attribution.main
    values = [percent_with_uncertainty(step.deviation_pct, step.expanded) for step in steps]
    each = ", ".join(f"{_name(result, step)} {value}" for step, value in zip(steps, values, strict=True))
    whole = percent_with_uncertainty(main.channel_pct, main.channel)
    return f"{parts} Steps of the deviation at {frequency(main.frequency_hz)}: {each}; channel {whole}."
