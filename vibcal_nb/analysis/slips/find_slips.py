"""Where readings look like a slip of writing: questions for a person, found by the channel's own other readings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from vibcal_nb.analysis.slips.block_slips import block_slips
from vibcal_nb.analysis.slips.expected.case_expectation import CaseExpectation, expect_case, expect_channel
from vibcal_nb.analysis.slips.frequency_slips import frequencies_out_of_place, frequencies_that_fit
from vibcal_nb.analysis.slips.neighbour_slips import neighbour_slips
from vibcal_nb.analysis.slips.planned_limits import limit_slips
from vibcal_nb.analysis.slips.row_slips import digits_slips, factor_slips, outside_slips
from vibcal_nb.analysis.slips.slip import Slip, joined
from vibcal_nb.analysis.slips.slip_kinds import (
    APPLIED,
    DIGITS,
    FACTOR,
    FREQUENCY,
    NO_ONE_SLIP,
    OUTSIDE,
    ROW_BEFORE,
    STUCK,
    SWAPPED,
    UNIT,
)
from vibcal_nb.analysis.slips.unit_slips import unit_slips
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import LINEARITY
from vibcal_nb.model.readings import Reading

MOST_LOOKS = 4
JOINED = (FACTOR, UNIT, FREQUENCY)
LOOKED_AGAIN = (*JOINED, SWAPPED)
IN_ROWS = (OUTSIDE, FACTOR, DIGITS, SWAPPED, STUCK, ROW_BEFORE)
MOST_SLIPS, MOST_SHARE = 2, 0.05  # of one test, and of its rows; judgement, no source
FINDERS = (
    frequencies_out_of_place,
    neighbour_slips,
    factor_slips,
    frequencies_that_fit,
    digits_slips,
    outside_slips,
)
"""What may explain a row that stands apart, the surest first."""


def find_slips(cases: Sequence[Case]) -> tuple[Slip, ...]:
    """Return the slips in the tests of any number of channels and conditions, in the order of their rows.

    Each channel in each condition is held against its own other readings, and against its nominal sensitivity only
    where whole blocks of readings are off by a known factor. What physics bends (noise, saturation, a leak, a wrong
    filter) is no slip. Excluded readings, and readings at no level, take no part.
    """
    groups: dict[tuple[str, str], list[Case]] = {}
    for case in cases:
        groups.setdefault((case.channel.tag, case.condition), []).append(case)
    found = [slip for group in groups.values() for slip in _of_channel(group)]
    return tuple(sorted(found, key=lambda slip: slip.rows))


def question_reading(reading: Reading, cases: Sequence[Case]) -> tuple[Slip, ...]:
    """Return the slips that a new reading takes part in; ``cases`` are those of its channel with the rows so far.

    The case of the reading's test and condition need not hold any row yet, but must be among them.
    """
    own = [case for case in cases if (case.channel.tag, case.condition) == (reading.channel, reading.condition)]
    longer = [replace(c, readings=(*c.readings, reading)) if c.test == reading.test else c for c in own]
    needed = [case for case in longer if case.test in (reading.test, LINEARITY)]  # the lines show the channel's gain
    return tuple(slip for slip in find_slips(needed) if reading.row in slip.rows)


def _of_channel(given: Sequence[Case]) -> list[Slip]:
    """Find, undo what was found, and look again: a run's last rows stand apart once the others are right."""
    found: list[Slip] = []
    cases = given
    for _ in range(MOST_LOOKS):
        new = [slip for slip in _look(cases) if not _known_rows(found) & set(slip.rows)]
        again = [slip for slip in new if slip.kind in LOOKED_AGAIN]
        if not again:
            break
        found += again
        for slip in again:
            cases = [slip.undone(case) for case in cases]
    slips = _joined([*found, *(slip for slip in new if slip not in found)])
    for case in given:
        slips = _as_one_where_many(slips, case, given)
    return slips


def _as_one_where_many(slips: list[Slip], case: Case, cases: Sequence[Case]) -> list[Slip]:
    """Ask one question in place of many about a test: nobody slips so often, and a fault bends every row otherwise."""
    many = [slip for slip in slips if slip.tests == (case.test,) and slip.kind in IN_ROWS and slip.limits is None]
    if len(many) <= max(MOST_SLIPS, MOST_SHARE * len(case.readings)):
        return slips
    rows = _known_rows(many)
    written = tuple(reading for reading in case.readings if reading.row in rows)
    expected = next(item for item in expect_channel(cases) if item.case.test == case.test).output(written[0])
    limits = [slip for slip in slips if slip.tests == (case.test,) and slip.limits is not None]
    kept = [slip for slip in slips if slip not in many and slip not in limits]
    return [*kept, Slip(kind=OUTSIDE, written=written, expected=expected, cause=NO_ONE_SLIP)]


def _known_rows(slips: Sequence[Slip]) -> set[int]:
    return {row for slip in slips for row in slip.rows}


def _joined(slips: Sequence[Slip]) -> list[Slip]:
    """Join slips of a kind, a field and a factor that stand in rows one below the other."""
    found: list[Slip] = []
    for slip in sorted(slips, key=lambda slip: slip.rows):
        last = found[-1] if found else None
        if last is not None and slip.kind in JOINED and _key(last) == _key(slip) and slip.rows[0] == last.rows[-1] + 1:
            found[-1] = joined(last, slip)
        else:
            found.append(slip)
    return found


def _key(slip: Slip) -> tuple[str, str, str, str | None]:
    factor = None if slip.factor is None else f"{_on_output(slip):.6g}"
    units = "" if slip.kind != UNIT else f"{getattr(slip.written[0], slip.field)}"
    return slip.kind, "" if slip.kind == FACTOR else slip.field, units, factor


def _on_output(slip: Slip) -> float:
    """The factor as it shows in the ratio, where no live zero stands in the way."""
    factor = slip.factor or 1.0
    live = slip.written[0].output_unit.detector == "dc"
    return 1.0 / factor if slip.field == APPLIED and not live else factor


def _look(cases: Sequence[Case]) -> Iterator[Slip]:
    expected = expect_channel(cases)
    known: set[int] = set()
    for case in expected:
        for slip in _in_case(case):
            known |= set(slip.rows)
            yield slip
    blocks = list(block_slips(expected))
    yield from blocks
    known |= _known_rows(blocks)
    for case in expected:
        yield from limit_slips([part.block for part in case.parts], known=known)


def _in_case(expected: CaseExpectation) -> Iterator[Slip]:
    """Yield the slips of single rows and runs of one case; what an earlier finder explains, no later one is asked."""
    units = list(unit_slips(expected, lambda case: expect_case(case, gain=expected.gain)))
    yield from units
    left = [reading for reading in expected.suspects if reading.row not in _known_rows(units)]
    for finder in FINDERS:
        new = list(finder(expected, left))
        yield from new
        left = [reading for reading in left if reading.row not in _known_rows(new)]
