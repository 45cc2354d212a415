"""The statement on each reading and on all together: against draws, and as it is shown and kept."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr

from tests.support.readings.cases import CHANNEL, make_case
from tests.support.sites.plants import build_site, linearity_rows
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.readings.judged_point import conformity_of_all
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.display.results.points_and_whole import word_points_and_whole
from vibcal_nb.display.results.verdict_html import verdict_reasons_html
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.metrology.conformity.conformance_probability import ToleranceLimits
from vibcal_nb.metrology.conformity.decision import DecisionRule, decide, most_risk_of_a_pass
from vibcal_nb.metrology.conformity.joint_conformity import joint_conformity
from vibcal_nb.metrology.uncertainty.coverage import expand
from vibcal_nb.model.case import select_case
from vibcal_nb.records.quantities.result_entry import result_entry

FLAT_HZ = np.array([40.0, 60.0, 80.0, 100.0, 120.0, 160.0, 200.0])


def linearity(tmp_path, gain, **changes):
    folder = build_site(tmp_path, linearity_rows(gain=gain))
    case = select_case(load_visit(folder), channel="STG-1-V11", test="linearity", condition="as-found")
    return analyse_linearity(case.with_decision(**{"rule": "simple", **changes}))


def flat_response(deviations_pct):
    output = 4.0 * 10.0 * (1.0 + np.array(deviations_pct) / 100.0)
    return analyse_band_response(make_case("band-response", FLAT_HZ, output))


def draws_conforming(points, *, common_of, count=400_000):
    """Share of draws in which every judged point lies within its limits, all sharing one common error."""
    rng = np.random.default_rng(7)
    shared = rng.standard_normal(count)
    good = np.ones(count, dtype=bool)
    for point in points:
        if point.decision is None:
            continue
        common = common_of(point)
        own = math.sqrt(point.expanded.u**2 - common**2)
        value = point.value_pct + common * shared + own * rng.standard_normal(count)
        good &= (value >= point.lower_pct) & (value <= point.upper_pct)
    return good.mean()


def test_linearity_points_share_reference_readout_and_mounting(tmp_path):
    """All but settling, cable strain and resolution is common to the readings at one frequency."""
    points = linearity(tmp_path, 4.17).frequencies[0].points  # 4.25 % of 5 %
    joint = conformity_of_all(points)
    relative = points[-1].value_pct / 100.0 + 1.0
    # certificate 1.5 %/2, readout 0.2 %/2; drift 0.2 and 0.1 % a year, temperature, mounting, transverse, distortion
    rectangular = [0.2 * 129 / 365.25, 0.1 * 129 / 365.25, 0.2, 0.2, 0.3, 0.1]
    common = relative * math.sqrt(0.75**2 + 0.1**2 + sum(half**2 for half in rectangular) / 3.0)
    assert points[-1].common_u_pct == pytest.approx(common, rel=1e-9)
    assert 0.7 < joint.joint < 0.99
    assert joint.joint == pytest.approx(draws_conforming(points, common_of=lambda p: common), abs=0.005)
    assert joint.lower_bound < joint.independent < joint.joint < joint.upper_bound


def test_response_points_share_the_reading_at_the_reference():
    points = flat_response([3.9, 4.1, 0.0, 4.0, 3.8, 4.2, 3.5]).points
    joint = conformity_of_all(points)
    assert len(joint.points) == 6  # the reading at the reference is not judged against itself
    assert joint.joint == pytest.approx(draws_conforming(points, common_of=lambda p: p.common_u_pct), abs=0.005)
    own_of_reference = math.hypot(0.2, 0.1 / math.sqrt(3.0))  # settling, cable strain
    between_frequencies = math.sqrt((0.2**2 + 0.3**2 + 0.1**2) / 3.0)  # mounting, transverse motion, distortion
    expected = points[1].value_pct / 100.0 * math.hypot(own_of_reference, between_frequencies)
    assert points[1].common_u_pct == pytest.approx(expected, rel=1e-6)


def test_nothing_is_said_where_nothing_was_judged():
    result = flat_response([0.0] * 7)
    nothing = analyse_band_response(
        make_case("band-response", FLAT_HZ, [40.0] * 7, exclude=dict.fromkeys(range(7), "x"))
    )
    assert word_points_and_whole(nothing) == ()
    assert result_entry(nothing)["quantities"]["together"] is None
    assert "more than 0.999" in word_points_and_whole(result)[2]


@pytest.mark.parametrize(
    ("changes", "promise"),
    [
        ({"rule": "simple"}, "at most 50 %"),
        ({"rule": "guarded", "r": 1.0}, "at most 2.5 %"),  # ILAC-G8:09/2019, table 1: w = U, less than 2.5 %
        ({"rule": "guarded", "r": 1.0, "coverage_probability": 0.9545}, "at most 2.3 %"),  # Phi(-2) = 0.0228
        ({"rule": "guarded", "r": 0.5}, "at most 16 %"),  # Phi(-0.98) = 0.1635
    ],
)
def test_each_rule_says_what_it_promises_of_a_single_reading(tmp_path, changes, promise):
    each, whole, *groups = word_points_and_whole(linearity(tmp_path, 4.17, **changes))
    assert promise in each
    assert "worst part" in whole
    assert len(groups) == 1
    assert "all 5 readings judged at 50 Hz conform at once" in groups[0]


@given(
    half=st.floats(0.05, 20.0),
    u=st.floats(0.05, 5.0),
    r=st.floats(0.0, 2.0),
    place=st.floats(-1.0, 1.0),
    one=st.booleans(),
)
def test_no_value_that_passes_has_more_risk_than_is_said(half, u, r, place, one):
    """Under simple acceptance of a tolerance that is narrow against u it may be far more than one half."""
    limits = ToleranceLimits(upper=half) if one else ToleranceLimits(lower=-half, upper=half)
    decision = decide(place * half, expand(u), limits, DecisionRule(r=r))
    most = most_risk_of_a_pass(decision)
    if decision.verdict == "pass":
        assert decision.specific_risk <= most * (1.0 + 1e-9)
    if most is not None:
        guard = r * 1.959963984540054
        beyond_the_other = 0.0 if one else ndtr(guard - 2.0 * half / u)
        assert most == pytest.approx(ndtr(-guard) + beyond_the_other, rel=1e-6, abs=1e-15)
    else:
        assert r * 1.959963984540054 * u > half


def test_the_verdict_section_and_the_results_carry_it(tmp_path):
    result = linearity(tmp_path, 4.17)
    shown = verdict_reasons_html(result)
    assert all(sentence in shown for sentence in word_points_and_whole(result))
    entry = result_entry(result)["quantities"][0]["together"]
    joint = conformity_of_all(result.frequencies[0].points)
    assert entry == {
        "points": 5,
        "probability": round(joint.joint, 6),
        "no_less_than": round(joint.lower_bound, 6),
        "no_more_than": round(joint.upper_bound, 6),
    }


def test_a_sensor_alone_says_it_too():
    case = make_case("sensor-alone", FLAT_HZ, 5.0 * 10.0 * np.ones(7), channel=CHANNEL)
    assert "all 6 readings judged conform at once" in word_points_and_whole(analyse_sensor_alone(case))[2]


def test_every_null_of_an_uncertainty_has_its_reason(tmp_path):
    result = linearity(tmp_path, 4.17)
    known = result_entry(result)
    assert known["quantities"][0]["effective_degrees_of_freedom"] is None
    assert "infinitely many" in known["undetermined"]["effective_degrees_of_freedom at 50 Hz"]
    few = analyse_linearity(result.case.with_excluded([2, 3, 4]))
    entry = result_entry(few)
    for name, value in entry["quantities"][0].items():
        assert value is not None or entry["undetermined"][f"{name} at 50 Hz"]
    assert "3 are needed" in entry["undetermined"]["k at 50 Hz"]


def test_bounds_of_all_at_once_are_probabilities():
    """Three points each half outside: at worst none conforms, at best as many as of the least likely one."""
    limits = ToleranceLimits(lower=-1.0, upper=1.0)
    found = joint_conformity([1.0, 1.0, 1.2], limits, common_uncertainty=0.01, independent_uncertainty=0.1)
    assert found.lower_bound == 0.0
    assert found.upper_bound == pytest.approx(float(found.points.min()))
    assert found.worst_point == 2
    assert 0.0 < found.joint < found.upper_bound
    sure = joint_conformity([0.0, 0.9], limits, common_uncertainty=0.05, independent_uncertainty=0.05)
    assert sure.lower_bound == pytest.approx(1.0 - sum(1.0 - p for p in sure.points), abs=1e-12)
