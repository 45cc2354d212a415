"""Tables of inputs and results, each a function of what it shows."""

from __future__ import annotations

from dataclasses import replace
from functools import singledispatch

from vibcal_nb.analysis.band_response import BandResponseResult
from vibcal_nb.analysis.coverage import PROBABILITY
from vibcal_nb.analysis.judged import JudgedPoint
from vibcal_nb.analysis.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.sensor_alone import SensorAloneResult
from vibcal_nb.analysis.uncertainty import Budget
from vibcal_nb.display.table import Row, Table
from vibcal_nb.display.wording import (
    CONDITIONS,
    MINUS,
    TESTS,
    coverage,
    coverage_factor_text,
    freedom,
    frequency,
    like_uncertainty,
    number,
    percent,
    percent_with_uncertainty,
    sensitivity_unit,
    uncertainty_text,
    with_interval,
    with_uncertainty,
)
from vibcal_nb.inputs.asset import BandSpecification, Channel, SensorSpecification
from vibcal_nb.inputs.case import Case
from vibcal_nb.inputs.readings import Reading

NONE = "–"


def specification_table(case: Case) -> Table:
    """What the channel (or its sensor) should do, as asset.toml states it, and who measured with what."""
    rows = [*_channel_rows(case.channel)]
    if case.test == "band-response" and case.channel.band is not None:
        rows += _band_rows(case.channel.band)
    if case.test == "sensor-alone" and case.channel.sensor is not None:
        rows = _sensor_rows(case.channel.sensor)
    rows += _visit_rows(case)
    return Table(
        caption=f"{case.channel.tag}: what it should do, and what it was measured with",
        headings=("", ""),
        rows=tuple(Row(cells=cells) for cells in rows),
        text_columns=(0, 1),
    )


def _channel_rows(channel: Channel) -> list[tuple[str, str]]:
    unit = sensitivity_unit(channel.output_unit, channel.input_unit)
    rotors = ", ".join(f"{r.name} {r.speed_hz * 60:g} rpm ({frequency(r.speed_hz)})" for r in channel.rotors)
    rows = [
        ("location", channel.location or NONE),
        ("rotors", rotors or NONE),
        ("nominal sensitivity", f"{channel.nominal_sensitivity:g} {unit} ± {channel.tolerance_pct:g} %"),
    ]
    if channel.output_zero:
        rows.append(("output zero", f"{channel.output_zero:g} {channel.output_unit.text}"))
    if channel.nonlinearity_pct is not None:
        rows.append(("non-linearity", f"{channel.nonlinearity_pct:g} % of span, {channel.nonlinearity_kind}"))
    for name, level in (("alert", channel.alert), ("trip", channel.trip), ("full scale", channel.full_scale)):
        if level is not None:
            rows.append((name, f"{level:g} {channel.input_unit.text}"))
    return rows


def _band_rows(band: BandSpecification) -> list[tuple[str, str]]:
    rows = [("reference frequency", frequency(band.reference_hz))]
    if band.flat_hz is not None and band.flat_pct is not None:
        rows.append(("flat part", f"{band.flat_hz[0]:g} to {frequency(band.flat_hz[1])}, ± {band.flat_pct:g} %"))
    low, high = (f"{limit:g}".replace("-", MINUS) for limit in band.corner_db)
    for name, corner in (("lower corner", band.corner_low_hz), ("upper corner", band.corner_high_hz)):
        if corner is not None:
            rows.append((name, f"{frequency(corner)}, allowed {low} to {high} dB"))
    rows += [
        (f"limit at {frequency(limit.frequency_hz)}", f"{limit.min_pct:g} to {limit.max_pct:g} %")
        for limit in band.limits
    ]
    return rows


def _sensor_rows(sensor: SensorSpecification) -> list[tuple[str, str]]:
    unit = sensitivity_unit(sensor.output_unit, sensor.input_unit)
    rows = [
        ("nominal sensitivity", f"{sensor.nominal_sensitivity:g} {unit} ± {sensor.tolerance_pct:g} %"),
        ("reference frequency", frequency(sensor.reference_hz)),
    ]
    if sensor.flat_pct is not None:
        where = f"{sensor.flat_hz[0]:g} to {frequency(sensor.flat_hz[1])}, " if sensor.flat_hz else ""
        rows.append(("flat part", f"{where}± {sensor.flat_pct:g} % re the reference frequency"))
    return rows


def _visit_rows(case: Case) -> list[tuple[str, str]]:
    visit = case.visit
    rows = [("visit", f"{visit.date.isoformat()}, {CONDITIONS[case.condition]}, by {visit.performed_by}")]
    rows += [("reference", f"{r.id}, {r.kind}, serial {r.serial}, due {r.due.isoformat()}") for r in case.references]
    rows += [("readout", f"{r.id}, {r.kind}, serial {r.serial}, due {r.due.isoformat()}") for r in case.readouts]
    return rows


def readings_table(case: Case) -> Table:
    """The readings as they were typed; excluded ones struck through, with their reason."""
    return Table(
        caption=f"{TESTS[case.test].capitalize()} readings, {CONDITIONS[case.condition]}, from {case.table_file}",
        headings=("row", "frequency", "applied", "output", "direction", "repeat", "excluded because", "note"),
        rows=tuple(_reading_row(reading) for reading in case.readings),
        text_columns=(4, 6, 7),
    )


def _reading_row(reading: Reading) -> Row:
    applied = _typed(reading.applied, reading.applied_decimals)
    output = _typed(reading.output, reading.output_decimals)
    cells = (
        str(reading.row),
        frequency(reading.frequency_hz),
        f"{applied} {reading.applied_unit.text}",
        f"{output} {reading.output_unit.text}",
        reading.direction or "",
        "" if reading.repeat is None else str(reading.repeat),
        reading.exclude or "",
        reading.note or "",
    )
    if reading.exclude is None:
        return Row(cells=cells)
    return Row(cells=cells, struck=True)


def _typed(value: float, decimals: int | None) -> str:
    return f"{value:.{decimals}f}" if decimals is not None and 0 <= decimals <= 8 else f"{value:.8g}"


@singledispatch
def points_tables(result: object) -> tuple[Table, ...]:
    """One row a reading: what was made of it, against which limits."""
    raise TypeError(f"no table for {type(result).__name__}")


@points_tables.register
def _(result: LinearityResult) -> tuple[Table, ...]:
    return tuple(_linearity_points(result, item) for item in result.frequencies)


def _linearity_points(result: LinearityResult, item: FrequencyLinearity) -> Table:
    case = result.case
    unit = sensitivity_unit(case.output_unit, case.input_unit)
    residual = {} if item.line is None else dict(zip(_used(item), item.line.fit.residuals, strict=True))
    rows = []
    for number_, point in enumerate(item.points):
        share = residual.get(number_)
        cells = (
            str(point.reading.row),
            number(point.x, digits=5),
            number(point.y, digits=5),
            _point_sensitivity(point, case),
            *_value_cells(point),
            NONE if share is None or item.line is None else percent(100.0 * float(share) / item.line.span),
        )
        rows.append(Row(cells=cells, struck=not point.used, verdict=point.verdict))
    probability = coverage(result.uncertainty.probability)
    return Table(
        caption=f"Point by point at {frequency(item.frequency_hz)}",
        headings=(
            "row",
            f"level, {case.input_unit.text}",
            f"output less zero, {case.output_unit.text}",
            f"sensitivity, {unit}",
            "deviation",
            "U",
            "residual, of span",
            "verdict",
        ),
        rows=tuple(rows),
        text_columns=(7,),
        note=f"Limit at every point: ± {case.channel.tolerance_pct:g} %. U: expanded uncertainty, {probability}.",
    )


def _point_sensitivity(point: JudgedPoint, case: Case) -> str:
    if point.sensitivity is None or point.expanded is None:
        return NONE
    return like_uncertainty(point.sensitivity, point.expanded.U / 100.0 * abs(case.nominal_sensitivity))


def _used(item: FrequencyLinearity) -> list[int]:
    return [i for i, point in enumerate(item.points) if point.used]


def _value_cells(point: JudgedPoint, *, signed: bool = True) -> tuple[str, str]:
    """The value in % and its U, to the same place; the reference reading itself has none."""
    if point.value_pct is None or point.expanded is None:
        return NONE, NONE
    if point.expanded.U == 0.0:
        return percent(point.value_pct, signed=signed), NONE
    value, uncertainty = percent_with_uncertainty(point.value_pct, point.expanded, signed=signed).split(" ± ")
    return f"{value} %", uncertainty


@points_tables.register
def _(result: BandResponseResult) -> tuple[Table, ...]:
    rows = []
    for point in result.points:
        value = point.value_pct
        db = NONE if value is None or value <= 0.0 else decibel_text(value)
        limits = NONE if point.lower_pct is None else f"{point.lower_pct:.1f} to {point.upper_pct:.1f} %"
        response = _value_cells(point, signed=False)
        cells = (str(point.reading.row), frequency(point.reading.frequency_hz), *response, db, limits)
        rows.append(Row(cells=cells, struck=not point.used, verdict=point.verdict))
    table = Table(
        caption=f"Response re the reading at {frequency(result.specification.reference_hz)}",
        headings=("row", "frequency", "response", "U", "dB", "allowed", "verdict"),
        rows=tuple(rows),
        text_columns=(6,),
        note="Readings without a limit are shown and not judged. U: expanded uncertainty of the ratio, "
        f"{coverage(result.uncertainty.probability)}.",
    )
    return (table,)


def decibel_text(response_pct: float) -> str:
    """Write a response in % as decibels: 20 log10 of the ratio."""
    import math

    text = f"{20.0 * math.log10(response_pct / 100.0):.2f}"
    return "0.00" if text == "-0.00" else text.replace("-", MINUS)


@points_tables.register
def _(result: SensorAloneResult) -> tuple[Table, ...]:
    unit = sensitivity_unit(result.specification.output_unit, result.specification.input_unit)
    rows = []
    for point in result.points:
        limits = NONE if point.upper_pct is None else f"± {point.upper_pct:g} %"
        value = NONE if point.sensitivity is None else number(point.sensitivity, digits=5)
        cells = (str(point.reading.row), frequency(point.reading.frequency_hz), value, *_value_cells(point), limits)
        rows.append(Row(cells=cells, struck=not point.used, verdict=point.verdict))
    table = Table(
        caption=f"Deviation from the sensitivity at {frequency(result.specification.reference_hz)}",
        headings=("row", "frequency", f"sensitivity, {unit}", "deviation", "U", "allowed", "verdict"),
        rows=tuple(rows),
        text_columns=(6,),
        note=f"U: expanded uncertainty of the deviation, {coverage(result.uncertainty.probability)}; what all readings "
        "share has cancelled.",
    )
    return (table,)


@singledispatch
def summary_table(result: object) -> Table:
    """The figures of a result, each with its uncertainty and its limit."""
    raise TypeError(f"no table for {type(result).__name__}")


_KINDS = ("independent", "terminal-based", "zero-based", "least-squares")


@summary_table.register
def _(result: LinearityResult) -> Table:
    names = [
        "sensitivity",
        "k",
        "effective degrees of freedom",
        "deviation from nominal",
        "intercept",
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
    columns = [_linearity_column(result, item) for item in result.frequencies]
    rows = [Row(cells=(name, *(column[i] for column in columns))) for i, name in enumerate(names)]
    return Table(
        caption="The straight line at each frequency",
        headings=("", *(frequency(item.frequency_hz) for item in result.frequencies)),
        rows=tuple(rows),
        note="Non-linearity, hysteresis, repeatability and bow in % of span, which runs from the output zero to the "
        "output at the highest level.",
    )


def _linearity_column(result: LinearityResult, item: FrequencyLinearity) -> list[str]:
    top = NONE if item.max_applied is None else f"{number(item.max_applied)} {result.case.input_unit.text}"
    line = item.line
    if line is None:
        return ["not verified"] + [NONE] * 12 + [str(item.levels), top]
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
        NONE if test.limit is None else f"{test.chi_squared:.2f} ({test.limit:.2f})",
        *(percent_with_uncertainty(kinds[kind], line.nonlinearity_expanded, signed=False) for kind in _KINDS),
        NONE if line.bow is None else f"{percent(line.bow.bow_pct)} ({line.bow.p_value:.2g})",
        NONE if line.hysteresis_pct is None else percent(line.hysteresis_pct, signed=False),
        NONE if line.repeatability_pct is None else percent(line.repeatability_pct, signed=False),
        str(item.levels),
        top,
    ]


@summary_table.register
def _(result: BandResponseResult) -> Table:
    rows = [Row(cells=("reference sensitivity", _band_reference(result)))]
    for side, name in (("low", "lower"), ("high", "upper")):
        rows.append(Row(cells=(f"{name} corner, fitted", _corner(result, side))))
        model_free = getattr(result.fit, f"corner_{side}_interpolated_hz", None)
        text = "undetermined" if model_free is None else f"{number(model_free)} Hz"
        rows.append(Row(cells=(f"{name} corner, interpolated", text)))
        order = getattr(result.fit, f"order_{side}", None)
        rows.append(Row(cells=(f"{name} order", "undetermined" if order is None else str(order))))
    if result.flat_worst is not None and result.flat_worst.value_pct is not None:
        worst = result.flat_worst
        rows.append(Row(cells=("worst in the flat part", _worst(worst, less=100.0))))
    for item in result.rotors:
        at = f"{item.rotor.name}, {frequency(item.rotor.speed_hz)}"
        lost = item.response.response_pct
        text = "not verified"
        if lost is not None and item.response.expanded is not None:
            text = f"{percent_with_uncertainty(lost - 100.0, item.response.expanded)} ({item.response.source})"
        rows.append(Row(cells=(f"reading error at {at}", text)))
    return Table(
        caption="The band",
        headings=("", ""),
        rows=tuple(rows),
        text_columns=(0, 1),
        note="Corners: half power, 70.71 % of the fitted plateau, with their U in %. The interpolated corner uses "
        "no model: it is where the response re the reference reading passes 70.71 % between readings.",
    )


def _band_reference(result: BandResponseResult) -> str:
    if result.reference_sensitivity is None:
        return "undetermined"
    unit = sensitivity_unit(result.case.output_unit, result.case.input_unit)
    if result.reference_budget is None:
        return f"{number(result.reference_sensitivity)} {unit}"
    relative = result.reference_budget.expanded(probability=result.uncertainty.probability)
    expanded = replace(relative, U=relative.U / 100.0 * abs(result.case.nominal_sensitivity))
    return f"{with_uncertainty(result.reference_sensitivity, expanded)} {unit} ({coverage_factor_text(relative)})"


def _worst(point: JudgedPoint, *, less: float = 0.0) -> str:
    value, at = (point.value_pct or 0.0) - less, f"at {frequency(point.reading.frequency_hz)}"
    if point.expanded is None or point.expanded.U == 0.0:
        return f"{percent(value)} {at}"
    return f"{percent_with_uncertainty(value, point.expanded)} {at} ({coverage_factor_text(point.expanded)})"


def _corner(result: BandResponseResult, side: str) -> str:
    corner = getattr(result.fit, f"corner_{side}_hz", None)
    if corner is None:
        return f"undetermined: {result.undetermined.get(f'corner_{side}_hz', 'no model was fitted')}"
    interval = getattr(result.fit, f"corner_{side}_interval_hz", None)
    expanded = getattr(result.fit, f"corner_{side}_expanded", None)
    if interval is None or expanded is None:
        return f"{number(corner)} Hz"
    shown = with_interval(corner, interval, unit="Hz", probability=expanded.probability)
    return f"{shown}, U = {uncertainty_text(100.0 * expanded.U)} % ({coverage_factor_text(expanded)})"


@summary_table.register
def _(result: SensorAloneResult) -> Table:
    sensor = result.specification
    unit = sensitivity_unit(sensor.output_unit, sensor.input_unit)
    rows = []
    if result.reference_sensitivity is not None and result.expanded is not None:
        shown = with_uncertainty(result.reference_sensitivity, result.expanded)
        text = f"{shown} {unit} ({coverage_factor_text(result.expanded)})"
        rows.append(Row(cells=(f"sensitivity at {frequency(sensor.reference_hz)}", text)))
        relative = replace(result.expanded, U=result.expanded.U * 100.0 / abs(sensor.nominal_sensitivity))
        deviation = percent_with_uncertainty(result.reference_deviation_pct or 0.0, relative)
        rows.append(Row(cells=("deviation from nominal", f"{deviation} (limit ± {sensor.tolerance_pct:g} %)")))
    if result.worst_point is not None and result.worst_point.value_pct is not None:
        rows.append(Row(cells=("worst deviation elsewhere", _worst(result.worst_point))))
    for name in ("fn", "f1", "fall_pct_per_decade"):
        rows.append(Row(cells=(_PHYSICS[name], _physics(result, name))))
    return Table(caption="The sensor alone", headings=("", ""), rows=tuple(rows), text_columns=(0, 1))


_PHYSICS = {
    "fn": "mounted resonance, from the rise",
    "f1": "low-frequency corner, from the droop",
    "fall_pct_per_decade": "fall per decade",
}


def _physics(result: SensorAloneResult, name: str) -> str:
    value = getattr(result.fit, name, None)
    if value is None:
        return f"undetermined: {result.undetermined.get(name, 'too few readings')}"
    unit = "%" if name == "fall_pct_per_decade" else "Hz"
    interval = getattr(result.fit, f"{name}_interval")
    return with_interval(value, interval, unit=unit, probability=result.uncertainty.probability)


def budget_table(budget: Budget, *, caption: str, probability: float = PROBABILITY) -> Table:
    """An uncertainty budget: one row a contribution, the largest first, then the combination."""
    lines = sorted(budget.lines, key=lambda line: -line.contribution)
    expanded = budget.expanded(probability=probability)
    total = expanded.u**2
    rows = [
        Row(
            cells=(
                line.name,
                f"{line.value:.3f} %",
                line.distribution + (f", k = {line.k:g}" if line.k != 1.0 else ""),
                f"{line.divisor:.3f}",
                f"{line.contribution:.3f} %",
                freedom(line.degrees_of_freedom),
                line.kind,
                f"{100.0 * line.contribution**2 / total:.0f} %" if total else NONE,
                line.source,
            )
        )
        for line in lines
    ]
    rows.append(
        Row(cells=("combined", "", "", "", f"{expanded.u:.3f} %", freedom(expanded.nu), "", "", "Welch-Satterthwaite"))
    )
    name, U = f"expanded, {coverage(probability)}", f"{uncertainty_text(expanded.U)} %"
    rows.append(Row(cells=(name, "", "", "", U, "", "", "", f"k = {expanded.k:.2f}")))
    return Table(
        caption=caption,
        headings=(
            "contribution",
            "value",
            "distribution",
            "divisor",
            "u",
            "degrees of freedom",
            "kind",
            "share",
            "source",
        ),
        rows=tuple(rows),
        text_columns=(0, 2, 6, 8),
        note="Common contributions are shared by all readings and do not average down; independent ones do.",
    )
