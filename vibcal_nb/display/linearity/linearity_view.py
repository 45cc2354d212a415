"""How a linearity is shown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from vibcal_nb.analysis.linearity.linearity import LinearityResult, analyse_linearity
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.linearity.linearity_card import linearity_quantities, linearity_sentence
from vibcal_nb.display.linearity.linearity_plots import HEIGHT, SHOWS, draw_linearity, is_of_span, linearity_axes
from vibcal_nb.display.linearity.linearity_statements import word_linearity
from vibcal_nb.display.linearity.linearity_tables import linearity_points, linearity_summary
from vibcal_nb.display.readings.point_columns import Columns, point_columns
from vibcal_nb.display.results.view import Control, Drawing, Grip, View, WhatIf, either_side, rule_in_short
from vibcal_nb.display.writing.numbers import frequency
from vibcal_nb.display.writing.tolerances import tolerance_text
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.model.case import Case


def _together(result: LinearityResult) -> Iterator[tuple[str, Sequence[JudgedPoint]]]:
    for item in result.frequencies:
        yield f" at {frequency(item.frequency_hz)}", item.points


def _not_shown(result: LinearityResult) -> tuple[str, ...]:
    channel = result.case.channel
    return tuple(
        f"anything above {item.max_applied:.3g} {channel.input_unit.shown} at {frequency(item.frequency_hz)}, "
        f"where the trip is {channel.trip:g}"
        for item in result.frequencies
        if channel.trip is not None and item.max_applied is not None and item.max_applied < channel.trip
    )


def _budgets(result: LinearityResult) -> tuple[tuple[str, Budget], ...]:
    return tuple((frequency(f.frequency_hz), f.line.budget) for f in result.frequencies if f.line is not None)


def _limits(result: LinearityResult) -> str:
    channel = result.case.channel
    limit = f"; non-linearity {channel.nonlinearity_pct:g} % of span" if channel.nonlinearity_pct else ""
    rule = rule_in_short(result.rule).lower().replace("rule: ", "")
    zero = channel.zero_tolerance_span_pct
    at_rest = "" if zero is None else f"; zero ± {zero:g} % of span"
    return f"sensitivity {tolerance_text(channel)}{at_rest}{limit}; {rule}"


def _controls(result: LinearityResult) -> tuple[Control, ...]:
    channel = result.case.channel
    tolerance = Control(
        name="tolerance_pct",
        label="tolerance, ± %" if channel.tolerance.is_of_reading else "tolerance at full scale, ± %",
        kind="share",
        value=channel.tolerance_pct,
        most=15.0,
    )
    stated = [
        (name, label, value, most)
        for name, label, value, most in (
            ("nonlinearity_pct", "non-linearity, %", channel.nonlinearity_pct, 10.0),
            ("alert", f"alert, {channel.input_unit.text}", channel.alert, 2.0 * (channel.alert or 0.0)),
            ("trip", f"trip, {channel.input_unit.text}", channel.trip, 2.0 * (channel.trip or 0.0)),
        )
        if value is not None
    ]
    further = (Control(name=n, label=label, kind="share", value=v, most=most) for n, label, v, most in stated)
    return tolerance, *further


def _change(case: Case, values: Mapping[str, Any]) -> Case:
    limits = {name: values[name] for name in ("nonlinearity_pct", "alert", "trip") if name in values}
    return case.with_tolerance(values["tolerance_pct"]).with_channel(**limits)


def _grips(result: LinearityResult) -> Iterator[Grip]:
    """The tolerance and its guard band at the deviations, the non-linearity below, set points at their levels."""
    channel, columns = result.case.channel, len(result.frequencies)
    tolerance, lowest = channel.tolerance, columns  # the first plot of the lower row
    parted = is_of_span(result) and (tolerance.reading_pct is not None or tolerance.absolute is not None)
    for pane, item in enumerate(result.frequencies):
        if not parted:  # of several parts it is no straight line
            yield from either_side("tolerance_pct", pane)
        line = item.line
        if result.rule.r > 0.0 and line is not None and not is_of_span(result):
            wide = line.deviation_decision.guard_band / result.rule.r
            for side in (1.0, -1.0):
                yield Grip(control="r", pane=pane, along="y", per=-side * wide, base=side * channel.tolerance_pct)
        if channel.nonlinearity_pct is not None:
            yield from either_side("nonlinearity_pct", lowest + pane)
        for name in ("alert", "trip"):
            if getattr(channel, name) is not None:
                yield Grip(control=name, pane=pane, along="x")


def _ratios(result: LinearityResult) -> tuple[int, ...]:
    return () if is_of_span(result) else tuple(range(len(result.frequencies)))


def _columns(result: LinearityResult) -> Columns:
    points = (point for item in result.frequencies for point in item.points)
    return point_columns(points, result.case, value="deviation from nominal")


VIEW = View(
    words=word_linearity,
    sentence=linearity_sentence,
    quantities=linearity_quantities,
    summary=linearity_summary,
    columns=_columns,
    points=linearity_points,
    together=_together,
    not_shown=_not_shown,
    budgets=_budgets,
    drawing=Drawing(
        axes=linearity_axes,
        draw=draw_linearity,
        shows=SHOWS,
        height=lambda _: HEIGHT,
        columns=lambda result: len(result.frequencies),
    ),
    what_if=WhatIf(
        limits=_limits,
        controls=_controls,
        change=_change,
        analyse=analyse_linearity,
        grips=lambda result: tuple(_grips(result)),
        ratios=_ratios,
    ),
)
