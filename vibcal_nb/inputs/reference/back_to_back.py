"""Levels that were written down as a reference's own output: its certificate turns them into levels.

What was written down stays with the reading. A level is the output over the sensitivity, which is interpolated in the
logarithms of both by a cubic that does not wave; beyond the certificate's ends the value there is taken, and a gate
says that the reading lies outside.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from vibcal_nb.model.equipment import Reference, ReferenceSensitivity
from vibcal_nb.model.readings import Reading, ReadingTable
from vibcal_nb.model.reference.reference_curve import sensitivity_at
from vibcal_nb.problems import Problem, one_of, shown
from vibcal_nb.units import Unit, is_convertible, parse_unit


def with_levels(table: ReadingTable, references: Sequence[Reference], problems: list[Problem]) -> ReadingTable:
    """Return the table with levels in place of references' outputs; what cannot be turned is noted."""
    known = {item.id: item for item in references}
    return replace(
        table, readings=tuple(_with_level(reading, known, table.file, problems) for reading in table.readings)
    )


def _with_level(reading: Reading, known: dict[str, Reference], file: str, problems: list[Problem]) -> Reading:
    def note(column: str, found: str, remedy: str) -> Reading:
        problems.append(Problem(file=file, row=reading.row, column=column, found=found, remedy=remedy))
        return reading

    if reading.reference is None:
        return reading
    reference = known.get(reading.reference)
    if reference is None:
        remedy = f"name one that the visit names under equipment: {one_of(reading.reference, known)}"
        return note("reference", shown(reading.reference), remedy)
    if reading.applied_unit.is_vibration:
        return reading
    sensitivity = reference.sensitivity
    if sensitivity is None:
        found = f"{reading.applied_unit}, the output of {reference.id}, which has no sensitivity in equipment.toml"
        return note("applied_unit", found, "add its table of sensitivity, or give the level")
    output = parse_unit(f"{sensitivity.output} {reading.applied_unit.detector}")
    if not is_convertible(reading.applied_unit, output):
        found = f"{reading.applied_unit}, where {reference.id} gives {sensitivity.output}"
        return note("applied_unit", found, "mend the unit")
    return _turned(reading, sensitivity, output)


def _turned(reading: Reading, sensitivity: ReferenceSensitivity, output: Unit) -> Reading:
    in_table = reading.applied * reading.applied_unit.si_factor / output.si_factor
    level = in_table / sensitivity_at(sensitivity, reading.frequency_hz)
    return replace(
        reading,
        applied=float(f"{level:.9g}"),
        applied_unit=parse_unit(f"{sensitivity.input} {reading.applied_unit.detector}"),
        applied_decimals=None,
        reference_output=reading.applied,
        reference_output_decimals=reading.applied_decimals,
        reference_output_unit=reading.applied_unit,
    )
