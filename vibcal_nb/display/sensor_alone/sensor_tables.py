"""Tables of a sensor alone: its sensitivity at each reading, and the figures of its physics."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.analysis.sensor_alone.hot_sensor import HotPoint
from vibcal_nb.analysis.sensor_alone.low_end import SECOND_ORDER
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.display.phase.phase_tables import phase_points, phase_rows
from vibcal_nb.display.readings.readings_table import Column, readings_table
from vibcal_nb.display.sensor_alone.sensor_statements import sensitivity_and_deviation
from vibcal_nb.display.writing.judged_values import worst_text
from vibcal_nb.display.writing.numbers import (
    NONE,
    coverage,
    frequency,
    number,
    percent_with_uncertainty,
    sensitivity_unit,
    with_interval,
)
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.uncertainty.estimate import Estimate


def sensor_points(result: SensorAloneResult) -> tuple[Table, ...]:
    """Each reading's sensitivity and its deviation from that at the reference frequency; then phases."""
    unit = sensitivity_unit(result.specification.output_unit, result.specification.input_unit)

    def sensitivity(point: JudgedPoint) -> str:
        return NONE if point.sensitivity is None else number(point.sensitivity, digits=5)

    at = frequency(result.specification.reference_hz)
    table = readings_table(
        result.points,
        caption=f"Readings, from {result.case.table_file}; deviation from the sensitivity at {at}",
        value="deviation, %",
        further=(Column(heading=f"sensitivity, {unit}", text=sensitivity),),
        note=f"U of the deviation and limits in %, {coverage(result.uncertainty.probability)}; what all readings share "
        "has cancelled.",
    )
    return (table, *_hot(result), *phase_points(result.phase, input_unit=result.case.input_unit))


def _hot(result: SensorAloneResult) -> Iterator[Table]:
    """Each reading of the heated or cooled sensor, and how far its sensitivity changed."""
    points = () if result.hot is None else result.hot.points
    if points:
        unit = sensitivity_unit(result.specification.output_unit, result.specification.input_unit)
        yield Table(
            caption="At other temperatures, against room temperature at the same frequency",
            headings=("row", "temperature, °C", "frequency, Hz", f"sensitivity, {unit}", "change, %"),
            rows=tuple(Row(cells=tuple(_hot_cells(p)), struck=p.reading.exclude is not None) for p in points),
            text_columns=(),
        )


def _hot_cells(point: HotPoint) -> Iterator[str]:
    yield str(point.reading.row)
    yield f"{point.reading.temperature_c:g}"
    yield f"{point.reading.frequency_hz:.5g}"
    yield number(point.sensitivity, digits=5)
    shown = point.change_pct is not None and point.expanded is not None
    yield percent_with_uncertainty(point.change_pct or 0.0, point.expanded) if shown and point.expanded else NONE


def sensor_summary(result: SensorAloneResult) -> Table:
    """The figures of the sensor: sensitivity, worst deviation, resonance, low-frequency corner, fall per decade."""
    sensor = result.specification
    found, rows = sensitivity_and_deviation(result), []
    if found is not None:
        sensitivity, deviation = found
        rows.append(Row(cells=(f"sensitivity at {frequency(sensor.reference_hz)}", sensitivity)))
        rows.append(Row(cells=("deviation from nominal", f"{deviation} (limit ± {sensor.tolerance_pct:g} %)")))
    if result.worst_point is not None and result.worst_point.value_pct is not None:
        rows.append(Row(cells=("worst deviation elsewhere", worst_text(result.worst_point))))
    rows += [Row(cells=(words, _written(estimate, unit))) for words, unit, estimate in _physics(result)]
    rows += phase_rows(result.phase)
    return Table(caption="The sensor alone", headings=("", ""), rows=tuple(rows), text_columns=(0, 1))


def _physics(result: SensorAloneResult) -> Iterator[tuple[str, str, Estimate]]:
    """What the fit shows, with unit: the quality factor and the second order only where there are such."""
    if result.fit is None:
        yield "fitted physics", "", Estimate(why=result.undetermined["fit"])
        return
    physics = result.fit.physics
    yield "mounted resonance, from the rise", "Hz", physics.resonance
    if physics.quality.value is not None:
        yield "its quality factor Q", "", physics.quality
    if result.fit.low_end == SECOND_ORDER or result.second_order:
        yield "natural frequency, from the droop", "Hz", physics.natural_frequency
        yield "damping ratio, from the droop", "", physics.damping_ratio
    else:
        yield "low-frequency corner, from the droop", "Hz", physics.leak
    yield "fall per decade", "%", physics.fall


def _written(estimate: Estimate, unit: str) -> str:
    if estimate.value is None or estimate.interval is None or estimate.expanded is None:
        return f"undetermined: {estimate.why}"
    return with_interval(estimate.value, estimate.interval, unit=unit, probability=estimate.expanded.probability)
