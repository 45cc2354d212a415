"""All states of the usual logics, by their definition: at least m of n."""

from __future__ import annotations

from math import comb

import pytest

from vibcal_nb.metrology.switching.voting_logic import acts, deciding_states, states_of

# closed form: n of the channels in trip
VOTES = {
    "1oo1": lambda n: n >= 1,
    "1oo2": lambda n: n >= 1,
    "2oo2": lambda n: n >= 2,
    "2oo3": lambda n: n >= 2,
    "2oo4": lambda n: n >= 2,
}


@pytest.mark.parametrize("logic", VOTES)
def test_every_state_of_a_logic(logic):
    needed, count = int(logic[0]), int(logic[-1])
    states = list(states_of("ABCD"[:count]))
    assert len(states) == len(set(states)) == 2**count
    for state in states:
        assert acts(len(state), needed=needed) == VOTES[logic](len(state))


@pytest.mark.parametrize("logic", VOTES)
def test_the_deciding_states_tell_a_logic_from_every_other_and_each_channel_from_none(logic):
    needed, count = int(logic[0]), int(logic[-1])
    deciding = list(deciding_states("ABCD"[:count], needed=needed))
    assert len(deciding) == comb(count, needed) + comb(count, needed - 1)
    said = {state: len(state) >= needed for state in deciding}
    for other in range(1, count + 1):
        if other != needed:
            assert any((len(state) >= other) != acted for state, acted in said.items())
    for lost in "ABCD"[:count]:  # a channel that is not connected
        assert any((len(set(state) - {lost}) >= needed) != acted for state, acted in said.items())
