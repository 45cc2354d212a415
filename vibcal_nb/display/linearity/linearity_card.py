"""What the card of a linearity says: how it reads in one sentence, and each judged quantity."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.display.card.card_parts import Quantity, off, symmetric
from vibcal_nb.display.writing.names import listed
from vibcal_nb.display.writing.numbers import frequency, number, percent_with_uncertainty
from vibcal_nb.display.writing.tolerances import tolerance_text
from vibcal_nb.metrology.conformity.decision import FAILING, PASSING


def linearity_sentence(result: LinearityResult) -> str:
    """Say in one plain sentence how the channel reads."""
    failing = [item for item in result.frequencies if item.verdict in FAILING]
    if failing:
        return listed([_failure(item, result) for item in failing])
    if result.gates:
        return result.gates[0].found
    if result.verdict not in PASSING:
        return listed([f"{item.levels} levels at {frequency(item.frequency_hz)}" for item in result.frequencies])
    unit = result.case.channel.input_unit.shown
    reached = [
        f"{frequency(item.frequency_hz)} up to {number(item.max_applied or 0.0, digits=3)} {unit}"
        for item in result.frequencies
    ]
    return f"within {tolerance_text(result.case.channel)} at {listed(reached)}"


def _failure(item: FrequencyLinearity, result: LinearityResult) -> str:
    at, unit = f"at {frequency(item.frequency_hz)}", result.case.channel.input_unit.shown
    line, worst = item.line, item.worst_point
    if line is not None and line.deviation_decision.verdict in FAILING:
        return f"reads {off(line.deviation_pct)} {at}"
    if item.zero is not None and item.zero.decision is not None and item.zero.decision.verdict in FAILING:
        return f"its zero is {item.zero.value_pct:+.2f} % of span off {at}"
    failed = [p for p in item.points if p.verdict in FAILING]
    if failed and worst is not None and worst.value_pct is not None:
        return f"reads {off(worst.value_pct)} {at} at {number(worst.x, digits=3)} {unit} (row {worst.reading.row})"
    return f"is not straight {at}"


def linearity_quantities(result: LinearityResult) -> tuple[Quantity, ...]:
    """Return what was judged: sensitivity, zero, the worst reading and the non-linearity, frequency by frequency."""
    return tuple(quantity for item in result.frequencies for quantity in _at(item, result))


def _at(item: FrequencyLinearity, result: LinearityResult) -> Iterator[Quantity]:
    channel, at, line = result.case.channel, f"at {frequency(item.frequency_hz)}", item.line
    limit = f"± {channel.tolerance_pct:g} %"
    if line is None:
        yield Quantity(
            name=f"sensitivity {at}", value="", limit=limit, decision=None, why=item.undetermined["sensitivity"]
        )
    else:
        shown = percent_with_uncertainty(line.deviation_pct, line.deviation_expanded)
        yield Quantity(name=f"sensitivity {at}", value=shown, limit=limit, decision=line.deviation_decision)
    if item.zero is not None and item.zero.decision is not None:
        shown = percent_with_uncertainty(item.zero.value_pct, item.zero.expanded)
        decision = item.zero.decision
        yield Quantity(name=f"zero {at}, of span", value=shown, limit=symmetric(decision), decision=decision)
    worst = item.worst_point
    if worst is not None and worst.value_pct is not None and worst.expanded is not None and worst.decision is not None:
        yield Quantity(
            name=f"worst reading {at} (row {worst.reading.row})",
            value=percent_with_uncertainty(worst.value_pct, worst.expanded),
            limit=symmetric(worst.decision),
            decision=worst.decision,
        )
    if line is not None and line.nonlinearity_decision is not None:
        yield Quantity(
            name=f"{channel.nonlinearity_kind} non-linearity {at}, of span",
            value=percent_with_uncertainty(
                line.nonlinearity_pct[channel.nonlinearity_kind], line.nonlinearity_expanded, signed=False
            ),
            limit=symmetric(line.nonlinearity_decision),
            decision=line.nonlinearity_decision,
        )
