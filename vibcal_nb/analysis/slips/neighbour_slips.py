"""Slips between rows: outputs one row too low or too high, two rows exchanged, the number of the row before kept."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from vibcal_nb.analysis.slips.expected.blocks import scaled_point
from vibcal_nb.analysis.slips.expected.case_expectation import CaseExpectation
from vibcal_nb.analysis.slips.question import rows_text
from vibcal_nb.analysis.slips.slip import Slip, not_known, with_output_of
from vibcal_nb.analysis.slips.slip_kinds import APPLIED, OUTPUT, ROW_BEFORE, STUCK, SWAPPED
from vibcal_nb.model.names import LINEARITY, MODULE_ALONE
from vibcal_nb.model.readings import Reading

FEWEST_SHIFTED = 3
ONE_LEVEL = 1.05


def neighbour_slips(expected: CaseExpectation, suspects: Sequence[Reading]) -> Iterator[Slip]:
    """Yield the slips between rows of one case that explain ``suspects``; no row is in two of them."""
    rows = [reading for reading in expected.case.readings if reading.exclude is None and reading.applied > 0.0]
    left = {reading.row for reading in suspects}
    if not left:
        return
    for finder in (_shifted, _swapped, _stuck):
        for slip in finder(expected, rows, left):
            if left & set(slip.rows):
                left -= set(slip.rows)
                yield slip


def _shifted(expected: CaseExpectation, rows: Sequence[Reading], left: set[int]) -> Iterator[Slip]:
    """Runs of rows whose outputs fit the level of the row before, or of the row after."""
    for step, where in ((-1, "before"), (1, "after")):
        run: list[int] = []
        for i in range(len(rows) + 1):
            if i < len(rows) and 0 <= i + step < len(rows) and expected.fits(with_output_of(rows[i + step], rows[i])):
                run.append(i)
                continue
            run = _trimmed(run, rows, left)
            if len(run) >= FEWEST_SHIFTED and 2 * sum(rows[j].row in left for j in run) > len(run):
                yield _shift(rows, run, step, where)
            run = []


def _trimmed(run: list[int], rows: Sequence[Reading], left: set[int]) -> list[int]:
    """A run begins and ends with a row that stands apart."""
    apart = [k for k, j in enumerate(run) if rows[j].row in left]
    return run[apart[0] : apart[-1] + 1] if apart else []


def _shift(rows: Sequence[Reading], run: list[int], step: int, where: str) -> Slip:
    meant: list[Reading] = []
    for i in run:
        source = i - step  # the row that its own output was written into
        meant += [with_output_of(rows[i], rows[source])] if source in run else not_known([rows[i]])
    return Slip(kind=ROW_BEFORE, written=tuple(rows[i] for i in run), meant=tuple(meant), cause=where)


def _swapped(expected: CaseExpectation, rows: Sequence[Reading], left: set[int]) -> Iterator[Slip]:
    """Two rows, the nearer ones first, of which each has the output that the other should have."""
    apart = [i for i, reading in enumerate(rows) if reading.row in left]
    taken: set[int] = set()
    for _, i, j in sorted((j - i, i, j) for i in apart for j in apart if i < j):
        meant = (with_output_of(rows[i], rows[j]), with_output_of(rows[j], rows[i]))
        if not {i, j} & taken and all(expected.fits(reading) for reading in meant):
            taken |= {i, j}
            yield Slip(kind=SWAPPED, written=(rows[i], rows[j]), meant=meant)


def _stuck(expected: CaseExpectation, rows: Sequence[Reading], left: set[int]) -> Iterator[Slip]:
    """Runs of neighbours with the same output where it should have moved, or the same level where that should have.

    One of them fits; the others, which stand apart, were not read anew.
    """
    is_line = expected.case.test in (LINEARITY, MODULE_ALONE)
    for field in (OUTPUT, APPLIED) if is_line else (OUTPUT,):
        for run in _equal_runs(rows, field):
            apart = [reading for reading in run if reading.row in left]
            others = [reading for reading in run if reading.row not in left]
            if apart and others and (is_line or _at_one_level(expected, run)):
                yield Slip(
                    kind=STUCK,
                    written=tuple(apart),
                    meant=not_known(apart),
                    field=field,
                    cause=rows_text([reading.row for reading in others]),
                    expected=expected.output(apart[0]),
                )


def _at_one_level(expected: CaseExpectation, run: Sequence[Reading]) -> bool:
    levels = [scaled_point(expected.case, reading)[0] for reading in run]
    return max(levels) < ONE_LEVEL * min(levels)


def _equal_runs(rows: Sequence[Reading], field: str) -> Iterator[list[Reading]]:
    run: list[Reading] = []
    for reading in rows:
        if run and getattr(run[-1], field) != getattr(reading, field):
            yield run
            run = []
        run.append(reading)
    if run:
        yield run
