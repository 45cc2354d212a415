"""Tables of a linearity test: the readings against the line, and the line's figures at each frequency."""

from __future__ import annotations

from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.writing.judged_values import value_cells
from vibcal_nb.display.writing.numbers import (
    NONE,
    coverage,
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
from vibcal_nb.model.case import Case

_ZERO = "zero error, of span"


def linearity_points(result: LinearityResult) -> tuple[Table, ...]:
    """One table a frequency: each reading's sensitivity, deviation, and distance from the line."""
    return tuple(_points_at(result, item) for item in result.frequencies)


def _points_at(result: LinearityResult, item: FrequencyLinearity) -> Table:
    case = result.case
    unit = sensitivity_unit(case.output_unit, case.input_unit)
    residual = {} if item.line is None else dict(zip(_used(item), item.line.fit.residuals, strict=True))
    of_span = any(point.of_span for point in item.points)
    rows = []
    for number_, point in enumerate(item.points):
        share = residual.get(number_)
        cells = (
            str(point.reading.row),
            number(point.x, digits=5),
            "failure signal" if point.failure_signal else number(point.y, digits=5),
            _point_sensitivity(point, case),
            value_cells(point)[0],
            *((_limit_cell(point),) if of_span else ()),
            value_cells(point)[1],
            NONE if share is None or item.line is None else percent(100.0 * float(share) / item.line.span),
        )
        rows.append(Row(cells=cells, struck=point.excluded, verdict=point.verdict))
    probability = coverage(result.uncertainty.probability)
    return Table(
        caption=f"Point by point at {frequency(item.frequency_hz)}",
        headings=(
            "row",
            f"level, {case.input_unit.text}",
            f"output less zero, {case.output_unit.text}",
            f"sensitivity, {unit}",
            "error, of span" if of_span else "deviation",
            *(("limit, of span",) if of_span else ()),
            "U",
            "residual, of span",
            "verdict",
        ),
        rows=tuple(rows),
        text_columns=(8 if of_span else 7,),
        note=f"Limit at every point: {tolerance_text(case.channel)}. U: expanded uncertainty, {probability}.",
    )


def _limit_cell(point: JudgedPoint) -> str:
    return NONE if point.upper_pct is None else f"± {point.upper_pct:.3g} %"


def _point_sensitivity(point: JudgedPoint, case: Case) -> str:
    if point.sensitivity is None or point.expanded is None or point.failure_signal:
        return NONE
    relative = point.expanded.U * ((case.channel.full_scale or 0.0) / point.x if point.of_span else 1.0)
    return like_uncertainty(point.sensitivity, relative / 100.0 * abs(case.nominal_sensitivity))


def _used(item: FrequencyLinearity) -> list[int]:
    return [i for i, point in enumerate(item.points) if point.used and not point.tells_noise]


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
    top = NONE if item.max_applied is None else f"{number(item.max_applied)} {result.case.input_unit.text}"
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
        f"{like_uncertainty(line.intercept, line.u_intercept)} {result.case.output_unit.text} "
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
