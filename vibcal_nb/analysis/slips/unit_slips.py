"""Rows whose unit differs from that of most others, where all of them agree better in one unit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace

from vibcal_nb.analysis.slips.expected.case_expectation import CaseExpectation
from vibcal_nb.analysis.slips.slip import Slip
from vibcal_nb.analysis.slips.slip_kinds import UNIT
from vibcal_nb.model.case import Case
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import Unit

BETTER = 4.0  # ln of how much likelier the readings must be in one unit; judgement, no source

Expecting = Callable[[Case], CaseExpectation | None]


def unit_slips(expected: CaseExpectation, expecting: Expecting) -> Iterator[Slip]:
    """Yield a question for each unit that less than half of the rows have; ``expecting`` is asked what then holds."""
    used = [reading for reading in expected.case.readings if reading.exclude is None and reading.applied > 0.0]
    for field in ("applied_unit", "output_unit"):
        (usual, _), *others = Counter(getattr(reading, field) for reading in used).most_common()
        for unit, count in others:
            if 2 * count >= len(used):
                continue
            meant = {r.row: _with_unit(r, field, usual) for r in used if getattr(r, field) == unit}
            readings = tuple(meant.get(reading.row, reading) for reading in expected.case.readings)
            other = expecting(replace(expected.case, readings=readings))
            if other is not None and other.loss + BETTER < expected.loss:
                written = tuple(reading for reading in used if reading.row in meant)
                yield Slip(kind=UNIT, written=written, meant=tuple(meant.values()), field=field)
                return


def _with_unit(reading: Reading, field: str, unit: Unit) -> Reading:
    return replace(reading, output_unit=unit) if field == "output_unit" else replace(reading, applied_unit=unit)
