"""The margin of a judged value: what is left to the nearest limit, in % of the room there was."""

from __future__ import annotations

import math

import pytest

from vibcal_nb.analysis.site.margins import margin_of
from vibcal_nb.metrology.conformity.conformance_probability import ToleranceLimits
from vibcal_nb.metrology.conformity.decision import DecisionRule, decide
from vibcal_nb.metrology.uncertainty.coverage import expand


def margin(value, lower, upper):
    found = decide(value, expand(0.1, math.inf), ToleranceLimits(lower=lower, upper=upper), DecisionRule())
    return margin_of("sensitivity", found)


@pytest.mark.parametrize(
    ("value", "lower", "upper", "left"),
    [
        (3.0, -5.0, 5.0, 40.0),  # 2 of 5
        (-3.0, -5.0, 5.0, 40.0),
        (5.0, -5.0, 5.0, 0.0),
        (-6.0, -5.0, 5.0, -20.0),
        (70.0, 63.0, 79.0, 87.5),  # 7 of 8
        (4.0, None, 10.0, 60.0),
        (12.0, None, 10.0, -20.0),
        (70.0, 50.0, None, 40.0),
        (45.0, 50.0, None, -10.0),
    ],
)
def test_what_is_left_of_the_room(value, lower, upper, left):
    found = margin(value, lower, upper)
    assert (found.name, found.value_pct) == ("sensitivity", value)
    assert found.margin_pct == pytest.approx(left, abs=1e-9)


@pytest.mark.parametrize(("lower", "upper"), [(0.0, None), (None, 0.0), (5.0, 5.0)])
def test_no_room_no_margin(lower, upper):
    assert margin(1.0, lower, upper) is None
