"""A set point read off the readings around it: closed forms, and curves that bend one way all along."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.readings.cases import CHANNEL, make_case
from vibcal_nb.analysis.channel.shown_levels import (
    ShownLevel,
    find_bracket,
    just_beyond,
    read_off,
    shown_levels,
    silent_beyond,
)
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.model.asset import Rotor

ONE = replace(CHANNEL, rotors=(Rotor(name="turbine", speed_hz=50.0),))


def levels_of(x, y, u=0.0, U=0.0):
    return tuple(ShownLevel(x=float(a), top=float(a), y=float(b), u_x=u, U=U) for a, b in zip(x, y, strict=True))


def result_of(levels, outputs):
    case = make_case("linearity", np.full(len(levels), 50.0), outputs, applied=np.asarray(levels), channel=ONE)
    return analyse_linearity(case)


def test_readings_within_3_percent_are_one_level_and_their_scatter_counts():
    """Outputs of 39, 40, 41 mV at 10 mm/s: 1 mV over sqrt(3), which is 0.144 mm/s."""
    result = result_of([2.0, 10.0, 10.0, 10.0, 20.0], [8.0, 39.0, 40.0, 41.0, 80.0])
    low, middle, high = shown_levels(result, result.frequencies[0])
    assert (low.x, middle.x, high.x) == (2.0, 10.0, 20.0)
    assert (middle.y, middle.u_x) == (pytest.approx(40.0), pytest.approx(0.25 / math.sqrt(3.0), rel=1e-9))
    points = [p for p in result.frequencies[0].points if p.x == 20.0]
    own_pct = math.sqrt(points[0].expanded.u ** 2 - points[0].common_u_pct ** 2)
    assert high.u_x == pytest.approx(0.2 * own_pct)
    assert pytest.approx(0.2 * points[0].expanded.U) == high.U


def test_levels_of_a_group_keep_their_highest():
    result = result_of([9.9, 10.0, 10.1, 20.0], [39.6, 40.0, 40.4, 80.0])
    low, _ = shown_levels(result, result.frequencies[0])
    assert (low.x, low.top) == (pytest.approx(10.0), 10.1)


def test_the_bracket_is_where_the_output_first_comes_to_it():
    levels = levels_of([1, 2, 3, 4, 5], [4.0, 8.0, 12.0, 11.0, 20.0])
    bracket = find_bracket(levels, 10.0)
    assert (bracket.outer_below.x, bracket.below.x, bracket.above.x, bracket.outer_above.x) == (1, 2, 3, 4)
    assert find_bracket(levels, 12.0).above.x == 3  # the output that comes to it exactly has come to it
    assert find_bracket(levels, 20.1) is None
    assert find_bracket(levels, 3.9) is None
    assert find_bracket((), 3.9) is None


def test_between_two_levels_it_is_read_off_straight_with_their_uncertainties():
    """A quarter of the way: 0.75 and 0.25 of both; on a straight line no bend is left open."""
    levels = levels_of([5, 10, 14, 20], [20.0, 40.0, 56.0, 80.0], u=0.02)
    level, u = read_off(find_bracket(levels, 44.0), 44.0)
    assert level == pytest.approx(11.0)
    assert u == pytest.approx(0.02 * math.hypot(0.75, 0.25))


def test_of_two_levels_alone_all_between_them_is_open():
    level, u = read_off(find_bracket(levels_of([10, 14], [40.0, 56.0]), 44.0), 44.0)
    assert (level, u) == (pytest.approx(11.0), pytest.approx(2.0 / math.sqrt(3.0)))


def test_beside_a_limit_the_straight_part_bounds_what_is_open():
    """A loop that stops at 60 mV: below it the readings are exact, whatever the level above does."""
    x = np.array([2.0, 5.0, 9.0, 14.0, 18.0, 20.0])
    level, u = read_off(find_bracket(levels_of(x, np.minimum(4.0 * x, 60.0)), 44.0), 44.0)
    assert level == pytest.approx(11.0)
    assert u == pytest.approx(0.0, abs=1e-12)


@given(
    st.lists(st.floats(0.5, 3.0), min_size=4, max_size=8),
    st.floats(0.05, 0.95),
    st.floats(0.2, 3.0),
    st.booleans(),
)
def test_of_a_curve_that_bends_one_way_the_true_level_lies_within_the_half_width(steps, share, power, falling):
    """x = y^p over the readings' own range: sqrt(3) u is the half-width, and the truth lies in it."""
    y = np.cumsum(steps)
    power = 1.0 / power if falling else power
    x = y**power
    output = float(y[1] + share * (y[-2] - y[1])) if len(y) > 3 else float(y[1])
    level, u = read_off(find_bracket(levels_of(x, y), output), output)
    assert abs(level - output**power) <= math.sqrt(3.0) * u * (1.0 + 1e-9) + 1e-9


def test_a_little_beyond_the_highest_level_the_last_two_and_zero_say_where():
    """71.28 mV at 18, 56.56 at 14: slopes of 3.68 and 3.96 lead to 18.1957 and 18.1818."""
    level, u = just_beyond(levels_of([9, 14, 18], [36.0, 56.56, 71.28]), 72.0)
    ends = 18.0 + 0.72 / 3.68, 18.0 * 72.0 / 71.28
    assert level == pytest.approx(sum(ends) / 2.0)
    assert u == pytest.approx(abs(ends[0] - ends[1]) / 2.0 / math.sqrt(3.0))
    noisy = just_beyond(levels_of([9, 14, 18], [36.0, 56.0, 71.28], u=0.1), 72.0)
    assert noisy[1] > 0.1


@pytest.mark.parametrize("top", [69.979, 60.0, -1.0])
def test_a_channel_that_flattens_goes_not_on(top):
    """From 69.9 to 69.979 mV: 72 is far off; nor does one level say where it leads."""
    assert just_beyond(levels_of([9, 17.5, 18], [36.0, 69.9, top]), 72.0) is None
    assert just_beyond(levels_of([18], [71.9]), 72.0) is None


@pytest.mark.parametrize(
    ("top", "output", "silent"),
    [(20.0, 70.0, True), (20.0, 72.0, False), (19.2, 70.0, True), (19.0, 70.0, False), (18.0, 60.0, False)],
)
def test_it_is_silent_beyond_tolerance_and_uncertainty_of_the_highest_level(top, output, silent):
    """Set at 18 mm/s, 72 mV; ±5 % of 19.0 leave 18.05, less U of 0.1 17.95."""
    levels = levels_of([5.0, 10.0, top], [20.0, 40.0, output], U=0.1)
    found = silent_beyond(levels, output=72.0, set_level=18.0, allowed=lambda x: 0.05 * x)
    assert (found is not None) == silent
    assert found is None or found.x == top


def test_what_it_indicates_at_its_highest_level_it_indicates():
    """Low by a third, it comes to it later and is not silent; what falls back at the highest level is."""
    late = levels_of([5.0, 20.0, 30.0], [13.0, 53.0, 80.0])
    fallen = levels_of([5.0, 20.0, 30.0], [20.0, 80.0, 40.0])
    how = {"output": 72.0, "set_level": 18.0, "allowed": lambda x: 0.05 * x}
    assert silent_beyond(late, **how) is None
    assert silent_beyond(fallen, **how).x == 30.0
    assert silent_beyond((), **how) is None
