"""What the card of a gap curve says: how it reads in one sentence, and each judged quantity."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.gap_curve.gap_curve import GapCurveResult
from vibcal_nb.display.card.card_parts import Quantity, off
from vibcal_nb.display.gap_curve.gap_statements import (
    between,
    line_text,
    range_text,
    rest_voltage_text,
    sensitivity_text,
)
from vibcal_nb.display.writing.names import listed
from vibcal_nb.display.writing.numbers import percent_with_uncertainty, true_minus
from vibcal_nb.metrology.conformity.decision import FAILING, PASSING
from vibcal_nb.metrology.straight_line.stated_slope import MINIMAX


def gap_sentence(result: GapCurveResult) -> str:
    """Say in one plain sentence how the probe follows the gap."""
    failures = list(_failures(result))
    if failures:
        return listed(failures)
    if result.gates:
        return result.gates[0].found
    if result.verdict not in PASSING or result.average is None:
        return result.not_verified[0] if result.not_verified else "the gap curve was not verified"
    return f"follows the gap by {sensitivity_text(result.average, result)}, linear over {range_text(result)}"


def _failures(result: GapCurveResult) -> Iterator[str]:
    worst, line, rest = result.worst_increment, result.from_line.get(MINIMAX), result.rest
    if result.is_reversed:
        yield "the voltage moves the other way than stated"
        return
    if worst is not None and worst.verdict in FAILING:
        yield f"the slope is {off(worst.deviation_pct)} from {between(worst, result)}"
    if line is not None and line.decision is not None and line.decision.verdict in FAILING:
        yield f"the curve leaves its line by {line_text(line)}"
    if rest is not None and rest.voltage_decision is not None and rest.voltage_decision.verdict in FAILING:
        yield f"the voltage at the rest gap is {rest_voltage_text(result)}"
    if rest is not None and rest.gap_decision is not None and rest.gap_decision.verdict in FAILING:
        yield "the rest gap lies outside the linear range"


def gap_quantities(result: GapCurveResult) -> tuple[Quantity, ...]:
    """Return what was judged: the worst increment, the distance from the line, the rest gap and its voltage."""
    return (*_increment(result), *_line(result), *_rest(result))


def _increment(result: GapCurveResult) -> Iterator[Quantity]:
    worst, limit = result.worst_increment, result.specification.incremental_pct
    if limit is None:
        return
    yield Quantity(
        name="worst increment" if worst is None else f"worst increment, {between(worst, result)}",
        value="" if worst is None else percent_with_uncertainty(worst.deviation_pct, worst.expanded),
        limit=f"± {limit:g} %",
        decision=None if worst is None else worst.decision,
        why=result.undetermined.get("worst_incremental_pct", "not judged"),
    )


def _line(result: GapCurveResult) -> Iterator[Quantity]:
    line, limit = result.from_line.get(MINIMAX), result.specification.deviation_um
    if limit is None:
        return
    yield Quantity(
        name="from the best line of the nominal slope (minimax)",
        value="" if line is None else line_text(line),
        limit=f"at most {limit:g} µm",
        decision=None if line is None else line.decision,
        why=result.undetermined.get("deviation_from_line_um", ""),
    )


def _rest(result: GapCurveResult) -> Iterator[Quantity]:
    rest, found = result.rest, result.specification
    if rest is None:
        return
    yield Quantity(
        name="rest gap, in the linear range",
        value=f"{rest.gap:g} {found.input_unit}",
        limit=range_text(result) if result.linear_range else "",
        decision=rest.gap_decision,
        why=result.undetermined.get("linear_range", ""),
    )
    if found.rest_voltage is not None:
        low, high = found.rest_voltage
        yield Quantity(
            name="voltage at the rest gap",
            value="" if rest.voltage is None else rest_voltage_text(result),
            limit=true_minus(f"{low:g} to {high:g} {found.output_unit}"),
            decision=rest.voltage_decision,
            why=rest.why or "",
        )
