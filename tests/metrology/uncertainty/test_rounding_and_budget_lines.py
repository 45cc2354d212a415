"""How results are rounded, and where a stated budget line stops being usable."""

from __future__ import annotations

import math

import pytest

from vibcal_nb.analysis.readings.contributions import state_line
from vibcal_nb.metrology.uncertainty.budget_line import BudgetError, BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import CoverageError, coverage_factor, expand, last_place, rounded
from vibcal_nb.model.visit import Contribution


@pytest.mark.parametrize(
    ("value", "U", "digits", "texts"),
    [
        (12.345, 1.0, 2, ("12.3", "1.0")),
        (12.345, 0.5, 1, ("12.3", "0.5")),
        (1234.5, 120.0, 2, ("1230", "120")),
        (1250.0, 100.0, 1, ("1300", "100")),  # halves away from zero
        (-1250.0, 100.0, 1, ("-1300", "100")),
        (0.0004, 0.05, 2, ("0.000", "0.050")),
        (-0.0004, 0.05, 2, ("0.000", "0.050")),  # no minus zero
        (2.5, 0.995, 2, ("2.5", "1.0")),  # rounding carries
        (2.5, 99.6, 2, ("0", "100")),
        (3.25, 0.0, 2, ("3.25", "0")),
        (7.0, 2.25, 3, ("7.00", "2.25")),
    ],
)
def test_value_and_uncertainty_end_at_the_same_place(value, U, digits, texts):
    found = rounded(value, U, digits=digits)
    assert (found.value, found.uncertainty) == texts


@pytest.mark.parametrize(
    ("u", "digits", "place"),
    [(1.0, 1, 0), (1.0, 2, -1), (0.0996, 2, -2), (0.0994, 2, -3), (9.95, 2, 0), (123.0, 1, 2), (5e-7, 3, -9)],
)
def test_the_last_place_of_an_uncertainty(u, digits, place):
    assert last_place(u, digits=digits) == place


@pytest.mark.parametrize(("u", "digits"), [(0.0, 2), (1.0, 0), (-1.0, 2), (math.inf, 2), (math.nan, 2)])
def test_what_has_no_last_place(u, digits):
    with pytest.raises(CoverageError, match="give"):
        last_place(u, digits=digits)


@pytest.mark.parametrize("probability", [0.0, 1.0, -0.1, 1.5])
def test_a_coverage_probability_lies_between_0_and_1(probability):
    with pytest.raises(CoverageError, match="give a number between 0 and 1"):
        coverage_factor(probability=probability)
    with pytest.raises(CoverageError, match="give a number between 0 and 1"):
        expand(1.0, probability=probability)


def test_degrees_of_freedom_below_one_are_used_as_they_are():
    """Student's t on half a degree of freedom has the wider tails: k of 95 % is above the 12.706 of one."""
    assert coverage_factor(1.0) == pytest.approx(12.706, abs=5e-4)
    assert coverage_factor(0.5) > 100.0
    for nu in (0.0, -1.0, math.nan):
        with pytest.raises(CoverageError, match="give a number above 0"):
            coverage_factor(nu)


def line_of(distribution, divisor=None, **how):
    stated = Contribution(name="x", value_pct=3.0, distribution=distribution, kind="common", divisor=divisor, **how)
    return state_line(stated)


@pytest.mark.parametrize(
    ("distribution", "divisor"), [("rectangular", 3**0.5), ("triangular", 6**0.5), ("arcsine", 2**0.5)]
)
def test_a_stated_divisor_agrees_within_1_percent_with_its_distribution(distribution, divisor):
    assert line_of(distribution).standard_uncertainty == pytest.approx(3.0 / divisor)
    for share in (0.991, 1.009):
        assert line_of(distribution, share * divisor).standard_uncertainty == pytest.approx(3.0 / divisor)
    for share in (0.989, 1.011):
        with pytest.raises(BudgetError, match=f"whose divisor is {divisor:.3f}; leave it out"):
            line_of(distribution, share * divisor)


@pytest.mark.parametrize(("beta", "divisor"), [(0.0, 6**0.5), (0.5, (6 / 1.25) ** 0.5), (1.0, 3**0.5)])
def test_a_trapezoids_divisor_fixes_its_shape(beta, divisor):
    """JCGM 101:2008, 6.4.4: u^2 = a^2 (1 + beta^2)/6."""
    line = line_of("trapezoidal", divisor)
    assert line.beta == pytest.approx(beta, abs=1e-7)
    assert line.standard_uncertainty == pytest.approx(3.0 * math.sqrt((1.0 + beta**2) / 6.0))


@pytest.mark.parametrize("divisor", [None, 3**0.5 * 0.989, 6**0.5 * 1.011])
def test_no_trapezoid_has_such_a_divisor(divisor):
    with pytest.raises(BudgetError, match=r"from 1\.732 .* to 2\.449"):
        line_of("trapezoidal", divisor)


@pytest.mark.parametrize(("divisor", "beta"), [(3**0.5 * 0.991, 1.0), (6**0.5 * 1.009, 0.0)])
def test_a_divisor_rounded_beyond_a_rectangle_or_a_triangle_is_one(divisor, beta):
    assert line_of("trapezoidal", divisor).beta == beta


def test_a_normal_lines_divisor_is_its_coverage_factor():
    assert line_of("normal").standard_uncertainty == 3.0
    line = line_of("normal", 2.0, degrees_of_freedom=9.0, source="certificate")
    assert (line.k, line.standard_uncertainty, line.degrees_of_freedom, line.source) == (2.0, 1.5, 9.0, "certificate")
    assert line_of("rectangular").degrees_of_freedom == math.inf
    turned = line.scaled_by(-2.0)
    assert (turned.contribution, turned.sensitivity_coefficient) == (3.0, -2.0)


GOOD = {"name": "x", "value": 1.0, "kind": "common"}


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"value": -0.1}, "finite number of zero or more"),
        ({"value": math.inf}, "finite number of zero or more"),
        ({"sensitivity_coefficient": math.nan}, "give a finite number"),
        ({"degrees_of_freedom": 0.0}, "a number above 0, or infinity"),
        ({"k": 0.0}, "a finite number above 0"),
        ({"k": math.inf}, "a finite number above 0"),
        ({"distribution": "rectangular", "k": 2.0}, "belongs to a normal distribution"),
        ({"beta": 0.5}, "belongs to a trapezoidal distribution"),
        ({"distribution": "trapezoidal"}, "from 0 to 1"),
        ({"distribution": "trapezoidal", "beta": -0.01}, "from 0 to 1"),
        ({"distribution": "trapezoidal", "beta": 1.01}, "from 0 to 1"),
        ({"distribution": "gaussian"}, "is not known; take one of"),
        ({"kind": "shared"}, "take 'common' or 'independent'"),
    ],
    ids=str,
)
def test_a_line_that_cannot_be_used_says_why(wrong, said):
    with pytest.raises(BudgetError, match=said):
        BudgetLine(**(GOOD | wrong))


@pytest.mark.parametrize(
    "good",
    [
        {"value": 0.0}, {"degrees_of_freedom": 0.5}, {"k": 0.5}, {"sensitivity_coefficient": 0.0},
        {"distribution": "trapezoidal", "beta": 0.0}, {"distribution": "trapezoidal", "beta": 1.0},
    ],
    ids=str,
)  # fmt: skip
def test_a_line_at_its_bounds_can_be_used(good):
    assert BudgetLine(**(GOOD | good)).contribution >= 0.0
