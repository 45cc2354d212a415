"""Electrical health of a channel at rest: each item as read, judged against what the channel states of it.

U holds the last digit, and the gain of the widest readout that the visit names; an insulation meter or a capacitance
meter that is described nowhere adds what nobody states.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.readings.judged_point import judge, state_rule
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.relay.check_gates import gated_checks
from vibcal_nb.analysis.result import Result
from vibcal_nb.metrology.conformity.decision import Decision, DecisionRule, Verdict, whole_verdict
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine
from vibcal_nb.model.case import Case
from vibcal_nb.model.relay.check_rows import ElectricalRow
from vibcal_nb.model.relay.electrical import ElectricalLimit, parse_electrical_unit
from vibcal_nb.problems import NothingToAnalyse

ROOT_12 = math.sqrt(12.0)


@dataclass(frozen=True, kw_only=True)
class ItemRead:
    """One item: ``value`` in ``unit``, which is that of its limits where it has some; ``decision`` None without."""

    row: ElectricalRow
    value: float
    unit: str
    expanded: Expanded
    limit: ElectricalLimit | None
    decision: Decision | None


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ElectricalResult(Result):
    """The electrical health of one channel in one condition; ``unread`` are items with limits that were not read."""

    case: Case
    rule: DecisionRule
    items: tuple[ItemRead, ...]
    unread: tuple[str, ...]
    verdict: Verdict
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = "value at rest against the channel's limits"

    def judged(self) -> Iterator[tuple[str, Decision]]:
        """Yield nothing: a limit of health is no tolerance of which U could take too large a share."""
        return iter(())

    @property
    def undetermined(self) -> dict[str, str]:
        """Why items are missing."""
        return dict.fromkeys(self.unread, "not read")


@refusing
def analyse_electrical(case: Case) -> ElectricalResult:
    """Judge the electrical rows of a case. Raises ``NothingToAnalyse`` where no row is left."""
    rows = [row for row in case.checks if isinstance(row, ElectricalRow) and row.exclude is None]
    if not rows:
        raise NothingToAnalyse(
            f"{case.table_file} holds no electrical value of {case.channel.tag} that is not excluded."
        )
    rule = state_rule(case.visit.decision)
    limits = {limit.item: limit for limit in case.channel.electrical}
    items = tuple(_judge(case, row, limits.get(row.item), rule) for row in rows)
    unread = tuple(item for item in limits if item not in {row.item for row in rows})
    verdict = whole_verdict((item.decision.verdict for item in items if item.decision is not None), unread)
    result = ElectricalResult(case=case, rule=rule, items=items, unread=unread, verdict=verdict)
    return gated_checks(result, case, (), analyse=analyse_electrical)


def _judge(case: Case, row: ElectricalRow, limit: ElectricalLimit | None, rule: DecisionRule) -> ItemRead:
    own, wanted = parse_electrical_unit(row.unit), parse_electrical_unit(row.unit if limit is None else limit.unit)
    factor = 1.0 if own is None or wanted is None else own.si_factor / wanted.si_factor
    value = row.value * factor
    step = 0.0 if row.value_decimals is None else math.pow(10.0, -row.value_decimals) * factor
    gain = max((item.expanded_pct / item.k for item in case.readouts), default=0.0)
    parts = ((step / ROOT_12, math.inf), (gain / 100.0 * abs(value), math.inf))
    expanded = combine(*parts, probability=case.visit.decision.coverage_probability)
    decision = None if limit is None else judge(value, expanded, rule, lower=limit.lower, upper=limit.upper)
    return ItemRead(
        row=row,
        value=value,
        unit=row.unit if wanted is None else wanted.text,
        expanded=expanded,
        limit=limit,
        decision=decision,
    )
