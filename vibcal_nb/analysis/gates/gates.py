"""All gates of a test, and the verdict that they leave."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import TypeVar

import numpy as np

from vibcal_nb.analysis.gates.equipment_gates import equipment_gates
from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.left_out import find_left_out, left_out_gates, pending_gates
from vibcal_nb.analysis.gates.line_gates import line_gates
from vibcal_nb.analysis.gates.service_gate import service_gates
from vibcal_nb.analysis.gates.uncertainty_share import share_gate
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings, scale_readings
from vibcal_nb.analysis.result import Result
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED, Verdict, worst_verdict
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import INDICATION, LINEARITY, MODULE_ALONE

R = TypeVar("R", bound=Result)


def list_gates_of_readings(case: Case, readings: ScaledReadings | None = None) -> tuple[Gate, ...]:
    """List the gates that the equipment and the reading table show by themselves, before anything is analysed."""
    scaled = scale_readings(case) if readings is None else readings
    return tuple(_of_readings(case, scaled))


def _of_readings(case: Case, readings: ScaledReadings) -> Iterator[Gate]:
    yield from service_gates(case)
    yield from equipment_gates(case, np.asarray(readings.frequency_hz[readings.used]))
    if case.test in (LINEARITY, MODULE_ALONE, INDICATION):
        yield from line_gates(case, readings)
    yield from pending_gates(case.pending)


def gated(result: R, readings: ScaledReadings, *, analyse: Callable[[Case], Result], shown: Iterable[Gate] = ()) -> R:
    """Return a result with its gates, with what it leaves out, and with the verdict that both leave.

    ``result`` is what the readings say by themselves; ``analyse`` is its own analysis, gates included, by which
    excluded readings are tried; ``shown`` are gates that the analysis itself shows.
    """
    case = result.case
    share = share_gate(result.judged(), largest_u_share=case.visit.decision.largest_u_share)
    gates = (*_of_readings(case, readings), *([] if share is None else [share]), *shown)
    left_out = find_left_out(
        case,
        readings,
        verdict=verdict_behind(result.verdict, gates),
        judge_again=lambda tried: analyse(tried).verdict,
    )
    gates += tuple(left_out_gates(left_out))
    return replace(  # type: ignore[type-var]
        result, gates=gates, left_out=(left_out,), verdict=verdict_behind(result.verdict, gates)
    )


def verdict_behind(verdict: Verdict, gates: Iterable[Gate]) -> Verdict:
    """Return what gates leave of a verdict: a pass becomes not verified, a shown failure stays one."""
    return worst_verdict([verdict, NOT_VERIFIED]) if tuple(gates) else verdict


def unique(gates: Iterable[Gate]) -> tuple[Gate, ...]:
    """Return the gates, each once, in their order."""
    return tuple(dict.fromkeys(gates))
