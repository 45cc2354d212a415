"""The gates of tests that read no output, and what their verdicts leave out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np

from vibcal_nb.analysis.gates.equipment_gates import equipment_gates
from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.gates import verdict_behind
from vibcal_nb.analysis.gates.left_out import left_out_gates, left_out_of, pending_gates
from vibcal_nb.analysis.gates.service_gate import service_gates
from vibcal_nb.analysis.gates.uncertainty_share import share_gate
from vibcal_nb.analysis.readings.grouping import SAME_LEVEL_PCT
from vibcal_nb.analysis.result import Result
from vibcal_nb.metrology.conformity.decision import Verdict
from vibcal_nb.model.case import Case
from vibcal_nb.model.relay.check_rows import CheckRow, ElectricalRow, SetPointRow, VotingRow
from vibcal_nb.problems import NothingToAnalyse

R = TypeVar("R", bound=Result)


def check_gates(case: Case, frequency_hz: Sequence[float]) -> Iterator[Gate]:
    """Yield the gates that equipment and table show by themselves; ``frequency_hz`` is empty of what is not shaken."""
    yield from service_gates(case)
    if frequency_hz:
        yield from equipment_gates(case, np.asarray(frequency_hz, dtype=np.float64))
    yield from pending_gates(case.pending)


def gated_checks(result: R, case: Case, frequency_hz: Sequence[float], *, analyse: Callable[[Case], Result]) -> R:
    """Return a result with its gates, with what it leaves out, and with the verdict that both leave.

    ``case`` is the one that its rows are of; ``analyse`` is its own analysis, by which excluded rows are tried.
    """
    share = share_gate(result.judged(), largest_u_share=case.visit.decision.largest_u_share)
    gates = (*check_gates(case, frequency_hz), *([] if share is None else [share]))
    left_out = left_out_of(
        case,
        case.checks,
        _not_again(case),
        verdict=verdict_behind(result.verdict, gates),
        judge_again=lambda tried: _verdict_of(analyse, tried),
    )
    gates += tuple(left_out_gates(left_out))
    changes: dict[str, Any] = {"gates": gates, "left_out": (left_out,)}
    return replace(result, **changes, verdict=verdict_behind(result.verdict, gates))  # type: ignore[type-var]


def _verdict_of(analyse: Callable[[Case], Result], case: Case) -> Verdict | None:
    try:
        return analyse(case).verdict
    except NothingToAnalyse:
        return None


def _not_again(case: Case) -> tuple[int, ...]:
    """The excluded rows that no other row takes anew."""
    used = [row for row in case.checks if row.exclude is None]
    excluded = [row for row in case.checks if row.exclude is not None]
    return tuple(row.row for row in excluded if not any(_is_again(row, other) for other in used))


def _is_again(row: CheckRow, other: CheckRow) -> bool:
    """Whether another row is the same state, item or level of a set point, taken anew."""
    if isinstance(row, SetPointRow) and isinstance(other, SetPointRow):
        near = abs(row.applied - other.applied) <= SAME_LEVEL_PCT / 100.0 * max(row.applied, other.applied)
        same = (row.set_point, row.direction, row.applied_unit, row.acted)
        return near and same == (other.set_point, other.direction, other.applied_unit, other.acted)
    if isinstance(row, VotingRow) and isinstance(other, VotingRow):
        return row.in_trip == other.in_trip
    return isinstance(row, ElectricalRow) and isinstance(other, ElectricalRow) and row.item == other.item
