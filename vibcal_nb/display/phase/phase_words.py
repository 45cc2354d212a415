"""Phases in words: findings, remarks, and each judged quantity of a card."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.judged_quantity import JudgedQuantity
from vibcal_nb.analysis.phase.phase import POLARITY, PhaseResult
from vibcal_nb.display.card.card_parts import Quantity
from vibcal_nb.display.writing.findings import Finding, is_against
from vibcal_nb.display.writing.numbers import true_minus, with_uncertainty
from vibcal_nb.metrology.conformity.decision import FAILING
from vibcal_nb.metrology.sine.phase_line import BENT
from vibcal_nb.metrology.uncertainty.estimate import Estimate


def phase_failures(phase: PhaseResult | None) -> Iterator[str]:
    """Say in clauses, to follow a channel or a sensor, which limits of its phase it breaks; reversed first."""
    for item in () if phase is None else phase.judged:
        if item.decision is None or item.decision.verdict not in FAILING or phase is None:
            continue
        if item.name == POLARITY:
            yield f"is reversed: its polarity is {_sign(phase.polarity)} where {_sign(_stated(phase))} is stated"
            return  # half a turn breaks the limits as well
        yield f"has a {_name(item)} of {_value(item.estimate, item.unit)} (allowed {_allowed(item)})"


def phase_findings(phase: PhaseResult | None, *, of: str) -> Iterator[Finding]:
    """Say how the phases keep to what is stated; ``of`` is the part, as "The channel"."""
    for item in () if phase is None else phase.judged:
        if item.decision is None or phase is None:
            continue
        bad = is_against(item.decision)
        if item.name == POLARITY:
            yield bad, _polarity_text(phase, of)
        else:
            yield bad, f"The {_name(item)} is {_value(item.estimate, item.unit)} (allowed {_allowed(item)})"


def _polarity_text(phase: PhaseResult, of: str) -> str:
    whose = " for the whole channel" if phase.of_channel else ""
    line = f"the line through the phases meets 0 Hz at {_value(phase.intercept_deg, '°')}"
    if phase.is_reversed:
        return (
            f"{of} is reversed: its polarity is {_sign(phase.polarity)} where {_sign(_stated(phase))} is "
            f"stated{whose}; {line}"
        )
    return f"The polarity is {_sign(phase.polarity)}, as stated{whose}; {line}"


def phase_remarks(phase: PhaseResult | None) -> Iterator[str]:
    """Say what the phases show beside what was judged."""
    if phase is None or not phase.points:
        return
    judged = {item.name for item in phase.judged if item.decision is not None}
    if phase.line is None:
        yield f"Polarity and delay are undetermined: {phase.undetermined[POLARITY]}"
        return
    if POLARITY not in judged:
        why = phase.undetermined.get(POLARITY)
        yield f"The polarity is {_sign(phase.polarity)}" if why is None else f"The polarity is undetermined: {why}"
    if "delay" not in judged:
        why = phase.undetermined.get("delay_ms")
        text = f"is {_value(phase.delay_ms, 'ms')}" if why is None else f"is undetermined: {why}"
        yield f"The delay of the output {text}"
    if phase.lead is not None:
        yield "The lead of the second-order sensor, by its natural frequency and damping, is taken off the phases first"
    if phase.line.shape == BENT and phase.line.holds:
        yield "Filters bend the line through the phases: polarity and delay are those of the line without the bends"


def phase_quantities(phase: PhaseResult | None) -> Iterator[Quantity]:
    """Yield what was judged of the phases: polarity, delay, limits."""
    for item in () if phase is None else phase.judged:
        if phase is None or (item.decision is None and phase.of_channel):
            continue
        is_polarity = item.name == POLARITY
        value = f"{_sign(phase.polarity)} (line at {_value(phase.intercept_deg, '°')})" if is_polarity else ""
        yield Quantity(
            name=_name(item) if not is_polarity else POLARITY,
            value="" if item.decision is None else value or _value(item.estimate, item.unit),
            limit=_sign(_stated(phase)) if is_polarity else _allowed(item),
            decision=item.decision,
            why=item.estimate.why or "",
        )


def estimate_text(estimate: Estimate, unit: str) -> str:
    """Write an estimate of the line with its U, or why there is none."""
    return f"undetermined: {estimate.why}" if estimate.value is None else _value(estimate, unit)


def polarity_text(phase: PhaseResult) -> str:
    """Write the polarity, or why it is not known."""
    return f"undetermined: {phase.undetermined[POLARITY]}" if phase.polarity is None else _sign(phase.polarity)


def _stated(phase: PhaseResult) -> str | None:
    return phase.specification.polarity


def _sign(polarity: str | None) -> str:
    return "unknown" if polarity is None else "\N{MINUS SIGN}" if polarity == "-" else polarity


def _name(item: JudgedQuantity) -> str:
    return f"phase {item.name}" if item.name.startswith("at ") else f"{item.name} by the phase"


def _value(estimate: Estimate, unit: str) -> str:
    if estimate.value is None or estimate.expanded is None:
        return "undetermined"
    return f"{with_uncertainty(estimate.value, estimate.expanded)} {unit}"


def _allowed(item: JudgedQuantity) -> str:
    low, high = item.limits
    return true_minus(f"{low:g} to {high:g} {item.unit}")
