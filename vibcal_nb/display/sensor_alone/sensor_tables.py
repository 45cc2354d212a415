"""Tables of a sensor alone: its sensitivity at each reading, and the figures of its physics."""

from __future__ import annotations

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.display.readings.readings_table import Column, readings_table
from vibcal_nb.display.sensor_alone.sensor_statements import sensitivity_and_deviation
from vibcal_nb.display.writing.judged_values import worst_text
from vibcal_nb.display.writing.numbers import NONE, coverage, frequency, number, sensitivity_unit, with_interval
from vibcal_nb.display.writing.table import Row, Table

_PHYSICS = {
    "fn": "mounted resonance, from the rise",
    "f1": "low-frequency corner, from the droop",
    "fall_pct_per_decade": "fall per decade",
}


def sensor_points(result: SensorAloneResult) -> tuple[Table, ...]:
    """One table: each reading's sensitivity and its deviation from that at the reference frequency; the worst first."""
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
    return (table,)


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
    for name in ("fn", "f1", "fall_pct_per_decade"):
        rows.append(Row(cells=(_PHYSICS[name], _physics(result, name))))
    return Table(caption="The sensor alone", headings=("", ""), rows=tuple(rows), text_columns=(0, 1))


def _physics(result: SensorAloneResult, name: str) -> str:
    value = getattr(result.fit, name, None)
    if value is None:
        return f"undetermined: {result.undetermined.get(name, 'too few readings')}"
    unit = "%" if name == "fall_pct_per_decade" else "Hz"
    interval = getattr(result.fit, f"{name}_interval")
    return with_interval(value, interval, unit=unit, probability=result.uncertainty.probability)
