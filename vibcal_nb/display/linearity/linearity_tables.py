"""Tables of a linearity test: the readings against the line, and the line's figures at each frequency."""

from __future__ import annotations

from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.readings.readings_table import Column, readings_table
from vibcal_nb.display.writing.numbers import (
    NONE,
    coverage,
    fixed,
    freedom,
    frequency,
    like_uncertainty,
    number,
    percent,
    percent_with_uncertainty,
    sensitivity_unit,
    uncertainty_text,
    with_uncertainty,
)
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.display.writing.tolerances import tolerance_text
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED
from vibcal_nb.metrology.straight_line.nonlinearity import NONLINEARITY_KINDS

_ZERO = "zero error, of span"


def linearity_points(result: LinearityResult) -> tuple[Table, ...]:
    """One table a frequency: each reading with its deviation and its distance from the line, the worst first."""
    return tuple(_points_at(result, item) for item in result.frequencies)


def _points_at(result: LinearityResult, item: FrequencyLinearity) -> Table:
    used = [point for point in item.points if point.used and not point.tells_noise]
    line = item.line
    residuals = (
        {}
        if line is None
        else {
            point.reading.row: 100.0 * float(value) / line.span
            for point, value in zip(used, line.fit.residuals, strict=True)
        }
    )

    def residual(point: JudgedPoint) -> str:
        share = residuals.get(point.reading.row)
        return NONE if share is None else fixed(share, signed=True)

    of_span = any(point.of_span for point in item.points)
    probability = coverage(result.uncertainty.probability)
    return readings_table(
        item.points,
        caption=f"Readings at {frequency(item.frequency_hz)}, from {result.case.table_file}",
        value="error, % of span" if of_span else "deviation, %",
        with_frequency=False,
        further=(Column(heading="residual, % of span", text=residual),) if residuals else (),
        note=f"▲ rising, ▼ falling. Deviation from nominal; limit {tolerance_text(result.case.channel)}; "
        f"U and limits in the unit of the deviation, {probability}. Residual: distance from the line.",
    )


def linearity_summary(result: LinearityResult) -> Table:
    """The figures of the line, a column a frequency."""
    names = [
        "sensitivity",
        "k",
        "effective degrees of freedom",
        "deviation from nominal",
        "intercept",
        _ZERO,
        "chi-squared (95 % limit)",
        "non-linearity: independent",
        "non-linearity: terminal-based",
        "non-linearity: zero-based",
        "non-linearity: least-squares",
        "bow (p)",
        "hysteresis",
        "repeatability",
        "levels",
        "highest level",
    ]
    columns = [_column(result, item) for item in result.frequencies]
    has_zero = any(item.zero is not None for item in result.frequencies)
    rows = [
        Row(cells=(name, *(column[i] for column in columns)))
        for i, name in enumerate(names)
        if has_zero or name != _ZERO
    ]
    return Table(
        caption="The straight line at each frequency",
        headings=("", *(frequency(item.frequency_hz) for item in result.frequencies)),
        rows=tuple(rows),
        note="Non-linearity, hysteresis, repeatability and bow in % of span, which runs from the output zero to the "
        "output at the highest level.",
    )


def _column(result: LinearityResult, item: FrequencyLinearity) -> list[str]:
    top = NONE if item.max_applied is None else f"{number(item.max_applied)} {result.case.input_unit.shown}"
    line = item.line
    if line is None:
        return [NOT_VERIFIED] + [NONE] * 13 + [str(item.levels), top]
    unit = sensitivity_unit(result.case.output_unit, result.case.input_unit)
    test = line.chi_squared
    kinds = line.nonlinearity_pct
    return [
        f"{with_uncertainty(line.sensitivity, line.expanded)} {unit}",
        f"{line.expanded.k:.2f}",
        freedom(line.expanded.nu),
        percent_with_uncertainty(line.deviation_pct, line.deviation_expanded),
        f"{like_uncertainty(line.intercept, line.u_intercept)} {result.case.output_unit.shown} "
        f"(u = {uncertainty_text(line.u_intercept)})",
        NONE if item.zero is None else percent_with_uncertainty(item.zero.value_pct, item.zero.expanded),
        NONE if test.limit is None else f"{test.chi_squared:.2f} ({test.limit:.2f})",
        *(
            percent_with_uncertainty(kinds[kind], line.nonlinearity_expanded, signed=False)
            for kind in NONLINEARITY_KINDS
        ),
        NONE if line.bow is None else f"{percent(line.bow.bow_pct)} ({line.bow.p_value:.2g})",
        NONE if line.hysteresis_pct is None else percent(line.hysteresis_pct, signed=False),
        NONE if line.repeatability_pct is None else percent(line.repeatability_pct, signed=False),
        str(item.levels),
        top,
    ]
