"""How set points driven through their relays are shown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from vibcal_nb.analysis.relay.set_points import SetPointFound, SetPointsResult, analyse_set_points
from vibcal_nb.display.card.card_parts import Quantity, off, symmetric
from vibcal_nb.display.relay.service_words import service_remarks
from vibcal_nb.display.relay.set_point_plots import draw_set_points, set_point_axes, set_point_height
from vibcal_nb.display.relay.set_point_tables import set_point_points, set_point_summary
from vibcal_nb.display.results.view import Control, Drawing, Grip, View, WhatIf, rule_in_short
from vibcal_nb.display.writing.findings import Finding, Wording, failures_first, is_against
from vibcal_nb.display.writing.names import capital, listed
from vibcal_nb.display.writing.numbers import frequency, number, percent_with_uncertainty, with_uncertainty
from vibcal_nb.metrology.conformity.decision import FAIL, FAILING, NOT_VERIFIED, PASSING
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.model.case import Case
from vibcal_nb.model.tolerance import Tolerance

SHOWS = "Levels held at each relay, which acted and which did not, and the level of action with its U and limits."


def _at(item: SetPointFound) -> str:
    return f"at {frequency(item.frequency_hz)}"


def _unit(result: SetPointsResult) -> str:
    return result.case.channel.input_unit.shown


def level_text(item: SetPointFound, unit: str) -> str:
    """Write the level of action with U and unit."""
    if item.estimate is None or item.expanded is None:
        return ""
    return f"{with_uncertainty(item.estimate, item.expanded)} {unit}"


def _words(result: SetPointsResult) -> Wording:
    findings = [*_findings(result)]
    remarks = [*_remarks(result), *service_remarks(result.case)]
    gaps = tuple(capital(text) for text in result.not_verified)
    return Wording(findings=failures_first(findings), gaps=gaps, remarks=tuple(remarks))


def _findings(result: SetPointsResult) -> Iterator[Finding]:
    unit = _unit(result)
    for item in result.found:
        name, set_at = capital(item.set_point.name), f"set at {item.set_point.level:g} {unit}"
        if item.decision is not None and item.deviation_pct is not None and item.expanded is not None:
            shown = percent_with_uncertainty(item.deviation_pct, item.expanded.times(100.0 / item.set_point.level))
            yield (
                is_against(item.decision),
                f"{name}, {set_at}, comes at a true {level_text(item, unit)} {_at(item)}: {shown} "
                f"({symmetric(item.decision)} allowed); proved through the relay",
            )
        if item.never_acted:
            yield (
                True,
                f"{name}, {set_at}, did not come {_at(item)} up to {_far(item.approaches.highest_not_acted, unit)}",
            )
        if item.acted_before:
            yield True, f"{name}, {set_at}, had come {_at(item)} at {_far(item.approaches.lowest_acted, unit)} already"
        if item.delay is not None:
            limits = "" if item.delay.decision is None else f" ({symmetric(item.delay.decision, unit='s')} allowed)"
            shown = with_uncertainty(item.delay.mean_s, item.delay.expanded)
            yield (
                is_against(item.delay.decision),
                f"The delay of {item.set_point.name} {_at(item)} is {shown} s{limits}",
            )


def _far(level: float | None, unit: str) -> str:
    return f"{number(level or 0.0)} {unit}"


def _remarks(result: SetPointsResult) -> Iterator[str]:
    unit = _unit(result)
    if result.untried:
        yield f"No relay row of {listed(list(result.untried))}: not proved by this test"
    for item in result.found:
        if item.hysteresis is not None and item.release is not None:
            yield (
                f"{capital(item.set_point.name)} {_at(item)} releases at {number(item.release.estimate)} {unit}: "
                f"hysteresis {number(item.hysteresis, digits=2)} {unit}"
            )
        if item.action is not None and not item.action.agree:
            yield (
                f"{capital(item.set_point.name)} {_at(item)} acted at a level at which it had not acted before: its "
                f"{item.action.approaches} approaches scatter"
            )


def _sentence(result: SetPointsResult) -> str:
    failing = [item for item in result.found if item.verdict in FAILING]
    if failing:
        return listed([_failure(item, _unit(result)) for item in failing])
    if result.gates:
        return result.gates[0].found
    if result.verdict not in PASSING:
        return result.not_verified[0] if result.not_verified else NOT_VERIFIED
    unit = _unit(result)
    return listed(
        [f"{item.set_point.name} comes at a true {number(item.estimate or 0.0)} {unit}" for item in result.found]
    )


def _failure(item: SetPointFound, unit: str) -> str:
    name, at = item.set_point.name, _at(item)
    if item.never_acted:
        return f"{name} does not come {at} up to {_far(item.approaches.highest_not_acted, unit)}"
    if item.acted_before:
        return f"{name} comes too early {at}"
    if item.deviation_pct is not None and item.decision is not None and item.decision.verdict in FAILING:
        late = off(item.deviation_pct).replace("high", "late").replace("low", "early")
        return f"{name} comes {late} {at}"
    return f"the delay of {name} is {item.delay.mean_s if item.delay else 0.0:.3g} s {at}"


def _quantities(result: SetPointsResult) -> tuple[Quantity, ...]:
    return tuple(quantity for item in result.found for quantity in _judged(item))


def _judged(item: SetPointFound) -> Iterator[Quantity]:
    value = ""
    if item.deviation_pct is not None and item.expanded is not None:
        value = percent_with_uncertainty(item.deviation_pct, item.expanded.times(100.0 / item.set_point.level))
    yield Quantity(
        name=f"{item.set_point.name} {_at(item)}, level of action against {item.set_point.level:g}",
        value=value,
        limit=f"± {item.allowed_pct:g} %",
        decision=item.decision,
        why=item.why.get("estimate", ""),
        **({"mark": FAIL} if item.never_acted or item.acted_before else {}),
    )
    if item.set_point.delay_s is not None:
        low, high = item.set_point.delay_s
        yield Quantity(
            name=f"{item.set_point.name} {_at(item)}, delay",
            value="" if item.delay is None else f"{with_uncertainty(item.delay.mean_s, item.delay.expanded)} s",
            limit=f"{low:g} to {high:g} s",
            decision=None if item.delay is None else item.delay.decision,
            why=item.why.get("delay_s", ""),
        )


def _columns(result: SetPointsResult) -> Mapping[str, Sequence[Any]]:
    held = [(item, level, row) for item in result.found for level, row in item.approaches.rows]
    return {
        "row": [row.row for _, _, row in held],
        "set point": [item.set_point.name for item, _, _ in held],
        "frequency, Hz": [row.frequency_hz for _, _, row in held],
        f"level, {_unit(result)}": [level for _, level, _ in held],
        "acted": [row.acted for _, _, row in held],
        "delay, s": [row.delay_s for _, _, row in held],
        "direction": [row.direction for _, _, row in held],
    }


def _budgets(result: SetPointsResult) -> tuple[tuple[str, Budget], ...]:
    return tuple(
        (f"{item.set_point.name}, {frequency(item.frequency_hz)}", item.known.budget(item.action))
        for item in result.found
        if item.action is not None
    )


def _not_shown(result: SetPointsResult) -> tuple[str, ...]:
    return (
        "what follows the relay: contacts, wiring, valves and breakers belong to the proof test of the whole function",
        *(f"{name}: no relay row" for name in result.untried),
    )


def _next(result: SetPointsResult) -> Iterable[str]:
    if any(item.never_acted for item in result.found):
        yield "treat the channel as one that does not protect until the cause is found"
    if any(item.decision is not None and item.decision.verdict in FAILING for item in result.found):
        yield "compare with the linearity: what both are off by is the channel, the rest the set point"
    yield from (f"drive it through: {reason}" for reason in result.not_verified)


_TOLERANCE = "tolerance of "


def _limits(result: SetPointsResult) -> str:
    allowed = [f"{name} ± {pct:g} %" for name, pct in _allowed(result).items()]
    return f"{listed(allowed)} of the set level; {rule_in_short(result.rule).lower().replace('rule: ', '')}"


def _allowed(result: SetPointsResult) -> dict[str, float]:
    return {item.set_point.name: item.allowed_pct for item in result.found}


def _controls(result: SetPointsResult) -> tuple[Control, ...]:
    return tuple(
        Control(name=_TOLERANCE + name, label=f"{name}, ± %", kind="share", value=round(pct, 4), most=15.0)
        for name, pct in _allowed(result).items()
    )


def _change(case: Case, values: Mapping[str, Any]) -> Case:
    for name, value in values.items():
        if name.startswith(_TOLERANCE):
            case = case.with_relay_tolerance(name.removeprefix(_TOLERANCE), Tolerance(reading_pct=value))
    return case


def _grips(result: SetPointsResult) -> tuple[Grip, ...]:
    return tuple(Grip(control=_TOLERANCE + name, pane=0, along="x") for name in _allowed(result))


VIEW = View(
    words=_words,
    sentence=_sentence,
    quantities=_quantities,
    summary=set_point_summary,
    columns=_columns,
    points=set_point_points,
    budgets=_budgets,
    budget_of=("the level of action", "the set level"),
    not_shown=_not_shown,
    next_steps=_next,
    shows_relays=lambda _: True,
    drawing=Drawing(
        axes=set_point_axes,
        draw=draw_set_points,
        shows=SHOWS,
        height=set_point_height,
    ),
    what_if=WhatIf(limits=_limits, controls=_controls, change=_change, analyse=analyse_set_points, grips=_grips),
)
