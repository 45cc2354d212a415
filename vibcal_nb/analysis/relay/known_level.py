"""How well the level at a set point is known: the reference's part, and what differs from approach to approach."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from vibcal_nb.analysis.readings.errors.display_steps import WrittenNumber, find_steps
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty, assess_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.metrology.switching.level_of_action import BRACKET, ActionLevel
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.budget_line import BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import Expanded, expand, root_sum_squares
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import LINEARITY
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.relay.check_rows import SetPointRow
from vibcal_nb.units import convert

ROOT_6 = math.sqrt(6.0)
SCATTER = "scatter of the approaches"


@dataclass(frozen=True, kw_only=True, eq=False)
class KnownLevel:
    """Budget lines, in %, of a level: ``shared`` by all levels at the frequency, ``own`` of each approach.

    ``reading`` is what is known of a reading at it. ``resolution`` is the step of the reference's display and ``level``
    the set level, in the input unit.
    """

    reading: ReadingUncertainty
    shared: tuple[BudgetLine, ...]
    own: tuple[BudgetLine, ...]
    resolution: float
    level: float

    @property
    def u_shared(self) -> float:
        """Standard uncertainty of what all levels share, in the input unit."""
        return self.level / 100.0 * root_sum_squares(line.standard_uncertainty for line in self.shared)

    @property
    def u_own(self) -> float:
        """Standard uncertainty of what differs from approach to approach, in the input unit.

        The middle of two levels, each read to the step of a display, has the step over the root of 24 of it.
        """
        settling = self.level / 100.0 * root_sum_squares(line.standard_uncertainty for line in self.own)
        return math.hypot(settling, self.resolution / 2.0 / ROOT_6)

    def U(self, probability: float) -> float:
        """U of a single level that was held, in the input unit."""
        return expand(math.hypot(self.u_shared, self.u_own), probability=probability).U

    def expanded(self, action: ActionLevel, *, probability: float) -> Expanded:
        """U of a level of action, in the input unit."""
        return action.expanded(u_level=self.u_shared, u_approach=self.u_own, probability=probability)

    def budget(self, action: ActionLevel) -> Budget:
        """The budget of a level of action, in % of the set level."""
        in_pct = 100.0 / self.level
        held = BudgetLine(
            name=BRACKET,
            value=in_pct * action.u_bracket * math.sqrt(3.0),
            distribution="rectangular",
            kind="common",
            source="half the width between not acted and acted (JCGM 100:2008, 4.3.7)",
        )
        if action.u_scatter > 0.0:
            scatter = BudgetLine(
                name=SCATTER,
                value=in_pct * action.u_scatter,
                kind="independent",
                degrees_of_freedom=action.degrees_of_freedom,
                source=f"{action.approaches} approaches (type A)",
            )
            return Budget(lines=(*self.shared, held, scatter))
        share = 1.0 / math.sqrt(action.approaches)
        step = BudgetLine(
            name="display of the reference",
            value=in_pct * self.resolution / 2.0,
            distribution="triangular",
            kind="independent",
            sensitivity_coefficient=share,
            source="the middle of two levels, each read to its last digit",
        )
        return Budget(lines=(*self.shared, held, *(line.scaled_by(share) for line in self.own), step))


def known_level(case: Case, frequency_hz: float, level: float, rows: Sequence[SetPointRow]) -> KnownLevel:
    """Return how well a level is known at a frequency. Raises ``BudgetError`` for an edit that cannot be used."""
    reading = _at(case, frequency_hz, level)
    return KnownLevel(
        reading=reading,
        shared=(*reading.common(frequency_hz), *reading.at_frequency(frequency_hz)),
        own=reading.independent,
        resolution=_resolution(case, rows),
        level=level,
    )


def _at(case: Case, frequency_hz: float, level: float) -> ReadingUncertainty:
    """What is known of a reading at the level, of a channel that is exactly right and read by nothing."""
    channel = case.channel
    reading = Reading(
        row=0,
        channel=channel.tag,
        test=LINEARITY,
        condition=case.condition,
        frequency_hz=frequency_hz,
        applied=level,
        applied_unit=channel.input_unit,
        output=channel.nominal_sensitivity * level + channel.output_zero,
        output_unit=channel.output_unit,
    )
    alone = replace(case, test=LINEARITY, readings=(reading,), readouts=(), checks=(), pending=())
    return assess_readings(alone, scale_readings(alone))


def _resolution(case: Case, rows: Sequence[SetPointRow]) -> float:
    """The coarsest step of the levels as written, in the input unit."""
    numbers = [
        WrittenNumber(
            value=row.applied, unit=row.applied_unit, decimals=row.applied_decimals, frequency_hz=row.frequency_hz
        )
        for row in rows
    ]
    steps = find_steps(numbers, [item.display for item in case.references if item.display is not None])
    unit = case.channel.input_unit
    return max(
        (
            float(convert(float(step), row.applied_unit, unit, frequency_hz=row.frequency_hz))
            for step, row in zip(steps, rows, strict=True)
        ),
        default=0.0,
    )
