"""ILAC-G8:09/2019: decision rules and the words of the statement of conformity."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from vibcal_nb.analysis.readings.judged_point import state_rule
from vibcal_nb.metrology.conformity.conformance_probability import (
    ConformityError,
    ToleranceLimits,
    probability_of_conformity,
    probability_of_nonconformity,
)
from vibcal_nb.metrology.conformity.decision import (
    VERDICTS,
    DecisionRule,
    decide,
    decision_rule_sentence,
    worst_verdict,
)
from vibcal_nb.metrology.conformity.joint_conformity import joint_conformity, joint_conformity_sentences
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY_OF_K_2, expand
from vibcal_nb.model.visit import Decision as StatedDecision

UPPER = ToleranceLimits(upper=10.0)

# 4.2.3, the four statements: value, upper tolerance limit, w = U, word
CASES = [
    (9.0, 10.0, 0.5, "pass"),
    (9.6, 10.0, 0.5, "conditional pass"),
    (10.0, 10.0, 0.5, "conditional pass"),
    (10.3, 10.0, 0.5, "conditional fail"),
    (10.6, 10.0, 0.5, "fail"),
]

# Table 1: rule, w/U, printed bound of the specific risk, recomputed at the acceptance limit for k = 2.
# The last two rows of the printed table ("uncritical", "customer defined") are from memory.
TABLE_1 = [
    ("6 sigma", 3.0, 1e-6, 9.865876450376946e-10),
    ("3 sigma", 1.5, 0.0016, 0.0013498980316300933),
    ("ILAC G8:2009", 1.0, 0.025, 0.022750131948179195),
    ("ISO 14253-1:2017", 0.83, 0.05, 0.04845722626672282),
]


def uncertainty(U: float):
    return expand(U / 2.0, probability=PROBABILITY_OF_K_2)


@pytest.mark.parametrize(("value", "limit", "U", "word"), CASES)
def test_4_2_3_statement_with_guard_band(value: float, limit: float, U: float, word: str) -> None:
    decision = decide(value, uncertainty(U), ToleranceLimits(upper=limit), DecisionRule(r=1.0))
    assert decision.verdict == word
    assert decision.guard_band == pytest.approx(U)
    assert decision.acceptance_limits.upper == pytest.approx(limit - U)
    mirrored = decide(-value, uncertainty(U), ToleranceLimits(lower=-limit), DecisionRule(r=1.0))
    assert mirrored.verdict == word


@pytest.mark.parametrize(("value", "word"), [(9.99, "pass"), (10.0, "pass"), (10.01, "fail")])
def test_4_2_1_simple_acceptance_has_two_words(value: float, word: str) -> None:
    decision = decide(value, uncertainty(0.5), UPPER, DecisionRule())
    assert (decision.verdict, decision.guard_band) == (word, 0.0)
    assert decision.acceptance_limits == UPPER


@pytest.mark.parametrize(("rule", "r", "bound", "risk"), TABLE_1)
def test_table_1_specific_risk_at_the_acceptance_limit(rule: str, r: float, bound: float, risk: float) -> None:
    decision = decide(10.0 - r * 0.5, uncertainty(0.5), UPPER, DecisionRule(r=r))
    assert decision.verdict == "pass", rule
    assert decision.specific_risk == pytest.approx(risk, rel=1e-9)
    assert decision.specific_risk < bound


def test_table_1_simple_acceptance_risks_half_at_the_limit() -> None:
    assert decide(10.0, uncertainty(0.5), UPPER, DecisionRule()).specific_risk == pytest.approx(0.5)


def test_table_1_uncritical_rejects_above_the_limit_and_U() -> None:
    """w = -U: at TL + U the probability that a rejected item conforms is 2.3 %."""
    decision = decide(10.5 + 1e-9, uncertainty(0.5), UPPER, DecisionRule(r=1.0))
    assert decision.verdict == "fail"
    assert decision.specific_risk == pytest.approx(0.022750131948179195, rel=1e-6)


def test_u_of_95_percent_leaves_a_specific_risk_of_exactly_2_5_percent() -> None:
    for nu in (math.inf, 4.0):
        expanded = expand(0.3, nu)
        decision = decide(10.0 - expanded.U, expanded, UPPER, DecisionRule(r=1.0))
        assert decision.specific_risk == pytest.approx(0.025, rel=1e-9)


def test_two_sided_limits_have_a_guard_band_at_both() -> None:
    limits = ToleranceLimits(lower=-5.0, upper=5.0)
    words = [decide(v, uncertainty(1.0), limits, DecisionRule(r=1.0)).verdict for v in np.arange(-7.0, 8.0)]
    assert words == [
        "fail", "conditional fail", "conditional pass", "pass", "pass", "pass", "pass", "pass", "pass",
        "pass", "pass", "pass", "conditional pass", "conditional fail", "fail",
    ]  # fmt: skip


def test_guard_bands_wider_than_the_tolerance_leave_nothing_to_pass() -> None:
    limits = ToleranceLimits(lower=-1.0, upper=1.0)
    decision = decide(0.0, uncertainty(1.2), limits, DecisionRule(r=1.0))
    assert decision.verdict == "conditional pass"
    assert decision.acceptance_limits is None
    assert "No value can pass" in decision.note
    # just as wide: one point is left, whatever the last bit says
    for T in (0.3, 1.1, 2.0):
        limits = ToleranceLimits(lower=-T, upper=T)
        decision = decide(0.0, uncertainty(T), limits, DecisionRule(r=1.0))
        assert (decision.verdict, decision.note) == ("pass", None)


def test_arithmetic_does_not_decide_at_a_limit() -> None:
    deviation = (105.0 / 100.0 - 1.0) * 100.0
    assert deviation > 5.0  # 5.000000000000004
    limits = ToleranceLimits(lower=-5.0, upper=5.0)
    assert decide(deviation, uncertainty(1.0), limits, DecisionRule()).verdict == "pass"
    assert decide(5.0 + 1e-9, uncertainty(1.0), limits, DecisionRule()).verdict == "fail"


def test_rule_of_a_visit() -> None:
    assert state_rule(StatedDecision(rule="simple", r=1.0)) == DecisionRule(r=0.0)
    assert state_rule(StatedDecision(rule="guarded", r=0.83)) == DecisionRule(r=0.83)
    with pytest.raises(ConformityError, match="'strict' is not known"):
        state_rule(StatedDecision(rule="strict"))


def test_refusals_name_what_was_found() -> None:
    with pytest.raises(ConformityError, match="r = -1"):
        DecisionRule(r=-1.0)
    with pytest.raises(ConformityError, match="to be judged is nan"):
        decide(math.nan, uncertainty(1.0), UPPER, DecisionRule())
    with pytest.raises(ConformityError, match="'good' is not known"):
        worst_verdict(["pass", "good"])


def test_rule_is_said_in_one_sentence() -> None:
    for r, words in (
        (0.0, "simple acceptance"),
        (1.0, "of the expanded uncertainty U"),
        (0.83, "of 0.83 times"),
    ):
        sentence = decision_rule_sentence(DecisionRule(r=r))
        assert words in sentence
        assert sentence.endswith(".")
        assert ". " not in sentence.replace("4.2.", "")
    assert "conditional" not in decision_rule_sentence(DecisionRule())


def test_worst_verdict_of_every_pair() -> None:
    for (i, a), (j, b) in itertools.product(enumerate(VERDICTS), repeat=2):
        assert worst_verdict([a, b]) == VERDICTS[max(i, j)]
    assert VERDICTS == ("pass", "conditional pass", "not verified", "conditional fail", "fail")
    assert worst_verdict([]) == "not verified"
    assert worst_verdict(["pass"]) == "pass"
    assert worst_verdict(["not verified", "fail", "pass"]) == "fail"
    assert worst_verdict(["not verified", "conditional pass", "pass"]) == "not verified"


def test_joint_conformity_agrees_with_draws() -> None:
    """Two million draws of eight points with a shared and an own part, made with NumPy alone."""
    y, limits, count = np.linspace(-1.0, 4.2, 8), ToleranceLimits(lower=-5.0, upper=5.0), 2_000_000
    result = joint_conformity(y, limits, common_uncertainty=0.75, independent_uncertainty=0.3)
    rng = np.random.default_rng(8)
    shared = rng.standard_normal(count)
    held = np.ones(count, dtype=bool)
    for value in y:
        held &= np.abs(value + 0.75 * shared + 0.3 * rng.standard_normal(count)) <= 5.0
    assert result.joint == pytest.approx(held.mean(), abs=0.0011)  # four standard deviations of the share
    assert result.lower_bound < result.independent < result.joint < result.upper_bound
    assert result.worst_point == 7


def test_joint_conformity_without_a_common_part_is_the_product() -> None:
    y, limits = [0.0, 0.5, 0.9], ToleranceLimits(lower=-1.0, upper=1.0)
    result = joint_conformity(y, limits, common_uncertainty=0.0, independent_uncertainty=[0.1, 0.2, 0.3])
    assert result.joint == pytest.approx(result.independent, rel=1e-13)
    assert result.lower_bound == pytest.approx(1.0 - np.sum(1.0 - result.points))


def test_joint_conformity_of_a_common_part_alone_is_one_interval() -> None:
    """With nothing independent all points conform exactly while the shared error stays in one interval."""
    y, limits = [-0.7, 0.4], ToleranceLimits(lower=-1.0, upper=1.0)
    result = joint_conformity(y, limits, common_uncertainty=0.5, independent_uncertainty=0.0)
    shared = ToleranceLimits(lower=-0.3, upper=0.6)
    assert result.joint == pytest.approx(float(probability_of_conformity(0.0, 0.5, shared)), abs=1e-13)
    at_a_limit = joint_conformity([1.0], limits, common_uncertainty=1e-300, independent_uncertainty=0.0)
    assert at_a_limit.joint == pytest.approx(0.5, abs=1e-13)
    equal = joint_conformity([0.4, 0.4], limits, common_uncertainty=0.5, independent_uncertainty=0.0)
    assert equal.joint == pytest.approx(equal.upper_bound, abs=1e-13)


def test_many_certain_points_are_far_from_certain_together() -> None:
    """Forty points that each conform with 97.7 %: the bound for all of them is 9 %."""
    limits = ToleranceLimits(upper=10.0)
    result = joint_conformity([9.0] * 40, limits, common_uncertainty=0.0, independent_uncertainty=0.5)
    violated = float(probability_of_nonconformity(9.0, 0.5, limits))
    assert result.points[0] == pytest.approx(0.97725, abs=1e-5)
    assert result.lower_bound == pytest.approx(1.0 - 40 * violated)
    assert result.joint == pytest.approx((1.0 - violated) ** 40)
    single, together = joint_conformity_sentences(result)
    assert "no statement on all of them at once" in single
    assert "at least 0.090 and at most 0.977" in together


@pytest.mark.parametrize(
    ("values", "limits", "u", "found"),
    [
        ([], UPPER, 1.0, "at least one value"),
        ([1.0, 2.0], [UPPER], 1.0, "2 values but 1 limits"),
        ([1.0, math.nan], UPPER, 1.0, "values are"),
        ([1.0], UPPER, -1.0, "independent uncertainty"),
    ],
)
def test_joint_conformity_refusals(values, limits, u, found: str) -> None:
    with pytest.raises(ConformityError, match=found):
        joint_conformity(values, limits, common_uncertainty=0.1, independent_uncertainty=u)
