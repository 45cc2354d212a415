"""Tables of a gap curve: its figures, its increments, its readings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from vibcal_nb.analysis.gap_curve.gap_curve import GapCurveResult
from vibcal_nb.analysis.gap_curve.increments import Increment
from vibcal_nb.arrays import FloatArray
from vibcal_nb.display.gap_curve.gap_statements import (
    backlash_text,
    increment_text,
    line_text,
    range_text,
    rest_voltage_text,
    sensitivity_text,
    unit_of,
)
from vibcal_nb.display.writing.numbers import (
    NONE,
    as_typed,
    coverage,
    fixed,
    number,
    percent_with_uncertainty,
    rounded_pair,
    true_minus,
)
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.conformity.decision import VERDICTS
from vibcal_nb.metrology.straight_line.stated_slope import LEAST_SQUARES, MINIMAX, line_of_stated_slope
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import convert, parse_gap_unit

_UM = parse_gap_unit("um")


def gap_summary(result: GapCurveResult) -> Table:
    """The figures of the curve."""
    rows = [Row(cells=cells) for cells in _figures(result)]
    return Table(caption="The gap curve", headings=("", ""), rows=tuple(rows), text_columns=(0, 1))


def _figures(result: GapCurveResult) -> Iterator[tuple[str, str]]:
    none = result.undetermined
    if result.specification.target:
        yield "target", result.specification.target
    for name, key, found in (
        ("average sensitivity", "average_sensitivity", result.average),
        ("sensitivity by least squares", "least_squares_sensitivity", result.least_squares),
    ):
        text = f"undetermined: {none.get(key, '')}"
        if found is not None:
            deviation = percent_with_uncertainty(found.deviation_pct, found.expanded)
            text = f"{sensitivity_text(found, result)}, {deviation} from nominal"
        yield name, text
    worst = result.worst_increment
    yield "worst increment", NONE if worst is None else increment_text(worst, result)
    for name, kind in (("from the best line, minimax", MINIMAX), ("from the best line, least squares", LEAST_SQUARES)):
        line = result.from_line.get(kind)
        yield name, NONE if line is None else line_text(line)
    yield "linear range", range_text(result)
    if result.rest is not None:
        yield (
            f"voltage at the rest gap of {result.rest.gap:g} {result.specification.input_unit}",
            rest_voltage_text(result),
        )
    backlash = backlash_text(result)
    if backlash is not None:
        yield "falling less rising", backlash


def gap_points(result: GapCurveResult) -> tuple[Table, ...]:
    """Two tables: the increments, the worst first, and the readings as typed."""
    return _increment_table(result), _readings_table(result)


def _severity(item: Increment) -> tuple[bool, int, float]:
    word = -1 if item.decision is None else VERDICTS.index(item.decision.verdict)
    return item.decision is not None, word, abs(item.deviation_pct)


def _increment_table(result: GapCurveResult) -> Table:
    unit, limit = result.specification.input_unit, result.specification.incremental_pct
    rows = []
    for item in sorted(result.increments, key=_severity, reverse=True):
        value, u = (
            rounded_pair(item.deviation_pct, item.expanded, signed=True)
            if item.expanded.U
            else (
                fixed(item.deviation_pct, signed=True),
                NONE,
            )
        )
        rows.append(
            Row(
                cells=(
                    f"{item.low:.4g}",
                    f"{item.high:.4g}",
                    item.direction or "",
                    number(item.sensitivity, digits=4),
                    value,
                    u,
                    NONE if item.decision is None else f"± {limit:g}",
                ),
                verdict=item.verdict,
            )
        )
    headings = (
        *(f"from, {unit}", f"to, {unit}", "way"),
        *(f"sensitivity, {unit_of(result)}", "deviation, %", "U", "allowed", "verdict"),
    )
    note = f"U and limits in % of nominal, {coverage(result.uncertainty.probability)}; each increment holds the "
    return Table(
        caption="Increments, the worst first",
        headings=headings,
        rows=tuple(rows),
        text_columns=(2, 7),
        note=f"{note}micrometer's error at both its gaps.",
    )


def _readings_table(result: GapCurveResult) -> Table:
    case, beside = result.case, deviations_of_readings(result)
    rows = [
        Row(
            cells=(
                str(reading.row),
                f"{reading.applied:.8g} {reading.applied_unit}",
                _volts(reading),
                reading.direction or "",
                "" if reading.repeat is None else str(reading.repeat),
                NONE if reading.row not in beside else fixed(beside[reading.row], decimals=1, signed=True),
                reading.exclude or reading.note or "",
            ),
            struck=reading.exclude is not None,
        )
        for reading in case.readings
    ]
    return Table(
        caption=f"Readings, from {case.table_file}",
        headings=("row", "gap", "output", "way", "round", "from the line, µm", "left out because, or note"),
        rows=tuple(rows),
        text_columns=(3, 6),
        note="From the best straight line of the nominal slope, minimax, of its own run.",
    )


def _volts(reading: Reading) -> str:
    return f"{true_minus(as_typed(reading.output, reading.output_decimals))} {reading.output_unit}"


def deviations_of_readings(result: GapCurveResult) -> dict[int, float]:
    """Return how far each used reading lies from the minimax line of its run, in um by its row."""
    um = float(convert(1.0, result.specification.input_unit, _UM))
    found: dict[int, float] = {}
    for run, deviations in run_deviations(result):
        for members, value in zip(run.members, deviations, strict=True):
            found |= {result.case.readings[i].row: float(value) * um for i in members}
    return found


def run_deviations(result: GapCurveResult) -> Iterator[tuple[Any, FloatArray]]:
    """Yield each run with the deviations of all its readings from the line that its range gives, in the input unit."""
    lines = {id(run): line for run, line in zip(result.runs, _minimax(result), strict=True)}
    slope = result.specification.nominal_sensitivity
    for run in result.all_runs:
        own = next((part for part in result.runs if (part.direction, part.repeat) == (run.direction, run.repeat)), None)
        line = line_of_stated_slope(run.gap, run.voltage, slope=slope) if own is None else lines[id(own)]
        yield run, run.voltage / slope - run.gap - line.offset


def _minimax(result: GapCurveResult) -> tuple[Any, ...]:
    line = result.from_line.get(MINIMAX)
    return () if line is None else line.lines


def gap_columns(result: GapCurveResult) -> Mapping[str, Sequence[Any]]:
    """Return what was made of each reading as numbers, units in the headings."""
    beside, found = deviations_of_readings(result), result.specification
    readings, scaled = result.case.readings, result.uncertainty.readings
    return {
        "row": [reading.row for reading in readings],
        f"gap, {found.input_unit}": [float(value) for value in scaled.x],
        f"output, {found.output_unit}": [float(value) for value in scaled.y],
        "direction": [reading.direction for reading in readings],
        "repeat": [reading.repeat for reading in readings],
        "deviation from the line, µm": [beside.get(reading.row) for reading in readings],
        "left out because": [reading.exclude for reading in readings],
    }
