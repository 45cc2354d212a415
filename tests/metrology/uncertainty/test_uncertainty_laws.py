"""Laws of budgets, rounding and decisions on random cases, and two general libraries as second ways.

GTC (Measurement Standards Laboratory of New Zealand) gives u and degrees of freedom, ``uncertainties``
(E. Lebigot) gives u with correlations.
"""

from __future__ import annotations

import dataclasses
import math
from decimal import Decimal

import GTC
import numpy as np
import pytest
import uncertainties
from hypothesis import given
from hypothesis import strategies as st

from vibcal_nb.analysis.readings.contributions import state_line
from vibcal_nb.metrology.conformity.conformance_probability import ToleranceLimits
from vibcal_nb.metrology.conformity.decision import VERDICTS, DecisionRule, decide, worst_verdict
from vibcal_nb.metrology.conformity.joint_conformity import joint_conformity
from vibcal_nb.metrology.uncertainty.budget import Budget, BudgetError, BudgetLine
from vibcal_nb.metrology.uncertainty.budget_line import DISTRIBUTIONS
from vibcal_nb.metrology.uncertainty.coverage import expand, rounded
from vibcal_nb.model.visit import Contribution

sizes = st.floats(1e-3, 1e3)
degrees = st.one_of(st.just(math.inf), st.floats(1.0, 200.0))


@st.composite
def budget_lines(draw, name: str) -> BudgetLine:
    distribution = draw(st.sampled_from(DISTRIBUTIONS))
    return BudgetLine(
        name=name,
        value=draw(sizes),
        kind=draw(st.sampled_from(("common", "independent"))),
        distribution=distribution,
        k=draw(st.sampled_from((1.0, 1.96, 2.0, 3.0))) if distribution == "normal" else 1.0,
        beta=draw(st.floats(0.0, 1.0)) if distribution == "trapezoidal" else None,
        sensitivity_coefficient=draw(sizes) * draw(st.sampled_from((-1.0, 1.0))),
        degrees_of_freedom=draw(degrees),
    )


@st.composite
def budgets(draw) -> Budget:
    count = draw(st.integers(1, 8))
    return Budget(lines=tuple(draw(budget_lines(f"line {i}")) for i in range(count)))


@st.composite
def correlated_budgets(draw) -> Budget:
    """Lines of one kind and one number of degrees of freedom, correlated by a matrix that exists."""
    count, nu = draw(st.integers(2, 5)), draw(degrees)
    lines = [
        dataclasses.replace(draw(budget_lines(f"line {i}")), kind="common", degrees_of_freedom=nu) for i in range(count)
    ]
    factor = np.random.default_rng(draw(st.integers(0, 2**32 - 1))).normal(size=(count, count + 1))
    covariance = factor @ factor.T
    r = covariance / np.sqrt(np.outer(np.diag(covariance), np.diag(covariance)))
    pairs = {(lines[i].name, lines[j].name): float(np.clip(r[i, j], -1.0, 1.0)) for i in range(count) for j in range(i)}
    return Budget(lines=tuple(lines), correlations=pairs)


def gtc_input(line: BudgetLine):
    """Make GTC's uncertain number of one line, with GTC's own divisors where it has them."""
    divided = {
        "rectangular": GTC.tb.uniform,
        "triangular": GTC.tb.triangular,
        "arcsine": GTC.tb.arcsine,
    }
    if line.distribution in divided:
        u = divided[line.distribution](line.value)
    elif line.distribution == "trapezoidal":
        # a trapezoid is the sum of two rectangles (JCGM 101:2008, 6.4.4)
        outer, inner = (line.value * (1.0 + sign * line.beta) / 2.0 for sign in (1.0, -1.0))
        u = math.hypot(GTC.tb.uniform(outer), GTC.tb.uniform(inner))
    else:
        u = line.value / line.k
    return GTC.ureal(0.0, u, df=line.degrees_of_freedom)


@given(budgets())
def test_agrees_with_gtc(budget: Budget) -> None:
    result = sum(line.sensitivity_coefficient * gtc_input(line) for line in budget.lines)
    assert budget.combined_standard_uncertainty == pytest.approx(GTC.uncertainty(result), rel=1e-12)
    nu = budget.effective_degrees_of_freedom
    if nu > 1e5:  # GTC calls that infinite
        assert GTC.dof(result) > 1e5
        return
    assert nu == pytest.approx(GTC.dof(result), rel=1e-9)
    k = GTC.reporting.k_factor(nu, 95)
    assert budget.coverage_factor() == pytest.approx(k, rel=1e-9)
    assert budget.expanded_uncertainty() == pytest.approx(k * GTC.uncertainty(result), rel=1e-9)


@given(correlated_budgets())
def test_correlated_lines_agree_with_uncertainties(budget: Budget) -> None:
    u = np.array([line.standard_uncertainty for line in budget.lines])
    covariance = budget.correlation_matrix * np.outer(u, u)
    inputs = uncertainties.correlated_values([0.0] * len(u), covariance)
    result = sum(line.sensitivity_coefficient * x for line, x in zip(budget.lines, inputs, strict=True))
    scale = sum(line.contribution for line in budget.lines)
    assert budget.combined_standard_uncertainty == pytest.approx(result.std_dev, rel=1e-9, abs=1e-7 * scale)


@given(correlated_budgets())
def test_lines_that_share_one_scatter_keep_its_degrees_of_freedom(budget: Budget) -> None:
    """R. Willink, Metrologia 44 (2007) 340: an ensemble is one component, whatever its correlations."""
    nu = budget.lines[0].degrees_of_freedom
    single_group = len(budget.correlated_groups) == 1
    if single_group and budget.combined_standard_uncertainty > 0.0:
        assert budget.effective_degrees_of_freedom == pytest.approx(nu, rel=1e-12)


@given(budgets(), st.randoms(use_true_random=False))
def test_order_of_the_lines_does_not_matter(budget: Budget, random) -> None:
    shuffled = list(budget.lines)
    random.shuffle(shuffled)
    other = Budget(lines=tuple(shuffled))
    assert other.expanded_uncertainty() == pytest.approx(budget.expanded_uncertainty(), rel=1e-12)
    assert other.common_uncertainty == pytest.approx(budget.common_uncertainty, rel=1e-12)


@given(correlated_budgets(), st.randoms(use_true_random=False))
def test_order_of_correlated_lines_and_pairs_does_not_matter(budget: Budget, random) -> None:
    lines, pairs = list(budget.lines), list(budget.correlations.items())
    random.shuffle(lines)
    random.shuffle(pairs)
    other = Budget(lines=tuple(lines), correlations={(b, a): r for (a, b), r in pairs})
    scale = sum(line.contribution for line in budget.lines)
    assert other.combined_standard_uncertainty == pytest.approx(
        budget.combined_standard_uncertainty, rel=1e-9, abs=1e-7 * scale
    )


@given(budgets(), st.floats(1e-6, 1e6), st.sampled_from((-1.0, 1.0)))
def test_scaling_the_result_scales_its_uncertainty(budget: Budget, factor: float, sign: float) -> None:
    """A change of the result's unit: every coefficient times one constant."""
    lines = [
        dataclasses.replace(line, sensitivity_coefficient=line.sensitivity_coefficient * factor * sign)
        for line in budget.lines
    ]
    scaled, original = Budget(lines=tuple(lines)).expanded(), budget.expanded()
    assert (scaled.u, scaled.U) == pytest.approx((factor * original.u, factor * original.U), rel=1e-9)
    assert scaled.nu == pytest.approx(original.nu, rel=1e-9)


@given(budgets(), st.floats(1e-6, 1e6))
def test_unit_of_an_input_does_not_matter(budget: Budget, factor: float) -> None:
    first, *others = budget.lines
    changed = dataclasses.replace(
        first, value=first.value * factor, sensitivity_coefficient=first.sensitivity_coefficient / factor
    )
    other = Budget(lines=(changed, *others))
    assert other.expanded_uncertainty() == pytest.approx(budget.expanded_uncertainty(), rel=1e-9)


@given(budgets())
def test_common_and_independent_parts_make_up_the_whole(budget: Budget) -> None:
    whole = math.hypot(budget.common_uncertainty, budget.independent_uncertainty)
    assert budget.combined_standard_uncertainty == pytest.approx(whole, rel=1e-12)


@given(budgets())
def test_effective_degrees_of_freedom_lie_between_the_least_and_the_sum(budget: Budget) -> None:
    """JCGM 100:2008, G.4.1: nu_eff is at most the sum of the nu_i; it is at least the least of them."""
    nu = [line.degrees_of_freedom for line in budget.lines]
    assert min(nu) * (1 - 1e-12) <= budget.effective_degrees_of_freedom <= sum(nu) * (1 + 1e-12)


@given(st.floats(-1e6, 1e6), st.floats(1e-9, 1e6), st.integers(1, 4))
def test_rounding_keeps_to_half_a_unit_of_the_last_place(value: float, U: float, digits: int) -> None:
    text = rounded(value, U, digits=digits)
    printed_value, printed_U = Decimal(text.value), Decimal(text.uncertainty)
    place = Decimal(1).scaleb(Decimal(repr(U)).adjusted() - digits + 1)
    assert abs(printed_U - Decimal(repr(U))) <= place / 2
    assert abs(printed_value - Decimal(repr(value))) <= place * 10 / 2  # a carry makes the place ten times coarser
    assert text.value.partition(".")[2].isdigit() == text.uncertainty.partition(".")[2].isdigit()
    assert len(text.value.partition(".")[2]) == len(text.uncertainty.partition(".")[2])
    kept = text.uncertainty.replace(".", "").lstrip("0")
    assert len(kept) == digits or (U >= 1 and len(kept.rstrip("0")) <= digits)
    assert rounded(-value, U, digits=digits).value.lstrip("-") == text.value.lstrip("-")


@given(st.floats(-20, 20), st.floats(0.01, 5), st.sampled_from((0.0, 0.5, 1.0)), st.floats(1e-3, 1e3))
def test_unit_of_the_value_does_not_change_the_decision(value: float, u: float, r: float, factor: float) -> None:
    limits, scaled = (ToleranceLimits(lower=-5.0 * f, upper=5.0 * f) for f in (1.0, factor))
    first = decide(value, expand(u), limits, DecisionRule(r=r))
    second = decide(value * factor, expand(u * factor), scaled, DecisionRule(r=r))
    assert first.verdict == second.verdict
    assert first.probability_of_conformity == pytest.approx(second.probability_of_conformity, abs=1e-12)
    mirrored = decide(-value, expand(u), limits, DecisionRule(r=r))
    assert mirrored.verdict == first.verdict
    assert mirrored.specific_risk == pytest.approx(first.specific_risk, rel=1e-9)


@given(st.lists(st.floats(-20, 20), min_size=2, max_size=2), st.floats(0.01, 5), st.floats(0, 3))
def test_farther_out_is_never_better(values: list[float], u: float, r: float) -> None:
    nearer, farther = sorted(values, key=abs)
    limits = ToleranceLimits(lower=-5.0, upper=5.0)
    inner, outer = (decide(v, expand(u), limits, DecisionRule(r=r)) for v in (nearer, farther))
    assert VERDICTS.index(inner.verdict) <= VERDICTS.index(outer.verdict)
    assert inner.probability_of_conformity >= outer.probability_of_conformity - 1e-12


@given(st.floats(-20, 20), st.floats(0.01, 5), st.floats(0.01, 3))
def test_a_guard_band_never_makes_a_failure_of_what_it_moves(value: float, u: float, r: float) -> None:
    """Pass and conditional pass together are the pass of simple acceptance."""
    limits = ToleranceLimits(lower=-5.0, upper=5.0)
    simple = decide(value, expand(u), limits, DecisionRule()).verdict
    guarded = decide(value, expand(u), limits, DecisionRule(r=r)).verdict
    assert simple == guarded.removeprefix("conditional ")


@given(st.lists(st.sampled_from(VERDICTS), min_size=1), st.lists(st.sampled_from(VERDICTS), min_size=1))
def test_worst_verdict_composes(first: list, second: list) -> None:
    whole = worst_verdict([*first, *second])
    assert whole == worst_verdict([worst_verdict(first), worst_verdict(second)])
    assert whole == worst_verdict([*reversed(second), *first])


@given(st.lists(st.floats(-6, 6), min_size=1, max_size=12), st.floats(0.0, 2.0), st.floats(0.0, 2.0))
def test_joint_conformity_keeps_its_bounds(values: list[float], common: float, own: float) -> None:
    limits = ToleranceLimits(lower=-5.0, upper=5.0)
    result = joint_conformity(values, limits, common_uncertainty=common, independent_uncertainty=own)
    assert result.lower_bound - 1e-10 <= result.joint <= result.upper_bound + 1e-10
    assert result.lower_bound - 1e-10 <= result.independent <= result.upper_bound + 1e-10
    again = joint_conformity(values[::-1], limits, common_uncertainty=common, independent_uncertainty=own)
    assert again.joint == pytest.approx(result.joint, abs=1e-12)


def common(name: str = "a", **more: object) -> BudgetLine:
    return BudgetLine(**{"name": name, "value": 1.0, "kind": "common", **more})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("make", "found"),
    [
        (lambda: common(value=-1.0), "'a': the value is -1.0"),
        (lambda: common(value=math.nan), "'a': the value is nan"),
        (lambda: common(distribution="square"), "distribution 'square' is not known; take one of normal"),
        (lambda: common(kind="shared"), "kind 'shared' is not known"),
        (lambda: common(k=0.0), "coverage factor k is 0.0"),
        (lambda: common(distribution="rectangular", k=2.0), "k = 2.0 belongs to a normal distribution"),
        (lambda: common(distribution="trapezoidal"), "beta is None"),
        (lambda: common(beta=0.5), "beta belongs to a trapezoidal"),
        (lambda: common(sensitivity_coefficient=math.inf), "sensitivity coefficient is inf"),
        (lambda: common(degrees_of_freedom=0.0), "degrees of freedom are 0.0"),
        (lambda: Budget(lines=()), "no lines"),
        (lambda: Budget(lines=(common(), common())), "more than one line named 'a'"),
        (lambda: Budget(lines=(common(),), correlations={("a", "b"): 0.5}), "no line 'b'"),
        (lambda: Budget(lines=(common(),), correlations={("a", "a"): 0.5}), "of a line with itself"),
        (
            lambda: Budget(lines=(common(), common("b")), correlations={("a", "b"): 1.5}),
            "correlation of 'a' with 'b' is 1.5",
        ),
        (
            lambda: Budget(lines=(common(), common("b", kind="independent")), correlations={("a", "b"): 0.5}),
            "give both lines the same kind",
        ),
        (
            lambda: Budget(
                lines=(common(), common("b"), common("c")),
                correlations={("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9},
            ),
            "contradict one another",
        ),
    ],
)
def test_refusals_name_what_was_found(make, found: str) -> None:
    with pytest.raises(BudgetError, match=found):
        make()


def stated(**more: object) -> Contribution:
    fields = {"name": "mounting", "value_pct": 0.3, "distribution": "rectangular", "kind": "independent"}
    return Contribution(**{**fields, **more})  # type: ignore[arg-type]


def test_line_of_a_stated_contribution() -> None:
    line = state_line(stated(source="judgement", degrees_of_freedom=8.0))
    assert (line.name, line.kind, line.source) == ("mounting", "independent", "judgement")
    assert line.standard_uncertainty == pytest.approx(0.3 / math.sqrt(3))
    assert line.degrees_of_freedom == 8.0
    assert state_line(stated(divisor=1.73)).divisor == math.sqrt(3)
    assert state_line(stated(distribution="normal")).divisor == 1.0
    assert state_line(stated(distribution="normal", divisor=2.0)).standard_uncertainty == 0.15
    assert state_line(stated(distribution="normal")).degrees_of_freedom == math.inf
    trapezoid = state_line(stated(distribution="trapezoidal", divisor=2.19))
    assert trapezoid.divisor == pytest.approx(2.19)
    assert 0.49 < trapezoid.beta < 0.51


@pytest.mark.parametrize(
    ("contribution", "found"),
    [
        (
            stated(divisor=2.0),
            "divisor 2.0 does not belong to a rectangular distribution, whose divisor is 1.732",
        ),
        (stated(distribution="trapezoidal"), "divisor of a trapezoidal distribution is None"),
        (stated(distribution="trapezoidal", divisor=3.0), "from 1.732"),
        (stated(distribution="normal", divisor=0.0), "coverage factor k is 0.0"),
        (stated(degrees_of_freedom=0.0), "degrees of freedom are 0.0"),
    ],
)
def test_stated_contributions_that_are_refused(contribution: Contribution, found: str) -> None:
    with pytest.raises(BudgetError, match=found):
        state_line(contribution)
