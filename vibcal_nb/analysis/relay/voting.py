"""A group that votes: the states that were tried, compared with its logic, and those that were not."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.readings.judged_point import state_rule
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.relay.check_gates import gated_checks
from vibcal_nb.analysis.result import Result
from vibcal_nb.metrology.conformity.decision import FAIL, NOT_VERIFIED, PASS, DecisionRule, Verdict
from vibcal_nb.metrology.switching.voting_logic import acts, deciding_states, states_of
from vibcal_nb.model.case import Case
from vibcal_nb.model.relay.check_rows import VotingRow
from vibcal_nb.model.relay.set_points import VotingGroup
from vibcal_nb.problems import NothingToAnalyse


@dataclass(frozen=True, kw_only=True)
class VotingState:
    """A state that was tried, in ``row``: the tags in trip, what the group did, and what its logic does."""

    row: int
    in_trip: tuple[str, ...]
    acted: bool
    expected: bool

    @property
    def agrees(self) -> bool:
        """Whether the group did what its logic does."""
        return self.acted == self.expected


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class VotingResult(Result):
    """The votes of one group in one condition; ``untried`` are the states that were not tried, the fewest first.

    It passes where every state tried agrees and every deciding one was tried: those one short of acting and those just
    enough to act. The rest follows where a further channel in trip can take no vote away.
    """

    case: Case
    rule: DecisionRule
    group: VotingGroup
    states: tuple[VotingState, ...]
    untried: tuple[tuple[str, ...], ...]
    verdict: Verdict
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = "every state tried, compared with m out of n"

    @property
    def wrong(self) -> tuple[VotingState, ...]:
        """The states in which the group did otherwise than its logic."""
        return tuple(state for state in self.states if not state.agrees)

    @property
    def undecided(self) -> tuple[tuple[str, ...], ...]:
        """The deciding states that were not tried."""
        deciding = set(deciding_states(self.group.channels, needed=self.group.needed))
        return tuple(state for state in self.untried if state in deciding)

    @property
    def undetermined(self) -> dict[str, str]:
        """Nothing of a vote is null."""
        return {}


@refusing
def analyse_voting(case: Case) -> VotingResult:
    """Compare the states that were tried with the group's logic. Raises ``NothingToAnalyse`` without any."""
    group = case.channel.group
    rows = [row for row in case.checks if isinstance(row, VotingRow) and row.exclude is None]
    if group is None or not rows:
        raise NothingToAnalyse(f"{case.table_file} holds no vote of {case.channel.tag} that is not excluded.")
    states = tuple(
        VotingState(
            row=row.row,
            in_trip=row.in_trip,
            acted=row.acted,
            expected=acts(len(row.in_trip), needed=group.needed),
        )
        for row in rows
    )
    tried = {state.in_trip for state in states}
    untried = tuple(state for state in states_of(group.channels) if state not in tried)
    result = VotingResult(
        case=case,
        rule=state_rule(case.visit.decision),
        group=group,
        states=states,
        untried=untried,
        verdict=PASS,
    )
    verdict: Verdict = FAIL if result.wrong else NOT_VERIFIED if result.undecided else PASS
    judged = VotingResult(**{**vars(result), "verdict": verdict})
    return gated_checks(judged, case, (), analyse=analyse_voting)
