"""A plan as if its readings had been taken: what an analysis would be made from, with outputs put in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from vibcal_nb.analysis.planning.plan import ChannelPlan, PlannedPoint
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.case import Case, fitting_references
from vibcal_nb.model.equipment import Readout, Reference
from vibcal_nb.model.names import AS_FOUND
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.visit import Visit

READ_DIGITS = 3  # of the smallest level and output: a readout set to the range of the whole run


@dataclass(frozen=True, kw_only=True)
class Instruments:
    """What a visit is made with, and under which rule."""

    visit: Visit
    references: tuple[Reference, ...]
    readouts: tuple[Readout, ...]


def planned_case(plan: ChannelPlan, *, test: str, instruments: Instruments) -> Case:
    """Return the case of one test of a plan, its outputs those of a good channel.

    Raises ``ValueError`` where the plan holds no point of the test.
    """
    points = plan.of_test(test)
    if not points:
        raise ValueError(f"The plan for {plan.channel.tag} holds no point of {test}; plan that test as well.")
    return Case(
        asset_tag="",
        asset_name="",
        visit_name="",
        channel=plan.channel,
        test=test,
        condition=AS_FOUND,
        readings=_as_readings(points),
        references=fitting_references(instruments.references, channel=plan.channel, test=test),
        readouts=instruments.readouts,
        visit=instruments.visit,
        table_file="",
    )


def _as_readings(points: Sequence[PlannedPoint]) -> tuple[Reading, ...]:
    applied = _decimals(min(point.level for point in points))
    outputs = [0.0 if point.output is None else point.output.expected for point in points]
    output = _decimals(min(map(abs, outputs)))
    return tuple(
        Reading(
            row=row,
            channel=point.channel,
            test=point.test,
            condition=AS_FOUND,
            frequency_hz=point.frequency_hz,
            applied=point.level,
            applied_unit=point.applied_unit,
            applied_decimals=applied,
            output=expected,
            output_unit=point.output_unit,
            output_decimals=output,
            direction=point.direction,
            repeat=point.repeat,
        )
        for row, (point, expected) in enumerate(zip(points, outputs, strict=True), start=2)
    )


def _decimals(smallest: float) -> int:
    return READ_DIGITS - 1 - math.floor(math.log10(smallest)) if smallest > 0.0 else READ_DIGITS


def with_outputs(case: Case, outputs: FloatArray) -> Case:
    """Return the case with other outputs, shape (n,), in the order of its readings."""
    readings = tuple(replace(r, output=float(y)) for r, y in zip(case.readings, outputs, strict=True))
    return replace(case, readings=readings)
