"""Set points driven through their relays: where each acts, how far that lies from its level, after which delay.

For each set point at each frequency, from the rows of the level held: the level of action (`level_of_action`), judged
against the set point's tolerance; the release on the other way, and with it the hysteresis; the delay, judged against
its pair. A set point without a relay row is not tried, and nothing is said of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from vibcal_nb.analysis.channel.reach_point import DOES_NOT_ACT, PROVED, Status
from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, group_close, runs_at, same_speed
from vibcal_nb.analysis.readings.judged_point import judge, state_rule
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.relay.approaches import Approaches, read_approaches
from vibcal_nb.analysis.relay.check_gates import gated_checks
from vibcal_nb.analysis.relay.delays import DelayTaken, judge_delays
from vibcal_nb.analysis.relay.known_level import KnownLevel, known_level
from vibcal_nb.analysis.result import DrivenSetPoint, Result, StatedSensitivity
from vibcal_nb.metrology.conformity.decision import FAIL, NOT_VERIFIED, Decision, DecisionRule, Verdict, worst_verdict
from vibcal_nb.metrology.switching.level_of_action import ActionLevel
from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.model.asset import Rotor
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import SET_POINT, SET_POINTS
from vibcal_nb.model.relay.check_rows import SetPointRow
from vibcal_nb.model.relay.set_points import SetPoint
from vibcal_nb.problems import NothingToAnalyse


@dataclass(frozen=True, kw_only=True, eq=False)
class SetPointFound:
    """One set point at one frequency; levels in the channel's input unit, percentages of the set level.

    ``approaches`` are the rows by approach. ``action`` is the level of action and ``expanded`` its U, None where it was
    not bracketed; ``release`` that of the other way. ``deviation_pct`` is judged by ``decision`` within ``allowed_pct``
    to either side. ``never_acted`` says that it was driven beyond its limits and did not act, ``acted_before`` that it
    acted below them and no level told where. ``delay`` is None where none was taken. ``why`` says what is missing.
    """

    set_point: SetPoint
    frequency_hz: float
    rotors: tuple[Rotor, ...]
    approaches: Approaches
    known: KnownLevel
    action: ActionLevel | None
    expanded: Expanded | None
    release: ActionLevel | None
    allowed_pct: float
    deviation_pct: float | None
    decision: Decision | None
    never_acted: bool
    acted_before: bool
    delay: DelayTaken | None
    why: Mapping[str, str]
    verdict: Verdict

    @property
    def estimate(self) -> float | None:
        """The level of action."""
        return None if self.action is None else self.action.estimate

    @property
    def hysteresis(self) -> float | None:
        """Level of action less level of release; None where either was not bracketed."""
        if self.action is None or self.release is None:
            return None
        return self.action.estimate - self.release.estimate

    @property
    def known_as(self) -> Status:
        """How the set point is known by its relay rows: ``proved``, ``does not act`` or ``not verified``."""
        if self.action is not None:
            return PROVED
        return DOES_NOT_ACT if self.never_acted else NOT_VERIFIED

    @property
    def proved(self) -> bool:
        """Whether the level was driven through the relay: it did not act on one side of a level and acted beyond."""
        return self.action is not None


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SetPointsResult(Result):
    """The set points of one channel in one condition, with the case they were made from.

    ``untried`` names set points of the channel without a relay row.
    """

    case: Case
    rule: DecisionRule
    found: tuple[SetPointFound, ...]
    untried: tuple[str, ...]
    verdict: Verdict
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = "middle and width of the levels held, JCGM 100:2008, 4.3.7"

    @property
    def not_verified(self) -> tuple[str, ...]:
        """Why set points are not verified, in clauses."""
        return tuple(
            f"{item.set_point.name} at {item.frequency_hz:.5g} Hz: {reason}"
            for item in self.found
            for reason in item.why.values()
        )

    @property
    def undetermined(self) -> dict[str, str]:
        """Why quantities are missing: of set points that were not tried, and of those that were."""
        reasons = dict.fromkeys(self.untried, "no relay row")
        for item in self.found:
            for name, reason in item.why.items():
                reasons[f"{name} of {item.set_point.name} at {item.frequency_hz:.5g} Hz"] = reason
        return reasons

    def judged(self) -> Iterator[tuple[str, Decision]]:
        """Yield the decisions on levels of action; a delay, whose limits are in s, is none of these."""
        for item in self.found:
            if item.decision is not None:
                yield f"{item.set_point.name} at {item.frequency_hz:.4g} Hz", item.decision

    @property
    def uncertainty(self) -> ReadingUncertainty:
        """What is known of a level, at the first set point that was tried."""
        return self.found[0].known.reading

    def sensitivities(self) -> Iterator[StatedSensitivity]:
        """Yield each level of action as a deviation from its set level: a set point may creep over the years."""
        unit = self.case.channel.input_unit.text
        for item in self.found:
            if item.action is not None and item.deviation_pct is not None:
                yield StatedSensitivity(
                    quantity=f"{item.set_point.name} set point at {item.frequency_hz:.4g} Hz",
                    frequency_hz=item.frequency_hz,
                    deviation_pct=item.deviation_pct,
                    budget=item.known.budget(item.action),
                    tolerance_pct=item.allowed_pct,
                    nominal=f"{item.set_point.level:.8g} {unit}",
                )

    def driven(self) -> Iterator[DrivenSetPoint]:
        """Yield each set point at each rotor's speed that was tried."""
        for item in self.found:
            levels = [level for level, _ in item.approaches.rows]
            for name in [rotor.name for rotor in item.rotors] or [""]:
                yield DrivenSetPoint(
                    rotor=name,
                    frequency_hz=item.frequency_hz,
                    set_point=item.set_point.name,
                    level=item.set_point.level,
                    highest=max(levels, default=None),
                )

    def found_at(self, set_point: str, rotor: Rotor | None, frequency_hz: float) -> SetPointFound | None:
        """Return what was found of a set point at a rotor's speed, or without one at a frequency; None if nothing."""
        for item in self.found:
            here = rotor in item.rotors if rotor is not None else same_speed(item.frequency_hz, frequency_hz)
            if item.set_point.name == set_point and here:
                return item
        return None


@refusing
def analyse_set_points(case: Case) -> SetPointsResult:
    """Analyse the rows of a case's relays, set point by set point and frequency by frequency.

    Raises ``AnalysisRefused`` with a sentence where the visit's contributions or decision rule cannot be used,
    ``NothingToAnalyse`` where no row is left.
    """
    case = replace(case, test=SET_POINT)  # that of a result is named after its analysis, and may be analysed again
    rows = tuple(row for row in case.checks if isinstance(row, SetPointRow))
    used = tuple(row for row in rows if row.exclude is None)
    if not used:
        raise NothingToAnalyse(f"{case.table_file} holds no relay row of {case.channel.tag} that is not excluded.")
    rule = state_rule(case.visit.decision)
    found = tuple(_each(case, used, rule))
    tried = {item.set_point.name for item in found}
    result = SetPointsResult(
        case=replace(case, test=SET_POINTS),
        rule=rule,
        found=found,
        untried=tuple(name for name, _ in case.channel.set_points if name not in tried),
        verdict=worst_verdict([item.verdict for item in found]),
    )
    return gated_checks(result, case, [row.frequency_hz for row in used], analyse=analyse_set_points)


def _each(case: Case, rows: tuple[SetPointRow, ...], rule: DecisionRule) -> Iterator[SetPointFound]:
    for name, _ in case.channel.set_points:
        own = [row for row in rows if row.set_point == name]
        hz = np.array([row.frequency_hz for row in own])
        for group in group_close(hz, within_pct=SAME_FREQUENCY_PCT):
            chosen = tuple(own[i] for i in sorted(group))
            yield _find(case, case.channel.relay_of(name), float(np.median(hz[group])), chosen, rule)


def _find(
    case: Case, set_point: SetPoint, frequency_hz: float, rows: tuple[SetPointRow, ...], rule: DecisionRule
) -> SetPointFound:
    channel = case.channel
    approaches = read_approaches(case, set_point, rows)
    known = known_level(case, frequency_hz, set_point.level, rows)
    tolerance = set_point.tolerance or channel.tolerance
    allowed = tolerance.allowed_pct(set_point.level, full_scale=channel.full_scale)
    action, expanded, deviation, decision, why = approaches.action, None, None, None, {}
    probability = case.visit.decision.coverage_probability
    never = before = False
    if action is not None:
        expanded = known.expanded(action, probability=probability)
        deviation = 100.0 * (action.estimate / set_point.level - 1.0)
        in_pct = expanded.times(100.0 / set_point.level)
        decision = judge(deviation, in_pct, rule, lower=-allowed, upper=allowed)
    else:
        why["estimate"] = approaches.why_no_action(channel.input_unit.shown)
        never, before = _beyond(approaches, set_point, known.U(probability), allowed)
    delay = judge_delays(set_point, approaches.rows_that_acted, rule, probability=probability)
    if set_point.delay_s is not None and delay is None:
        why["delay_s"] = "its delay is stated and was not taken"
    words: list[Verdict] = [] if decision is None else [decision.verdict]
    words += [FAIL] if never or before else []
    words += [NOT_VERIFIED] if why and not (never or before) else []
    words += [] if delay is None or delay.decision is None else [delay.decision.verdict]
    return SetPointFound(
        set_point=set_point,
        frequency_hz=frequency_hz,
        rotors=tuple(rotor for rotor in channel.rotors if runs_at(rotor, frequency_hz)),
        approaches=approaches,
        known=known,
        action=action,
        expanded=expanded,
        release=approaches.release,
        allowed_pct=allowed,
        deviation_pct=deviation,
        decision=decision,
        never_acted=never,
        acted_before=before,
        delay=delay,
        why=why,
        verdict=worst_verdict(words),
    )


def _beyond(approaches: Approaches, set_point: SetPoint, U: float, allowed_pct: float) -> tuple[bool, bool]:
    """Whether it did not act beyond all that is allowed, and whether it acted before it, U left out of account."""
    room = set_point.level * allowed_pct / 100.0 + U
    sign = approaches.sign
    farthest, nearest = approaches.highest_not_acted, approaches.lowest_acted
    never = farthest is not None and sign * (farthest - set_point.level) > room
    before = nearest is not None and sign * (set_point.level - nearest) > room
    return never, before and farthest is None
