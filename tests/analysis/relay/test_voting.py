"""Votes: every state of the usual logics, faults of a group, and what was not tried."""

from __future__ import annotations

from itertools import combinations

import pytest

from tests.support.analyses.relay import voting_case
from vibcal_nb.analysis.relay.voting import analyse_voting
from vibcal_nb.records.quantities.result_entry import result_entry

LOGICS = {"1oo1": 1, "1oo2": 1, "2oo2": 2, "2oo3": 2, "2oo4": 2}  # how many have to be in trip, by definition


def states(logic):
    tags = ("T1", "T2", "T3", "T4")[: int(logic[-1])]
    return [state for count in range(len(tags) + 1) for state in combinations(tags, count)]


@pytest.mark.parametrize("logic", LOGICS)
def test_a_group_that_is_right_passes_in_every_state(logic):
    result = analyse_voting(voting_case(logic, [(s, len(s) >= LOGICS[logic]) for s in states(logic)]))
    assert (result.verdict, result.untried) == ("pass", ())
    assert all(state.expected == (len(state.in_trip) >= LOGICS[logic]) for state in result.states)


@pytest.mark.parametrize("logic", LOGICS)
def test_any_one_state_that_is_wrong_fails(logic):
    for wrong in states(logic):
        tried = [(s, (len(s) >= LOGICS[logic]) != (s == wrong)) for s in states(logic)]
        result = analyse_voting(voting_case(logic, tried))
        assert (result.verdict, [state.in_trip for state in result.wrong]) == ("fail", [wrong])


def test_a_deciding_state_that_was_not_tried_is_named_and_keeps_a_pass_from_being_said():
    tried = [(s, len(s) >= 2) for s in states("2oo3") if s != ("T1", "T3")]
    result = analyse_voting(voting_case("2oo3", tried))
    assert (result.verdict, result.untried) == ("not verified", (("T1", "T3"),))
    entry = result_entry(result)
    assert "T1 + T3" in entry["statement"]
    assert set(entry["quantities"]) >= {"logic", "states", "verdict"}
    assert set(entry["quantities"]["states"][0]) >= {"in_trip", "acted", "expected"}


def test_states_that_decide_nothing_may_stay_untried():
    tried = [(s, len(s) >= 2) for s in states("2oo3") if len(s) in (1, 2)]
    assert analyse_voting(voting_case("2oo3", tried)).verdict == "pass"
