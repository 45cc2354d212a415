"""Where readings look like a slip of writing: questions for a person, found by the channel's own other readings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from vibcal_nb.analysis.slips.block_slips import block_slips
from vibcal_nb.analysis.slips.blocks import Block, blocks_of
from vibcal_nb.analysis.slips.expectation import CaseExpectation, Expectation, expect
from vibcal_nb.analysis.slips.frequency_slips import frequency_slips
from vibcal_nb.analysis.slips.neighbour_slips import neighbour_slips
from vibcal_nb.analysis.slips.row_slips import number_slips, unit_slips
from vibcal_nb.analysis.slips.slip import Slip, joined
from vibcal_nb.analysis.slips.slip_kinds import FACTOR, FREQUENCY, SWAPPED, UNIT
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY
from vibcal_nb.model.readings import Reading

MOST_LOOKS = 4
JOINED = (FACTOR, UNIT, FREQUENCY)
LOOKED_AGAIN = (*JOINED, SWAPPED)


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
    return tuple(slip for slip in find_slips(longer) if reading.row in slip.rows)


def _of_channel(cases: Sequence[Case]) -> list[Slip]:
    """Find, undo what was found, and look again: a run's last rows stand apart once the others are right."""
    found: list[Slip] = []
    for _ in range(MOST_LOOKS):
        new = [slip for slip in _look(cases) if not _known_rows(found) & set(slip.rows)]
        again = [slip for slip in new if slip.kind in LOOKED_AGAIN]
        if not again:
            break
        found += again
        for slip in again:
            cases = [slip.undone(case) for case in cases]
    return _joined([*found, *(slip for slip in new if slip not in found)])


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
    factor = None if slip.factor is None else f"{slip.factor:.6g}"
    units = "" if slip.kind != UNIT else f"{getattr(slip.written[0], slip.field)}"
    return slip.kind, slip.field, units, factor


def _look(cases: Sequence[Case]) -> Iterator[Slip]:
    blocks = {case.test: blocks_of(case) for case in cases}
    lines = [expect(block, gain=0.0) for block in blocks.get(LINEARITY, ())]
    gain = _channel_gain(lines)
    expected = [_expect_case(case, blocks[case.test], lines, gain) for case in cases if blocks[case.test]]
    for case in expected:
        yield from _in_case(case)
    yield from block_slips(expected)


def _channel_gain(lines: Sequence[Expectation]) -> float:
    """Ln of output over nominal of the lines that three readings or more agree on; nominal where there is none."""
    gains = [part.gain for part in lines if len(part.block) >= 3]
    return float(np.median(gains)) if gains else 0.0


def _expect_case(case: Case, blocks: Sequence[Block], lines: Sequence[Expectation], gain: float) -> CaseExpectation:
    shared = gain if case.test in (LINEARITY, BAND_RESPONSE) else 0.0
    if case.test == LINEARITY:
        parts = tuple(part if len(part.block) >= 3 else expect(part.block, gain=gain) for part in lines)
    else:
        parts = tuple(expect(block, gain=shared) for block in blocks)
    return CaseExpectation(case=case, parts=parts, gain=shared)


def _in_case(expected: CaseExpectation) -> Iterator[Slip]:
    suspects = [
        reading
        for part in expected.parts
        for reading, apart in zip(part.block.readings, part.suspect, strict=True)
        if apart
    ]
    left = {reading.row: reading for reading in sorted(suspects, key=lambda reading: reading.row)}
    for finder in (frequency_slips, unit_slips, neighbour_slips, number_slips):
        new = list(finder(expected, list(left.values())))
        yield from new
        left = {row: reading for row, reading in left.items() if all(row not in slip.rows for slip in new)}
