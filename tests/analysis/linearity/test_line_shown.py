"""What the line at one frequency shows beside its slope, in closed form: uncertainties of shape, zero and budget."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from tests.support.readings.cases import CHANNEL, make_case
from vibcal_nb.analysis.linearity.linearity import analyse_linearity

LEVELS = np.array([2.0, 5.0, 10.0, 15.0, 20.0])


def analysed(output, *, levels=LEVELS, channel=CHANNEL, hz=50.0, ways=None, **how):
    case = make_case("linearity", np.full(len(levels), hz), output, applied=levels, channel=channel, **how)
    if ways is not None:
        case = replace(case, readings=tuple(replace(r, direction=w) for r, w in zip(case.readings, ways, strict=True)))
    return analyse_linearity(case)


def line_of(output, **how):
    return analysed(output, **how).frequencies[0].line


def test_u_of_the_nonlinearity_is_that_of_the_least_certain_reading():
    """Of the highest: its settling of 0.2 % and cable strain of 0.1 % (rectangular), and both resolutions of 0.01."""
    line = line_of(4.0 * LEVELS, decimals=2)
    own = math.hypot(0.2, 0.1 / math.sqrt(3.0)) / 100.0 * 80.0
    u = 100.0 * math.hypot(own, 0.01 / math.sqrt(12.0), 4.0 * 0.01 / math.sqrt(12.0)) / 80.0
    assert line.span == 80.0
    assert line.nonlinearity_expanded.u == pytest.approx(u, rel=1e-6)
    assert pytest.approx(stats.norm.ppf(0.975) * u, rel=1e-6) == line.nonlinearity_expanded.U


@pytest.mark.parametrize("added", [0.2, -0.2, 0.0])
def test_an_intercept_is_tested_as_a_normal_quantity(added):
    line = line_of(4.0 * LEVELS + added, decimals=4)
    assert line.intercept == pytest.approx(added, abs=1e-6)
    assert line.u_intercept == pytest.approx(line.fit.u_intercept)
    assert line.intercept_p_value == pytest.approx(2.0 * stats.norm.sf(abs(line.intercept) / line.u_intercept))
    assert line.intercept_significant == (line.intercept_p_value < 0.01)


def test_a_live_zero_is_read_with_the_readouts_gain_in_the_intercept_too():
    """0.1 % of the 50 mV that stand for nothing."""
    plain, live = line_of(4.0 * LEVELS), line_of(4.0 * LEVELS + 50.0, channel=replace(CHANNEL, output_zero=50.0))
    assert live.u_intercept == pytest.approx(math.hypot(plain.u_intercept, 0.05), rel=1e-6)
    assert live.intercept == pytest.approx(0.0, abs=1e-9)


def test_the_budget_of_the_deviation_is_in_percent_of_nominal():
    line = line_of(4.4 * LEVELS, decimals=4)
    assert line.deviation_pct == pytest.approx(10.0, abs=1e-9)
    assert line.budget.estimate == pytest.approx(10.0, abs=1e-9)
    own = next(item for item in line.budget.lines if item.name == "straight line")
    assert own.value == pytest.approx(100.0 * line.fit.u_slope / line.fit.slope)
    assert [item.sensitivity_coefficient for item in line.budget.lines] == pytest.approx([1.1] * len(line.budget.lines))
    assert line.expanded.u == pytest.approx(line.deviation_expanded.u / 100.0 * 4.0)
    assert line.deviation_expanded.u == pytest.approx(line.budget.combined_standard_uncertainty)


def test_a_line_that_scatters_more_than_stated_has_its_own_degrees_of_freedom():
    wide = line_of(4.0 * LEVELS * np.array([1.02, 0.98, 1.02, 0.98, 1.0]))
    assert (wide.widened, wide.nu, wide.fit.residual_based) == (True, 3.0, True)
    calm = line_of(4.0 * LEVELS)
    assert (calm.widened, calm.nu, calm.fit.residual_based) == (False, math.inf, False)


def test_a_dead_channel_counts_its_nonlinearity_in_the_span_it_should_have():
    line = line_of(np.zeros(5))
    assert line.span == pytest.approx(80.0)
    assert next(item for item in line.budget.lines if item.name == "straight line").value == 0.0


def test_hysteresis_and_repeatability_are_in_percent_of_span():
    """Rising and falling 0.4 mV apart at each level of a span of 80 mV; repeats of one direction 0.8 mV apart."""
    levels = np.repeat(LEVELS, 2)
    output = 4.0 * levels + np.tile([0.2, -0.2], 5)
    line = line_of(output, levels=levels, ways=["rising", "falling"] * 5)
    assert line.hysteresis_pct == pytest.approx(100.0 * 0.4 / line.span, rel=1e-6)
    assert line.repeatability_pct is None
    again = line_of(4.0 * levels + np.tile([0.4, -0.4], 5), levels=levels)
    assert again.hysteresis_pct is None
    assert again.repeatability_pct == pytest.approx(100.0 * 0.8 / again.span, rel=1e-6)


def test_a_parabola_bows_by_an_eighth_of_its_quadratic_term():
    """y = 4 x - c x^2 over 0 to 20 departs from its best straight line by c 20^2/8 (Chebyshev), downwards."""
    bow = line_of(4.0 * LEVELS - 0.02 * LEVELS**2, decimals=4).bow
    span = 80.0 - 8.0
    assert bow.bow_pct == pytest.approx(-100.0 * 0.02 * 400.0 / 8.0 / span, rel=1e-6)
    assert (bow.degrees_of_freedom, bow.significant) == (2, True)
    assert line_of(4.0 * LEVELS[:3], levels=LEVELS[:3]).bow is None
    repeated = np.array([2.0, 2.0, 20.0, 20.0, 20.3])  # two levels that count as three readings of 20
    assert line_of(4.0 * LEVELS[:4], levels=LEVELS[:4]).bow is not None
    assert line_of(4.0 * repeated, levels=repeated) is None


def test_a_bow_is_tested_by_students_t_of_the_quadratic_term():
    """Against an ordinary weighted regression: numpy's least squares of 1, x, x^2 with weights 1/u."""
    output = 4.0 * LEVELS + np.array([0.02, -0.05, 0.07, -0.06, 0.01])
    result = analysed(output)
    u = result.uncertainty.u_y
    design = np.vander(LEVELS, 3, increasing=True) / u[:, None]
    parameters, squares, *_ = np.linalg.lstsq(design, output / u, rcond=None)
    u_quadratic = math.sqrt(np.linalg.inv(design.T @ design)[2, 2] * float(squares[0]) / 2.0)
    expected = 2.0 * stats.t.sf(abs(parameters[2]) / u_quadratic, 2)
    assert result.frequencies[0].line.bow.p_value == pytest.approx(expected, rel=1e-6)


def untested(result):
    return [gate.frequency_hz for gate in result.gates if gate.gate == "rotor not tested"]


def test_a_frequency_keeps_its_highest_level_and_its_farthest_point():
    result = analysed(4.0 * LEVELS * np.array([1.0, 0.97, 1.02, 1.0, 1.04]), exclude={4: "knocked"})
    (item,) = result.frequencies
    assert (item.max_applied, item.levels) == (15.0, 4)
    assert item.worst_point.x == 5.0
    assert [r.name for r in item.rotors] == ["turbine"]
    assert untested(result) == [149.0]


def test_nothing_is_tested_where_all_is_excluded():
    result = analysed(4.0 * LEVELS, exclude=dict.fromkeys(range(5), "knocked"))
    (item,) = result.frequencies
    assert (item.max_applied, item.levels, item.worst_point, item.line) == (None, 0, None, None)
    assert untested(result) == [50.0, 149.0]
    assert item.undetermined["sensitivity"] == "0 distinct levels where 3 are needed for a line"
    assert (
        analysed(4.0 * LEVELS[:1], levels=LEVELS[:1]).frequencies[0].undetermined["k"].startswith("1 distinct level ")
    )


def test_each_reading_has_what_is_common_and_what_is_its_own():
    """At no level there is no sensitivity; an output of nothing has no own part that could be counted in it."""
    result = analysed(np.array([0.0, 20.0, 40.0]), levels=np.array([0.0, 5.0, 10.0]), decimals=2)
    nothing, low, high = result.frequencies[0].points
    assert (nothing.sensitivity, nothing.value_pct, nothing.expanded, nothing.decision) == (None,) * 4
    common = math.hypot(result.uncertainty.u_common_pct(50.0), result.uncertainty.u_frequency_pct(80.0))
    for point in (low, high):
        own = 100.0 * math.hypot(
            math.hypot(0.002, 0.001 / math.sqrt(3.0)), 0.01 / 12**0.5 / point.y, 0.01 / 12**0.5 / point.x
        )
        assert point.common_u_pct == pytest.approx(common)
        assert point.expanded.u == pytest.approx(math.hypot(common, own), rel=1e-6)


def test_a_live_zero_widens_what_the_readings_share():
    """An output of 90 mV of which 50 stand for nothing: the gain's 0.1 % weighs 90/40 in what counts."""
    channel = replace(CHANNEL, output_zero=50.0)
    result = analysed(4.0 * LEVELS + 50.0, channel=channel)
    common = math.hypot(result.uncertainty.u_common_pct(50.0), result.uncertainty.u_frequency_pct(80.0))
    point = result.frequencies[0].points[2]
    leverage = 90.0 / 40.0
    assert point.common_u_pct == pytest.approx(math.hypot(common, 0.1 * math.sqrt(leverage**2 - 1.0)), rel=1e-9)


def test_a_zero_below_nothing_does_not_narrow_what_the_readings_share():
    below = analysed(4.0 * LEVELS - 4.0, channel=replace(CHANNEL, output_zero=-4.0))
    plain = analysed(4.0 * LEVELS)
    for one, other in zip(below.frequencies[0].points, plain.frequencies[0].points, strict=True):
        assert one.common_u_pct == pytest.approx(other.common_u_pct)


def test_what_a_line_does_not_show_has_its_reason():
    (few,) = analysed(4.0 * LEVELS[:3], levels=LEVELS[:3]).frequencies
    reasons = {
        "hysteresis_pct": "no level was read both rising and falling",
        "repeatability_pct": "no level was read twice in the same direction",
    }
    assert few.undetermined == reasons | {"bow_pct": "fewer than four readings leave no scatter to test a bow against"}
    assert analysed(4.0 * LEVELS).frequencies[0].undetermined == reasons
    levels = np.repeat(LEVELS, 3)
    ways = ["rising", "rising", "falling"] * 5
    assert analysed(4.0 * levels, levels=levels, ways=ways).frequencies[0].undetermined == {}
