"""The gates that a visit's files show by themselves: to be known before anybody drives to the site."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.gates import list_gates_of_readings
from vibcal_nb.analysis.relay.check_gates import check_gates
from vibcal_nb.analysis.relay.indication import seen_from_display
from vibcal_nb.model.case import Case, list_cases, select_case
from vibcal_nb.model.names import CHECKS, INDICATION
from vibcal_nb.model.relay.check_rows import SetPointRow
from vibcal_nb.model.visit_folder import VisitFolder


@dataclass(frozen=True, kw_only=True)
class VisitGate:
    """A gate of a visit, and which (channel, test, condition) it holds; ``of_all`` where these are all there are."""

    gate: Gate
    cases: tuple[tuple[str, str, str], ...]
    of_all: bool


def list_visit_gates(folder: VisitFolder) -> tuple[VisitGate, ...]:
    """List the gates that a visit's equipment and reading table show, each once, without any analysis."""
    held: dict[Gate, list[tuple[str, str, str]]] = {}
    cases = list_cases(folder)
    for channel, test, condition in cases:
        for gate in _gates_of(select_case(folder, channel=channel, test=test, condition=condition)):
            held.setdefault(gate, []).append((channel, test, condition))
    return tuple(
        VisitGate(gate=gate, cases=tuple(which), of_all=len(which) == len(cases)) for gate, which in held.items()
    )


def _gates_of(case: Case) -> tuple[Gate, ...]:
    """Return the gates as the test's own analysis has them: rows without an output need what they state alone."""
    if case.test in CHECKS:
        used = [row for row in case.checks if isinstance(row, SetPointRow) and row.exclude is None]
        return tuple(check_gates(case, [row.frequency_hz for row in used]))
    if case.test != INDICATION:
        return list_gates_of_readings(case)
    indication = case.channel.indication
    if indication is None:  # nothing to judge the display by: `run` refuses it in a sentence
        return tuple(check_gates(case, [row.frequency_hz for row in case.readings if row.exclude is None]))
    return list_gates_of_readings(seen_from_display(case, indication))
