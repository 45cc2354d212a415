"""How a sensor alone is shown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult, analyse_sensor_alone
from vibcal_nb.display.phase.phase_tables import phase_columns
from vibcal_nb.display.readings.point_columns import point_columns
from vibcal_nb.display.results.view import Control, Drawing, Grip, View, WhatIf, either_side, rule_in_short
from vibcal_nb.display.sensor_alone.sensor_card import sensor_quantities, sensor_sentence
from vibcal_nb.display.sensor_alone.sensor_plots import SHOWS, draw_sensor, sensor_axes, sensor_height
from vibcal_nb.display.sensor_alone.sensor_statements import word_sensor_alone
from vibcal_nb.display.sensor_alone.sensor_tables import sensor_points, sensor_summary
from vibcal_nb.display.writing.numbers import frequency
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.model.case import Case


def _together(result: SensorAloneResult) -> Iterator[tuple[str, Sequence[JudgedPoint]]]:
    yield "", result.points


def _not_shown(_: SensorAloneResult) -> tuple[str, ...]:
    return ("the cable, the conditioning module and the monitor: the sensor stood alone",)


def _budgets(result: SensorAloneResult) -> tuple[tuple[str, Budget], ...]:
    reference = result.reference
    return () if reference is None else ((frequency(result.specification.reference_hz), reference.budget),)


def _limits(result: SensorAloneResult) -> str:
    sensor = result.specification
    flat = f"flat part ± {sensor.flat_pct:g} %; " if sensor.flat_pct else ""
    rule = rule_in_short(result.rule).lower().replace("rule: ", "")
    return f"sensitivity ± {sensor.tolerance_pct:g} % at {frequency(sensor.reference_hz)}; {flat}{rule}"


def _controls(result: SensorAloneResult) -> tuple[Control, ...]:
    sensor = result.specification
    flat = Control(name="flat_pct", label="flat part, ± %", kind="share", value=sensor.flat_pct, most=20.0)
    return (
        Control(name="tolerance_pct", label="tolerance, ± %", kind="share", value=sensor.tolerance_pct, most=15.0),
        *((flat,) if sensor.flat_pct is not None else ()),
        Control(name="reference_hz", label="reference", kind="frequency", value=sensor.reference_hz),
    )


def _change(case: Case, values: Mapping[str, Any]) -> Case:
    flat = values.get("flat_pct", case.channel.sensor.flat_pct if case.channel.sensor else None)
    return case.with_sensor(tolerance_pct=values["tolerance_pct"], flat_pct=flat, reference_hz=values["reference_hz"])


def _grips(result: SensorAloneResult) -> Iterator[Grip]:
    """The tolerance at the reference on the left, the flat part's limits and the reference on the right."""
    yield from either_side("tolerance_pct", 0)
    if result.specification.flat_pct is not None:
        yield from either_side("flat_pct", 1)
    yield Grip(control="reference_hz", pane=1, along="x")


VIEW = View(
    words=word_sensor_alone,
    sentence=sensor_sentence,
    quantities=sensor_quantities,
    summary=sensor_summary,
    columns=lambda result: (
        point_columns(result.points, result.case, value="deviation from the reference frequency")
        | phase_columns(result.phase, result.points)
    ),
    points=sensor_points,
    together=_together,
    not_shown=_not_shown,
    budgets=_budgets,
    drawing=Drawing(
        axes=sensor_axes,
        draw=draw_sensor,
        shows=SHOWS,
        height=sensor_height,
    ),
    what_if=WhatIf(
        limits=_limits,
        controls=_controls,
        change=_change,
        analyse=analyse_sensor_alone,
        grips=lambda result: tuple(_grips(result)),
        ratios=lambda _: (0, 1),
    ),
)
