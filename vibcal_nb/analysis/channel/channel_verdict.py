"""The whole channel: its tests, its alarm reach, which part is off, and what the visit changed, in one verdict.

The verdict is the worst of the tests and of the reach, where a set point that was not verified counts as not
verified: such a channel never passes, whatever its tests say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from vibcal_nb.analysis.channel.alarm_reach import ReachPoint, assess_reach
from vibcal_nb.analysis.channel.as_found_as_left import ConditionChange, compare_conditions
from vibcal_nb.analysis.channel.attribution import Attribution, attribute
from vibcal_nb.analysis.channel.channel_tests import ChannelTests, analyse_tests
from vibcal_nb.analysis.channel.consequence import Consequence, state_consequence
from vibcal_nb.analysis.channel.reach_point import DOES_NOT_ACT
from vibcal_nb.analysis.faults.faults import FaultExplanations, explain_channel
from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.gates import unique
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.phase.along_the_chain import fails_by_phase_alone, where_reversed
from vibcal_nb.analysis.readings.judged_point import state_rule
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.result import DrivenSetPoint, Result
from vibcal_nb.metrology.conformity.decision import (
    FAIL,
    FAILING,
    NOT_VERIFIED,
    PASS,
    DecisionRule,
    Verdict,
    worst_verdict,
)
from vibcal_nb.model.channel_case import ChannelCase
from vibcal_nb.model.names import AS_FOUND, SHAKER_TESTS


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ChannelVerdict(Result):
    """The verdict on one channel in one condition, with the case and all that it was made from.

    ``other`` and ``other_reach`` are the tests and the reach of the other condition, None and empty where the visit
    holds one alone.
    ``attribution`` is None where sensor and channel were not both read at one frequency; ``changes`` is None where
    the visit holds one condition alone; ``consequence`` is None where the channel did not fail as found, or was not
    read as found. ``explanations`` rank what may be wrong with it, and are None where no test on the shaker failed:
    a finding, which the verdict does not rest on. ``undetermined`` gives the reasons.
    """

    case: ChannelCase
    rule: DecisionRule
    tests: ChannelTests
    reach: tuple[ReachPoint, ...]
    other: ChannelTests | None
    other_reach: tuple[ReachPoint, ...]
    attribution: Attribution | None
    changes: tuple[ConditionChange, ...] | None
    consequence: Consequence | None
    explanations: FaultExplanations | None
    undetermined: Mapping[str, str]
    verdict: Verdict
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = (
        "worst of the tests and of the reach; inverse evaluation by ISO/TS 28037:2010, 11.1, with what all readings "
        "share added"
    )

    def driven(self) -> Iterator[DrivenSetPoint]:
        """Yield each set point at each rotor's speed, with its reach."""
        for point in self.reach:
            yield DrivenSetPoint(
                rotor=point.rotor.name if point.rotor else "",
                frequency_hz=point.frequency_hz,
                set_point=point.set_point,
                level=point.set_level,
                highest=point.highest_level,
                status=point.status,
            )

    @property
    def missing(self) -> tuple[str, ...]:
        """The tests that the channel is asked for and was not given."""
        return tuple(self.tests.missing)

    @property
    def reversed(self) -> str | None:
        """Which part is reversed, as its phase shows; None where none is."""
        band, sensor = self.tests.band, self.tests.sensor
        return where_reversed(None if band is None else band.phase, None if sensor is None else sensor.phase)

    @property
    def silent(self) -> tuple[ReachPoint, ...]:
        """The set points at which the channel does not act."""
        return tuple(point for point in self.reach if point.status == DOES_NOT_ACT)

    @property
    def unverified(self) -> tuple[ReachPoint, ...]:
        """The set points that were not verified."""
        return tuple(point for point in self.reach if point.status == NOT_VERIFIED)


@refusing
def analyse_channel(case: ChannelCase, *, explain: bool = True) -> ChannelVerdict:
    """Analyse all that a visit holds of one channel in one condition.

    Without ``explain`` no fault is looked for, which takes most of the time and which no verdict rests on. Raises
    ``AnalysisRefused`` with a sentence where the visit's contributions or decision rule cannot be used.
    """
    tests = analyse_tests(case.channel, case.tests)
    reach = assess_reach(case.channel, tests)
    other = analyse_tests(case.channel, case.other) if case.other else None
    found, left = (tests, other) if case.condition == AS_FOUND else (other, tests)
    other_reach = () if other is None else assess_reach(case.channel, other)
    consequence = None
    if found is not None:
        found_reach = reach if found is tests else other_reach
        consequence = state_consequence(case.channel, found, found_reach, case.earlier)
    attribution = None if tests.sensor is None else attribute(tests.linearity, tests.band, tests.sensor, tests.module)
    changes = None if found is None or left is None else compare_conditions(found, left)
    return ChannelVerdict(
        case=case,
        rule=state_rule(case.visit.decision),
        tests=tests,
        reach=reach,
        other=other,
        other_reach=other_reach,
        attribution=attribution,
        changes=changes,
        consequence=consequence,
        explanations=_explain(case, tests) if explain else None,
        undetermined=_undetermined(case, tests, reach, attribution, changes, consequence, found),
        verdict=_verdict(tests, reach),
        gates=unique(gate for _, result in tests.results() for gate in result.gates),
        left_out=tuple(item for _, result in tests.results() for item in result.left_out),
    )


def _explain(case: ChannelCase, tests: ChannelTests) -> FaultExplanations | None:
    """Look for a fault where there is one to look for: a channel that passes does not wait for it."""
    return explain_channel(tuple(case.tests.values())) if _fails_on_the_shaker(tests) else None


def _fails_on_the_shaker(tests: ChannelTests) -> bool:
    failed = [result for test, result in tests.results() if test in SHAKER_TESTS and result.verdict in FAILING]
    return any(not fails_by_phase_alone(result) for result in failed)


def _verdict(tests: ChannelTests, reach: tuple[ReachPoint, ...]) -> Verdict:
    of_reach: dict[str, Verdict] = {NOT_VERIFIED: NOT_VERIFIED, DOES_NOT_ACT: FAIL}
    return worst_verdict([*tests.verdicts.values(), *(of_reach.get(point.status, PASS) for point in reach)])


def _why_one_condition(case: ChannelCase) -> str:
    alone = "the visit holds one condition of this channel alone"
    if case.condition == AS_FOUND:
        return alone
    if case.visit.outage is None:
        return f"{alone}; where an earlier visit found it, state the same outage in both visits"
    return f"{alone}, and no earlier visit of the outage '{case.visit.outage}' found it"


def _undetermined(
    case: ChannelCase,
    tests: ChannelTests,
    reach: tuple[ReachPoint, ...],
    attribution: Attribution | None,
    changes: tuple[ConditionChange, ...] | None,
    consequence: Consequence | None,
    found: ChannelTests | None,
) -> dict[str, str]:
    reasons = {}
    for point in reach:
        if point.true_level is None:
            rotor = "" if point.rotor is None else f"{point.rotor.name}, "
            why = "the channel does not act on it" if point.status == DOES_NOT_ACT else point.reason or ""
            reasons[f"true_level of {point.set_point} at {rotor}{point.frequency_hz:.5g} Hz"] = why
    if not reach:
        reasons["reach"] = "the channel states no alert and no trip, or nothing tells its running speeds"
    if attribution is None:
        missing = "sensor alone" if tests.sensor is None else "the channel"
        reasons["attribution"] = f"{missing} was not read at a frequency where both are needed"
    if changes is None:
        reasons["as_found_as_left"] = _why_one_condition(case)
    if not _fails_on_the_shaker(tests):
        reasons["explanation"] = "no test on the shaker failed"
    if consequence is None:
        reasons["consequence"] = "nothing was read as found" if found is None else "no test failed as found"
    return reasons
