"""How a linearity is shown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from vibcal_nb.analysis.linearity.linearity import LinearityResult, analyse_linearity
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.linearity.linearity_card import linearity_quantities, linearity_sentence
from vibcal_nb.display.linearity.linearity_plots import HEIGHT, SHOWS, draw_linearity, linearity_axes
from vibcal_nb.display.linearity.linearity_statements import word_linearity
from vibcal_nb.display.linearity.linearity_tables import linearity_points, linearity_summary
from vibcal_nb.display.readings.point_columns import Columns, point_columns
from vibcal_nb.display.results.view import Control, Drawing, View, WhatIf, rule_in_short
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
    if channel.nonlinearity_pct is None:
        return (tolerance,)
    bend = Control(
        name="nonlinearity_pct", label="non-linearity, %", kind="share", value=channel.nonlinearity_pct, most=10.0
    )
    return tolerance, bend


def _change(case: Case, values: Mapping[str, Any]) -> Case:
    limit = values.get("nonlinearity_pct", case.channel.nonlinearity_pct)
    return case.with_tolerance(values["tolerance_pct"]).with_channel(nonlinearity_pct=limit)


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
    what_if=WhatIf(limits=_limits, controls=_controls, change=_change, analyse=analyse_linearity),
)
