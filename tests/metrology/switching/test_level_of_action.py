"""The level of action from levels held: JCGM 100:2008, 4.3.7, and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vibcal_nb.metrology.switching.level_of_action import ActionBracket, ActionError, combine_approaches

# arithmetic by closed form: width over the square root of 12
BRACKET = {"not_acted": 11.0, "acted": 11.3, "estimate": 11.15, "u": 0.08660254037844387}
LEVEL = st.floats(0.1, 1e3)


def test_no_action_at_11_and_action_at_11_3():
    found = combine_approaches([ActionBracket(not_acted=BRACKET["not_acted"], acted=BRACKET["acted"])])
    assert found.estimate == pytest.approx(BRACKET["estimate"], rel=1e-12)
    assert found.standard_uncertainty == pytest.approx(BRACKET["u"], rel=1e-12)
    assert found.agree


def test_alone_its_interval_is_that_of_a_rectangle():
    """A value anywhere between two limits lies within 95 % of half the width of the middle (JCGM 100:2008, 4.3.7)."""
    found = combine_approaches([ActionBracket(not_acted=11.0, acted=11.3)])
    expanded = found.expanded(u_level=0.0, u_approach=0.0)
    assert pytest.approx(0.95 * 0.15, rel=1e-9) == expanded.U
    assert expanded.dominated_by is not None


def test_with_a_wide_reference_it_is_that_of_a_normal_distribution():
    found = combine_approaches([ActionBracket(not_acted=11.0, acted=11.01)])
    expanded = found.expanded(u_level=1.0, u_approach=0.0)
    assert pytest.approx(1.959964, rel=1e-5) == expanded.k  # a table's quantile of the normal distribution


def test_approaches_that_agree_close_in():
    """What did not act and what did, over all of them."""
    two = [ActionBracket(not_acted=11.0, acted=11.3), ActionBracket(not_acted=11.1, acted=11.4)]
    found = combine_approaches(two)
    assert found.estimate == pytest.approx(11.2)
    assert found.standard_uncertainty == pytest.approx(0.2 / math.sqrt(12.0))


def test_approaches_that_contradict_one_another_scatter():
    """Closed form: middles 10.5, 11.5, 12.5 have the mean 11.5, and the standard deviation 1 over the root of three."""
    three = [ActionBracket(not_acted=x, acted=x + 1.0) for x in (10.0, 11.0, 12.0)]
    found = combine_approaches(three)
    assert not found.agree
    assert found.estimate == pytest.approx(11.5)
    assert (found.u_scatter, found.degrees_of_freedom) == (pytest.approx(1.0 / math.sqrt(3.0)), 2.0)
    assert found.u_bracket == 0.0
    # Student's t for 2 degrees of freedom at 95 %, from a table: 4.303
    assert found.expanded(u_level=0.0, u_approach=0.0).k == pytest.approx(4.303, abs=5e-4)


@given(low=LEVEL, width=st.floats(1e-3, 10.0))
def test_what_acts_where_the_level_falls_is_the_mirror_image(low, width):
    rising = combine_approaches([ActionBracket(not_acted=low, acted=low + width)])
    falling = combine_approaches([ActionBracket(not_acted=low + width, acted=low)], sign=-1.0)
    assert falling.estimate == pytest.approx(rising.estimate)
    assert falling.standard_uncertainty == pytest.approx(rising.standard_uncertainty)


@given(low=LEVEL, width=st.floats(1e-3, 10.0), u=st.floats(1e-3, 10.0))
def test_an_uncertain_reference_never_makes_it_better_known(low, width, u):
    found = combine_approaches([ActionBracket(not_acted=low, acted=low + width)])
    alone, beside = found.expanded(u_level=0.0, u_approach=0.0), found.expanded(u_level=u, u_approach=0.0)
    assert beside.U >= alone.U * (1.0 - 1e-6)  # what softens the edges of a rectangle hardly widens it
    assert beside.u == pytest.approx(np.hypot(width / np.sqrt(12.0), u))


def test_without_an_approach_there_is_no_level():
    with pytest.raises(ActionError, match="both sides"):
        combine_approaches([])
