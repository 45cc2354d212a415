"""Where along the chain a polarity turns round: in the sensor, or in what follows it."""

from __future__ import annotations

from collections.abc import Sequence

from vibcal_nb.analysis.phase.phase import PhaseResult
from vibcal_nb.analysis.result import Result
from vibcal_nb.metrology.conformity.decision import FAILING


def where_reversed(channel: PhaseResult | None, sensor: PhaseResult | None) -> str | None:
    """Say which part is reversed, by the phases of the whole channel and of its sensor alone; None where none is."""
    whole, part = (phase is not None and phase.is_reversed for phase in (channel, sensor))
    known = sensor is not None and sensor.polarity is not None and sensor.specification.polarity is not None
    if whole and part:
        return "the sensor is reversed, and the channel with it: its leads are crossed, or it is mounted the other way"
    if whole and known:
        return "the channel is reversed and its sensor is not: the leads behind it are crossed, or the module inverts"
    if whole:
        return "the channel is reversed; the phase of the sensor alone tells whether it is the sensor"
    if part and channel is None:
        return "the sensor is reversed: its leads are crossed, or it is mounted the other way"
    if part:
        return "the sensor is reversed where its channel was not read so: what follows it inverts"
    return None


def fails_by_phase_alone(result: Result) -> bool:
    """Whether a failing result has failing phases, and nothing else that was judged and fails."""
    phase = getattr(result, "phase", None)
    of_phase = [] if phase is None else [decision for _, decision, _ in phase.decisions]
    against = _failing([item[1] for item in result.judged()])
    return bool(of_phase) and bool(against) and len(against) == len(_failing(of_phase))


def _failing(decisions: Sequence[object]) -> list[object]:
    return [decision for decision in decisions if getattr(decision, "verdict", None) in FAILING]
