"""Slips of writing before faults: rows that a person is asked about, and the cases as they were probably meant.

The questions are those of ``analysis.slips``, which ``check`` asks as well. A slip of single rows is believed here
where the readings as they were meant are so much likelier that it outweighs how rarely a row is written down wrongly.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from vibcal_nb.analysis.slips.find_slips import find_slips
from vibcal_nb.analysis.slips.slip import Slip
from vibcal_nb.analysis.slips.slip_kinds import NO_ONE_SLIP, NOMINAL
from vibcal_nb.model.case import Case

MOST_SLIPS = 3  # of one channel in one condition: more is no slip; judgement, no source
MOST_SHARE = 0.5  # of the rows of a test
A_SLIP = math.log(1e-3)  # how often a row is written down wrongly; judgement, no source
ANYWHERE = math.log(0.3)  # density, over output per nominal, of what may stand in a row that is not what was read
ASKED_FIRST = "asked about first: it stands apart from the other rows"


def slips_of_rows(cases: Sequence[Case]) -> tuple[Slip, ...]:
    """Return the slips of single rows and of runs of rows; none where there are so many that the channel does it."""
    found = tuple(slip for slip in find_slips(cases) if slip.kind != NOMINAL and slip.limits is None)
    rows = {case.test: len(case.readings) for case in cases}
    many = any(slip.cause == NO_ONE_SLIP or len(slip.rows) > MOST_SHARE * _rows(slip, rows) for slip in found)
    return () if many or len(found) > MOST_SLIPS else found


def _rows(slip: Slip, rows: dict[str, int]) -> int:
    return sum(rows.get(test, 0) for test in slip.tests)


def as_meant(cases: Sequence[Case], slips: Sequence[Slip]) -> tuple[Case, ...]:
    """Return the cases as they were probably meant; a row of which that is not known is left out."""
    meant = tuple(cases)
    for slip in slips:
        if slip.meant:
            meant = tuple(slip.undone(case) for case in meant)
        else:
            meant = tuple(_without(case, slip) for case in meant)
    return meant


def _without(case: Case, slip: Slip) -> Case:
    if (case.channel.tag, case.condition) != (slip.channel, slip.condition) or case.test not in slip.tests:
        return case
    kept = tuple(replace(r, exclude=r.exclude or ASKED_FIRST) if r.row in slip.rows else r for r in case.readings)
    return replace(case, readings=kept)


def log_rarity(slips: Sequence[Slip], left_out: int) -> float:
    """Logarithm of how rare so many slips are, and of the density of what stands in the rows that are left out."""
    return A_SLIP * len(slips) + ANYWHERE * left_out
