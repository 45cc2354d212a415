"""What a verdict leaves out: readings that are excluded, rows that were planned and not read.

A reading that was excluded and taken anew at its frequency and level has been replaced. One that was not, and with
which the test would fail, keeps a pass from being said: whoever chooses the readings must not choose the verdict.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from vibcal_nb.analysis.gates.gate import EXCLUDED, NOT_READ, Gate
from vibcal_nb.analysis.readings.grouping import SAME_LEVEL_PCT, at_frequency
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.metrology.conformity.decision import FAILING, PASSING, Verdict
from vibcal_nb.model.case import Case
from vibcal_nb.model.readings import PendingRow, Reading
from vibcal_nb.model.relay.check_rows import CheckRow

MOST_NAMED = 8  # rows in one sentence


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    """What the ``verdict`` on a ``test`` leaves out.

    ``readings`` counts all that have an output, ``excluded`` holds the rows of those of them that are excluded. Of the
    planned rows without an output, ``given_up`` state why and ``pending`` do not. ``verdict_with`` is the verdict with
    all that is excluded, None where nothing is. ``failing_with`` holds the excluded rows that were not taken anew,
    where the test would fail with them.
    """

    test: str
    readings: int
    verdict: Verdict
    excluded: tuple[int, ...] = ()
    pending: tuple[int, ...] = ()
    given_up: tuple[int, ...] = ()
    verdict_with: Verdict | None = None
    failing_with: tuple[int, ...] = ()


def find_left_out(
    case: Case, readings: ScaledReadings, *, verdict: Verdict, judge_again: Callable[[Case], Verdict]
) -> LeftOut:
    """Find what the ``verdict`` on a case leaves out; ``judge_again`` gives that on another case of its test."""
    lost = tuple(r.row for i, r in enumerate(case.readings) if r.exclude is not None and not _taken_anew(readings, i))
    return left_out_of(case, case.readings, lost, verdict=verdict, judge_again=judge_again)


def left_out_of(
    case: Case,
    rows: Sequence[Reading | CheckRow],
    lost: tuple[int, ...],
    *,
    verdict: Verdict,
    judge_again: Callable[[Case], Verdict | None],
) -> LeftOut:
    """Return what the ``verdict`` on the rows of a case leaves out; ``lost`` are those that were not taken anew."""
    excluded = tuple(row.row for row in rows if row.exclude is not None)
    with_lost = judge_again(_with_back(case, lost)) if lost else None
    with_all = with_lost if len(lost) == len(excluded) else judge_again(_with_back(case, excluded))
    return LeftOut(
        test=case.test,
        verdict=verdict,
        readings=len(rows),
        excluded=excluded,
        pending=tuple(row.row for row in case.pending if row.exclude is None),
        given_up=tuple(row.row for row in case.pending if row.exclude is not None),
        verdict_with=with_all if excluded else None,
        failing_with=lost if with_lost in FAILING else (),
    )


def _with_back(case: Case, rows: Collection[int]) -> Case:
    """Return the case with these rows no longer excluded, and nothing pending: that is no matter of what was read."""
    readings = tuple(replace(r, exclude=None) if r.row in rows else r for r in case.readings)
    checks = tuple(replace(r, exclude=None) if r.row in rows else r for r in case.checks)
    return replace(case, readings=readings, checks=checks, pending=())


def _taken_anew(readings: ScaledReadings, index: int) -> bool:
    """Whether another reading that is used has the frequency and the level of an excluded one."""
    hz, x = readings.frequency_hz[index], readings.x[index]
    near = np.abs(readings.x - x) <= SAME_LEVEL_PCT / 100.0 * np.maximum(readings.x, x)
    return bool((readings.used & near & at_frequency(readings.frequency_hz, float(hz))).any())


def left_out_gates(left_out: LeftOut) -> Iterator[Gate]:
    """Yield the gate of excluded readings that a pass would rest on."""
    if left_out.verdict in PASSING and left_out.failing_with:
        count, rows = len(left_out.failing_with), listed_rows(left_out.failing_with)
        yield Gate(
            gate=EXCLUDED,
            found=f"{count} of {left_out.readings} readings {'is' if count == 1 else 'are'} excluded ({rows}) and not "
            "taken anew; with them the test would fail",
            remedy="take them anew at the same level and frequency, or let them count",
        )


def pending_gates(pending: Sequence[PendingRow]) -> Iterator[Gate]:
    """Yield the gate of planned rows that have no output, and no reason why."""
    unread = [row.row for row in pending if row.exclude is None]
    if unread:
        count, rows = len(unread), listed_rows(unread)
        yield Gate(
            gate=NOT_READ,
            found=f"{count} planned {'row has' if count == 1 else 'rows have'} no output ({rows})",
            remedy="read them, remove them from the table, or give the reason in the column exclude",
        )


def listed_rows(rows: Sequence[int]) -> str:
    """Name the rows of a table, the first few where they are many."""
    named = ", ".join(str(row) for row in rows[:MOST_NAMED]) + (" ..." if len(rows) > MOST_NAMED else "")
    return f"row{'' if len(rows) == 1 else 's'} {named}"
