"""Minimax (Chebyshev) lines: classical results, and the kinds of linearity of ANSI/ISA-51.1-1979 (R1993)."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from vibcal_nb.metrology.straight_line.nonlinearity import (
    MinimaxLine,
    independent_line,
    least_squares_line,
    nonlinearity,
    terminal_based_line,
    zero_based_line,
)

# fmt: off
MINIMAX = [  # y(x) on [0, 1]; line a + b x, max |dev|; P. L. Chebyshev, recomputed by linear programming
    {"f": lambda x: x**2, "a": -0.125, "b": 1.0, "dev": 0.125, "touches": (0.0, 0.5, 1.0)},
    {"f": np.sqrt, "a": 0.125, "b": 1.0, "dev": 0.125, "touches": (0.0, 0.25, 1.0)},
    # textbook 0.8941 + 1.7183 x, 0.106
    {"f": np.exp, "a": 0.8940665837422168, "b": 1.718281828459045, "dev": 0.10593341625778319,
     "touches": (0.0, math.log(math.e - 1), 1.0)}]
X2_GRID = {"x": [0, 0.25, 0.5, 0.75, 1.0], "y": [0, 0.0625, 0.25, 0.5625, 1.0],
           "independent_pct": 12.5, "terminal_pct": 25.0, "zero_based_pct": 100/6, "zero_based_slope": 5/6,
           "least_squares": (-0.125, 1.0)}
# 2 sqrt 2 - 2, 3 - 2 sqrt 2
X2_CONT = {"zero_based_slope": 0.8284271247461903, "zero_based_dev": 0.1715728752538097,
           "least_squares": (-1/6, 1.0), "ls_maxdev": 1/6}
# fmt: on


@pytest.mark.parametrize("case", MINIMAX, ids=["square", "root", "exponential"])
def test_classical_best_uniform_lines(case: dict) -> None:
    x = np.unique(np.concatenate([np.linspace(0, 1, 101), case["touches"]]))
    line = independent_line(x, case["f"](x))
    assert line.intercept == pytest.approx(case["a"], rel=1e-9)
    assert line.slope == pytest.approx(case["b"], rel=1e-9)
    assert line.max_deviation == pytest.approx(case["dev"], rel=1e-9)
    assert tuple(x[list(line.touches)]) == pytest.approx(case["touches"])


def test_the_four_kinds_on_the_square() -> None:
    lines = nonlinearity(X2_GRID["x"], X2_GRID["y"])  # the span is 1, so that % of span is 100 times the deviation
    assert list(lines) == ["independent", "terminal-based", "zero-based", "least-squares"]
    assert 100 * lines["independent"].max_deviation == pytest.approx(X2_GRID["independent_pct"], rel=1e-12)
    assert 100 * lines["terminal-based"].max_deviation == pytest.approx(X2_GRID["terminal_pct"], rel=1e-12)
    assert 100 * lines["zero-based"].max_deviation == pytest.approx(X2_GRID["zero_based_pct"], rel=1e-12)
    assert lines["zero-based"].slope == pytest.approx(X2_GRID["zero_based_slope"], rel=1e-12)
    least_squares = lines["least-squares"]
    assert (least_squares.intercept, least_squares.slope) == pytest.approx(X2_GRID["least_squares"], rel=1e-12)
    assert all(line.kind == kind for kind, line in lines.items())


def test_kinds_cannot_be_changed_in_the_mapping() -> None:
    with pytest.raises(TypeError):
        nonlinearity(X2_GRID["x"], X2_GRID["y"])["independent"] = None  # type: ignore[index]


def test_zero_based_line_of_the_continuous_square() -> None:
    x = np.unique(np.concatenate([np.linspace(0, 1, 101), [math.sqrt(2) - 1]]))  # touches at b/2 and at 1
    line = zero_based_line(x, x**2)
    assert line.intercept == 0.0
    assert line.slope == pytest.approx(X2_CONT["zero_based_slope"], rel=1e-9)
    assert line.max_deviation == pytest.approx(X2_CONT["zero_based_dev"], rel=1e-9)
    assert tuple(x[list(line.touches)]) == pytest.approx((math.sqrt(2) - 1, 1.0))


def test_least_squares_line_tends_to_that_of_the_continuous_square() -> None:
    """On 0, 1/n ... 1 the least-squares line of x^2 is x - 1/6 + 1/(6 n) exactly, and -1/6 in the limit."""
    n = 1000
    x = np.arange(n + 1) / n
    line = least_squares_line(x, x**2)
    assert line.slope == pytest.approx(X2_CONT["least_squares"][1], rel=1e-9)
    assert line.intercept == pytest.approx(X2_CONT["least_squares"][0] + 1 / (6 * n), rel=1e-9)
    assert line.max_deviation == pytest.approx(X2_CONT["ls_maxdev"] - 1 / (6 * n), rel=1e-9)


def linear_programme(x: np.ndarray, y: np.ndarray, *, through_zero: bool) -> float:
    """Smallest e with |y - a - b x| <= e, from scipy.optimize.linprog (HiGHS)."""
    a_column = np.zeros_like(x) if through_zero else np.ones_like(x)
    design = np.column_stack([a_column, x])
    e = np.ones((x.size, 1))
    result = linprog(
        [0, 0, 1],
        A_ub=np.block([[design, -e], [-design, -e]]),
        b_ub=np.concatenate([y, -y]),
        bounds=[(None, None), (None, None), (0, None)],
    )
    assert result.success
    return float(result.fun)


def exact_independent_deviation(x: list[float], y: list[float]) -> Fraction:
    """Largest of the smallest deviations of any three points, or of two at one x (de la Vallée-Poussin)."""
    points = sorted(zip(map(Fraction, x), map(Fraction, y), strict=True))
    worst = Fraction(0)
    for (x1, y1), (x2, y2) in combinations(points, 2):
        if x1 == x2:
            worst = max(worst, abs(y2 - y1) / 2)
    for (x1, y1), (x2, y2), (x3, y3) in combinations(points, 3):
        if x1 < x3:
            worst = max(worst, abs(y1 + (y3 - y1) * (x2 - x1) / (x3 - x1) - y2) / 2)
    return worst


def exact_zero_based_deviation(x: list[float], y: list[float]) -> Fraction:
    """The largest of the smallest deviations of any two points from a line through zero."""
    points = list(zip(map(Fraction, x), map(Fraction, y), strict=True))
    worst = max((abs(y1) for x1, y1 in points if x1 == 0), default=Fraction(0))
    for (x1, y1), (x2, y2) in combinations(points, 2):
        if x1 or x2:
            worst = max(worst, abs(x1 * y2 - x2 * y1) / (abs(x1) + abs(x2)))
    return worst


levels = st.integers(-20, 20).map(lambda n: n / 2)  # coarse, so that repeated x and collinear points are common
readings = st.integers(-1000, 1000).map(lambda n: n / 64)
point_lists = st.lists(st.tuples(levels, readings), min_size=2, max_size=12)


def split(points: list[tuple[float, float]]) -> tuple[list[float], list[float]]:
    return [x for x, _ in points], [y for _, y in points]


def assert_line_has_its_deviation(line: MinimaxLine, x: list[float], y: list[float]) -> None:
    deviations = np.array(y) - line.intercept - line.slope * np.array(x)
    np.testing.assert_allclose(line.deviations, deviations, rtol=0, atol=1e-12 * (1 + np.abs(y).max()))
    assert line.max_deviation == np.abs(line.deviations).max()
    assert line.touches
    assert all(abs(line.deviations[i]) == pytest.approx(line.max_deviation, rel=1e-8) for i in line.touches)


@settings(deadline=None, max_examples=200)
@given(point_lists.filter(lambda points: len({x for x, _ in points}) > 1))
def test_independent_line_is_exact(points: list[tuple[float, float]]) -> None:
    x, y = split(points)
    line = independent_line(x, y)
    assert line.max_deviation == pytest.approx(float(exact_independent_deviation(x, y)), rel=1e-12, abs=3e-14)
    assert_line_has_its_deviation(line, x, y)


@settings(deadline=None, max_examples=200)
@given(point_lists.filter(lambda points: any(x for x, _ in points)))
def test_zero_based_line_is_exact(points: list[tuple[float, float]]) -> None:
    x, y = split(points)
    line = zero_based_line(x, y)
    assert line.max_deviation == pytest.approx(float(exact_zero_based_deviation(x, y)), rel=1e-12, abs=3e-14)
    assert line.intercept == 0.0
    assert_line_has_its_deviation(line, x, y)


finite = st.floats(-10, 10, allow_subnormal=False)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(finite, finite), min_size=2, max_size=15).filter(lambda p: np.ptp([x for x, _ in p]) > 0.1))
def test_lines_against_linear_programming(points: list[tuple[float, float]]) -> None:
    x, y = map(np.array, split(points))
    assert independent_line(x, y).max_deviation == pytest.approx(linear_programme(x, y, through_zero=False), abs=1e-6)
    assert zero_based_line(x, y).max_deviation == pytest.approx(linear_programme(x, y, through_zero=True), abs=1e-6)


@settings(deadline=None)
@given(point_lists.filter(lambda points: len({x for x, _ in points}) > 1))
def test_no_line_deviates_less_than_the_independent_one(points: list[tuple[float, float]]) -> None:
    x, y = split(points)
    best = independent_line(x, y).max_deviation
    for line in (terminal_based_line(x, y), least_squares_line(x, y)):
        assert line.max_deviation >= best * (1 - 1e-12) - 1e-13
        assert_line_has_its_deviation(line, x, y)


@settings(deadline=None)
@given(point_lists.filter(lambda points: len({x for x, _ in points}) > 1), st.randoms(use_true_random=False))
def test_the_order_of_the_readings_does_not_matter(points: list[tuple[float, float]], random) -> None:
    shuffled = points.copy()
    random.shuffle(shuffled)
    for make in (independent_line, terminal_based_line, least_squares_line):
        line, other = make(*split(points)), make(*split(shuffled))
        found = (line.intercept, line.slope, line.max_deviation)
        assert found == pytest.approx((other.intercept, other.slope, other.max_deviation), rel=1e-11, abs=1e-11)


@settings(deadline=None)
@given(
    point_lists.filter(lambda points: len({x for x, _ in points if x}) > 1),
    st.sampled_from([25.4, 1e-3, -9.80665]),
    st.sampled_from([1000.0, 1e-9, -0.7071]),
)
def test_units_carry_through(points: list[tuple[float, float]], x_unit: float, y_unit: float) -> None:
    x, y = map(np.array, split(points))
    for make in (independent_line, terminal_based_line, zero_based_line, least_squares_line):
        line, other = make(x, y), make(x * x_unit, y * y_unit)
        scale = abs(y_unit)
        assert other.max_deviation == pytest.approx(line.max_deviation * scale, rel=1e-9, abs=1e-12 * scale)
        assert other.slope == pytest.approx(line.slope * y_unit / x_unit, rel=1e-9, abs=1e-11 * scale / abs(x_unit))


def test_two_points_lie_on_every_line_but_the_zero_based() -> None:
    lines = nonlinearity([1.0, 3.0], [2.0, 8.0])
    for kind in ("independent", "terminal-based", "least-squares"):
        assert lines[kind].max_deviation == pytest.approx(0.0, abs=1e-15)
        assert (lines[kind].intercept, lines[kind].slope) == pytest.approx((-1.0, 3.0))
    assert lines["zero-based"].max_deviation == pytest.approx(0.5)  # |1 * 8 - 3 * 2| / (1 + 3)


def test_collinear_points_all_touch() -> None:
    line = independent_line([1, 2, 3, 4], [3, 5, 7, 9])
    assert (line.intercept, line.slope, line.max_deviation) == (1.0, 2.0, 0.0)
    assert line.touches == (0, 1, 2, 3)


def test_repeated_x_alone_can_rule_the_deviation_and_the_middle_slope_is_given() -> None:
    """Two readings at x = 0 differ by 2: any slope from -1 to 1 does equally well past (1, 0)."""
    line = independent_line([0, 0, 1], [-1, 1, 0])
    assert line.max_deviation == 1.0
    assert (line.intercept, line.slope) == pytest.approx((0.0, 0.0), abs=1e-15)
    assert line.touches == (0, 1)


def test_terminal_based_line_goes_through_the_mean_of_repeats() -> None:
    line = terminal_based_line([0, 5, 10, 10], [0.0, 5.0, 9.9, 10.3])
    assert (line.intercept, line.slope) == pytest.approx((0.0, 1.01))
    assert line.max_deviation == pytest.approx(0.2)
    assert line.touches == (2, 3)


def test_terminal_points_that_are_one_reading_deviate_by_exactly_zero() -> None:
    x, y = [0.1, 0.7, 1.3], [0.3, 2.2, 4.1]
    assert terminal_based_line(x, y).deviations[0] == 0.0
    assert terminal_based_line(x, y).deviations[2] == 0.0


def test_tiny_deviations_far_from_zero_keep_their_digits() -> None:
    """A bow of 2^-20 on readings of 2^26: exact in float64, and found exactly."""
    x = 2.0**26 + np.array([0.0, 1, 2, 3, 4])
    y = 2.0**26 + 3 * np.array([0.0, 1, 2, 3, 4]) + 2.0**-20 * np.array([0.0, 0, 1, 0, 0])
    line = independent_line(x, y)
    assert line.max_deviation == 2.0**-21
    assert line.slope == 3.0
    assert line.touches == (0, 2, 4) or line.touches == (0, 1, 2, 3, 4)


def test_one_reading_is_enough_for_the_zero_based_line() -> None:
    line = zero_based_line([4.0], [10.0])
    assert (line.slope, line.max_deviation) == (2.5, 0.0)


def test_zero_based_line_at_one_repeated_level_takes_the_middle() -> None:
    line = zero_based_line([2.0, 2.0, 2.0], [3.9, 4.0, 4.3])
    assert (line.slope, line.max_deviation) == pytest.approx((2.05, 0.2))


@pytest.mark.parametrize("make", [independent_line, terminal_based_line, least_squares_line, nonlinearity])
def test_readings_at_one_level_only_are_refused(make) -> None:
    with pytest.raises(ValueError, match="All 3 points lie at x = 5: a slope needs readings at two or more"):
        make([5, 5, 5], [1, 2, 3])


def test_zero_based_line_of_readings_at_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="All 2 points lie at x = 0"):
        zero_based_line([0, 0], [1, 2])


def test_unlike_lengths_are_refused() -> None:
    with pytest.raises(ValueError, match="same length"):
        independent_line([1, 2, 3], [1, 2])


def test_deviations_are_read_only() -> None:
    with pytest.raises(ValueError, match="read-only"):
        independent_line([1, 2, 3], [1, 2, 4]).deviations[0] = 1.0


@pytest.mark.parametrize("make", [independent_line, terminal_based_line, zero_based_line, least_squares_line])
def test_what_cannot_be_computed_is_refused_and_not_a_nan(make) -> None:
    with pytest.raises(ValueError, match="differ too widely in size: check their units"):
        make([1e-300, 2e-300, 3e-300], [1e300, 2e300, 4e300])


@pytest.mark.parametrize("unit", [1e-200, 1e-160, 1e160, 1e200])
def test_units_of_any_size(unit: float) -> None:
    x, y = np.array([1.0, 2.0, 3.0, 4.0, 5.0]), np.array([1.0, 2.5, 2.8, 4.1, 5.3])
    for make in (independent_line, terminal_based_line, zero_based_line):
        line, other = make(x, y), make(x * unit, y * unit)
        assert (other.intercept, other.slope * unit, other.max_deviation) == pytest.approx(
            (line.intercept * unit, line.slope * unit, line.max_deviation * unit), rel=1e-12, abs=0
        )
        assert other.touches == line.touches


def test_a_line_through_zero_needs_a_reading():
    with pytest.raises(ValueError, match=r"0 point\(s\) given: this line needs at least 1"):
        zero_based_line([], [])
    with pytest.raises(ValueError, match=r"1 point\(s\) given: this line needs at least 2"):
        independent_line([1.0], [2.0])
    assert zero_based_line([2.0], [3.0]).slope == 1.5
