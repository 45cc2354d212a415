"""Votes of a group as records know them: their quantities."""

from __future__ import annotations

from typing import TypedDict

from vibcal_nb.analysis.relay.voting import VotingResult, analyse_voting
from vibcal_nb.model.names import VOTING
from vibcal_nb.records.quantities.analysis import analysis_of_test


class VotedStateEntry(TypedDict):
    """A state that was tried."""

    row: int
    """Row of the reading table."""
    in_trip: list[str]
    """The channels in trip."""
    acted: bool
    """Whether the group acted."""
    expected: bool
    """Whether its logic does."""


class VotingEntry(TypedDict):
    """The votes of a group; the entry's channel is the group."""

    logic: str
    """How many of how many."""
    set_point: str
    """The set point that votes."""
    channels: list[str]
    """The channels that vote."""
    states: list[VotedStateEntry]
    """The states that were tried."""
    untried: list[list[str]]
    """The states that were not, as the channels in trip."""
    verdict: str
    """Verdict: pass needs every state tried to agree, and those one short of acting and just enough to be tried."""


def _quantities(result: VotingResult) -> VotingEntry:
    return VotingEntry(
        logic=result.group.logic,
        set_point=result.group.set_point,
        channels=list(result.group.channels),
        states=[
            VotedStateEntry(row=item.row, in_trip=list(item.in_trip), acted=item.acted, expected=item.expected)
            for item in result.states
        ],
        untried=[list(state) for state in result.untried],
        verdict=result.verdict,
    )


ANALYSIS = analysis_of_test(
    VOTING,
    analyse_voting,
    notebook="voting.ipynb",
    method="states tried one by one, compared with m out of n",
    quantities=_quantities,
)
