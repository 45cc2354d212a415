"""How much of a tolerance its uncertainty takes: JCGM 106:2012, 8.2; ANSI/NCSL Z540.3-2006, 3.11 (ratio for 95 %)."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from vibcal_nb.analysis.gates.uncertainty_share import largest_share, share_gate
from vibcal_nb.display.results.reservations import share_sentence
from vibcal_nb.metrology.conformity.decision import DecisionRule, ToleranceLimits, decide
from vibcal_nb.metrology.uncertainty.coverage import expand

K95 = stats.norm.ppf(0.975)


def decision(value=0.0, *, U=1.1, tolerance=0.5, r=0.0, probability=0.95, lower=True):
    limits = ToleranceLimits(lower=-tolerance if lower else None, upper=tolerance)
    k = stats.norm.ppf((1.0 + probability) / 2.0)
    return decide(value, expand(U / k, probability=probability), limits, DecisionRule(r=r))


def gate(*decisions, largest_u_share=1.0):
    return share_gate([("sensitivity", d) for d in decisions], largest_u_share=largest_u_share)


def test_an_uncertainty_wider_than_its_tolerance_makes_no_pass_under_simple_acceptance():
    """±0.5 % judged with U = 1.1 %."""
    found = gate(decision())
    assert found.gate == "uncertainty too large"
    assert "U of the sensitivity is 1.1 %, 220 % of its tolerance of 0.5 %" in found.found
    assert gate(decision(U=0.5)) is None
    assert gate(decision(U=0.51)) is not None


def test_a_site_may_ask_for_a_third():
    assert gate(decision(U=1.7, tolerance=5.0), largest_u_share=1.0 / 3.0) is not None
    assert gate(decision(U=1.6, tolerance=5.0), largest_u_share=1.0 / 3.0) is None


def test_a_guard_band_allows_for_as_much_as_it_is_wide():
    """r = 1 allows for all of U; r = 0.01 for next to nothing."""
    assert gate(decision(r=1.0)) is None
    assert gate(decision(r=0.01)) is not None
    assert gate(decision(U=1.1, tolerance=0.5, r=0.6)) is None  # 0.4 x 1.1 = 0.44
    assert gate(decision(U=1.1, tolerance=0.5, r=0.5)) is not None  # 0.55


def test_a_lower_coverage_does_not_make_an_uncertainty_smaller():
    half = decision(U=0.45, tolerance=0.5, probability=0.5)
    (share,) = [largest_share([("s", half)])]
    assert pytest.approx(0.45 / stats.norm.ppf(0.75) * K95) == share.U
    assert gate(half) is not None
    wide = largest_share([("s", decision(U=0.45, tolerance=0.5, probability=0.9999))])
    assert pytest.approx(0.45) == wide.U


def test_of_one_limit_the_limit_is_the_tolerance_and_there_is_no_ratio():
    share = largest_share([("non-linearity", decision(U=1.0, tolerance=2.0, lower=False))])
    assert (share.share, share.test_uncertainty_ratio) == (pytest.approx(0.5), None)
    zero = decide(0.0, expand(0.1), ToleranceLimits(lower=0.0, upper=None), DecisionRule())
    assert largest_share([("s", zero)]) is None


@pytest.mark.parametrize(("U", "stated"), [(1.65, False), (1.67, True)])
def test_from_a_third_on_a_record_states_share_ratio_and_risk(U, stated):
    assert largest_share([("s", decision(U=U, tolerance=5.0))]).is_worth_a_word is stated


def test_the_sentence_gives_the_risk_of_the_pass_that_it_is_about():
    """Measured 4.5 of 5 % with u = 1 %: outside above with Phi(-0.5) = 0.309."""
    share = largest_share([("sensitivity at 50 Hz", decision(4.5, U=K95, tolerance=5.0))])
    assert share_sentence(share) == (
        "U of the sensitivity at 50 Hz is 2 %, 39 % of its tolerance (test uncertainty ratio 2.6); that its pass is "
        "wrong has a probability of 0.309"
    )
    assert share.risk == pytest.approx(stats.norm.cdf(-0.5) + stats.norm.cdf(-9.5), abs=1e-12)
    assert largest_share([("s", decision(6.0, U=K95, tolerance=5.0))]).risk is None


@given(st.floats(0.01, 10.0), st.floats(0.01, 10.0), st.floats(0.0, 2.0), st.floats(0.05, 1.0))
def test_the_gate_is_met_exactly_where_what_no_guard_band_allows_for_exceeds_the_share(U, tolerance, r, largest):
    left = max(1.0 - r, 0.0) * U / tolerance
    if not math.isclose(left, largest, rel_tol=1e-6):
        assert (gate(decision(U=U, tolerance=tolerance, r=r), largest_u_share=largest) is not None) == (left > largest)
