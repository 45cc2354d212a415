"""JCGM 101:2008, clause 9, worked examples of the Monte Carlo method.

Printed figures are from memory; what follows from theory was recomputed as said beside it. Tolerances are a
few standard deviations of an end of the interval over repeated runs of a million trials, named beside them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from vibcal_nb.metrology.uncertainty.budget import Budget, BudgetError, BudgetLine, expand
from vibcal_nb.metrology.uncertainty.gum_validation import validate_gum, validation_sentence
from vibcal_nb.metrology.uncertainty.monte_carlo import (
    minimum_trials,
    numerical_tolerance,
    propagate,
    propagate_adaptively,
    shortest_interval,
    symmetric_interval,
)


def line(name: str, value: float, **more: object) -> BudgetLine:
    return BudgetLine(name=name, value=value, kind="common", **more)  # type: ignore[arg-type]


def generator(seed: int = 101) -> np.random.Generator:
    return np.random.default_rng(seed)


def test_9_2_2_four_normal_inputs() -> None:
    """Y = X1 + X2 + X3 + X4, each N(0, 1): u = 2.00, [-3.92, 3.92]; validated with tolerance 0.05."""
    budget = Budget(lines=tuple(line(f"X{i}", 1.0) for i in range(4)), estimate=0.0)
    result = propagate(budget, rng=generator())
    assert result.standard_uncertainty == pytest.approx(2.0, abs=0.005)
    assert result.symmetric_interval == pytest.approx((-3.92, 3.92), abs=0.02)  # one end scatters by 0.005
    validation = validate_gum(0.0, budget.expanded(), result, digits=2)
    assert validation.gum_interval == pytest.approx((-3.92, 3.92), abs=0.005)
    assert validation.tolerance == pytest.approx(0.05)
    assert validation.validated
    assert "confirms the 95 % interval" in validation_sentence(validation)


def test_9_2_3_four_rectangular_inputs_of_equal_width() -> None:
    """[-3.88, 3.88], exactly +-2 sqrt(3) (2 - (3/5)^(1/4)); the budget's [-3.92, 3.92] is validated."""
    lines = tuple(line(f"X{i}", math.sqrt(3), distribution="rectangular") for i in range(4))
    budget = Budget(lines=lines, estimate=0.0)
    end = 2.0 * math.sqrt(3.0) * (2.0 - 0.6**0.25)
    assert round(end, 2) == 3.88
    result = propagate(budget, rng=generator())
    assert result.symmetric_interval == pytest.approx((-end, end), abs=0.015)  # one end scatters by 0.004
    assert validate_gum(0.0, budget.expanded(), result, digits=2).validated


def test_9_2_4_one_rectangle_that_rules() -> None:
    """One rectangle ten times as wide: u = 10.1, budget [-19.9, 19.9], Monte Carlo [-17.0, 17.0]."""
    widths = (1.0, 1.0, 1.0, 10.0)
    lines = [line(f"X{w}{i}", w * math.sqrt(3), distribution="rectangular") for i, w in enumerate(widths)]
    budget = Budget(lines=tuple(lines), estimate=0.0)
    result = propagate(budget, rng=generator())
    assert round(budget.combined_standard_uncertainty, 1) == 10.1
    assert round(budget.expanded_uncertainty(), 1) == 19.9
    assert [round(end, 1) for end in result.symmetric_interval] == [-17.0, 17.0]
    validation = validate_gum(0.0, budget.expanded(), result, digits=2)
    assert not validation.validated
    assert [round(d, 1) for d in (validation.d_low, validation.d_high)] == [2.9, 2.9]
    assert "does not confirm" in validation_sentence(validation)


def mass_budget() -> Budget:
    """9.3, Table 5: reference weight and its correction in mg, densities of air and weights in kg/m3."""
    return Budget(
        lines=(
            line("m_Rc", 0.050),
            line("dm_Rc", 0.020),
            line("rho_a", 0.1, distribution="rectangular"),
            line("rho_W", 1000.0, distribution="rectangular"),
            line("rho_R", 50.0, distribution="rectangular"),
        )
    )


MASS_ESTIMATES = {"m_Rc": 100_000.0, "dm_Rc": 1.234, "rho_a": 1.20, "rho_W": 8000.0, "rho_R": 8000.0}


def mass_model(m, dm, rho_a, rho_w, rho_r):
    return (m + dm) * (1.0 + (rho_a - 1.2) * (1.0 / rho_w - 1.0 / rho_r)) - 100_000.0


def test_9_3_mass_calibration() -> None:
    """Table 6: Monte Carlo 1.2341, 0.0754, shortest [1.0834, 1.3825]; first order 1.2340, 0.0539."""
    result = propagate(mass_budget(), rng=generator(), model=mass_model, estimates=MASS_ESTIMATES)
    assert result.estimate == pytest.approx(1.2341, abs=0.0003)
    assert result.standard_uncertainty == pytest.approx(0.0754, abs=0.0003)
    low, high = result.shortest_interval
    # where the shortest interval lies is known less well (0.001) than how long it is (0.0002)
    assert (low, high) == pytest.approx((1.0834, 1.3825), abs=0.004)
    assert high - low == pytest.approx(1.3825 - 1.0834, abs=0.001)
    first_order = expand(math.hypot(0.050, 0.020))
    assert round(first_order.u, 4) == 0.0539
    validation = validate_gum(1.2340, first_order, result, interval="shortest")
    assert validation.gum_interval == pytest.approx((1.1285, 1.3395), abs=1e-4)
    assert validation.tolerance == pytest.approx(0.005)
    assert (validation.d_low, validation.d_high) == pytest.approx((0.0451, 0.0430), abs=0.004)
    assert not validation.validated


def test_9_3_adaptive_number_of_trials() -> None:
    result = propagate_adaptively(
        mass_budget(), rng=generator(), tolerance=0.001, model=mass_model, estimates=MASS_ESTIMATES
    )
    assert result.stable
    assert result.trials % 10_000 == 0
    assert 100_000 < result.trials < 3_000_000  # the example needed 0.72 million
    assert result.standard_uncertainty == pytest.approx(0.0754, abs=0.001)


@pytest.mark.parametrize("x1", [0.0, 0.010, 0.050])
@pytest.mark.parametrize("r", [0.0, 0.9])
def test_9_4_comparison_loss(x1: float, r: float) -> None:
    """Y = X1^2 + X2^2, u = 0.005: moments by the closed forms of Annex F.

    E(Y) = x1^2 + 2 u^2 and V(Y) = 4 u^2 x1^2 + 4 u^4 (1 + r^2), for x2 = 0.
    """
    u = 0.005
    budget = Budget(lines=(line("X1", u), line("X2", u)), correlations={("X1", "X2"): r})
    result = propagate(budget, rng=generator(), model=lambda a, b: a**2 + b**2, estimates={"X1": x1, "X2": 0.0})
    assert result.estimate == pytest.approx(x1**2 + 2 * u**2, abs=1e-6)
    assert result.standard_uncertainty == pytest.approx(math.sqrt(4 * u**2 * x1**2 + 4 * u**4 * (1 + r**2)), rel=0.01)


def test_9_4_2_comparison_loss_intervals_at_zero() -> None:
    """Table 7, x1 = 0, r = 0: y = 50, u = 50, shortest 95 % [0, 150], all 1e-6; exactly -2 u^2 ln 0.05."""
    budget = Budget(lines=(line("X1", 0.005), line("X2", 0.005)))
    result = propagate(budget, rng=generator(), model=lambda a, b: a**2 + b**2)
    assert result.estimate * 1e6 == pytest.approx(50, abs=0.5)
    assert result.standard_uncertainty * 1e6 == pytest.approx(50, abs=0.5)
    low, high = result.shortest_interval
    assert low * 1e6 == pytest.approx(0.0, abs=0.5)
    assert high == pytest.approx(-2 * 0.005**2 * math.log(0.05), rel=0.01)
    assert round(high * 1e6) in (149, 150, 151)


def gauge_block() -> Budget:
    """9.5, Table 10: the end gauge of JCGM 100 H.1 with t, arcsine and curvilinear trapezoids."""
    return Budget(
        lines=(
            line("L_S", 25.0, degrees_of_freedom=18),
            line("D", 6.0, degrees_of_freedom=24),
            line("d_1", 4.0, degrees_of_freedom=5),
            line("d_2", 7.0, degrees_of_freedom=8),
            line("alpha_S", 2e-6, distribution="rectangular"),
            line("theta_0", 0.2),
            line("Delta", 0.5, distribution="arcsine"),
            line("d_alpha", 1e-6, distribution="rectangular", degrees_of_freedom=50),
            line("d_theta", 0.05, distribution="rectangular", degrees_of_freedom=2),
        )
    )


def gauge_model(l_s, d, d_1, d_2, alpha_s, theta_0, delta, d_alpha, d_theta):
    return l_s + d + d_1 + d_2 - l_s * (d_alpha * (theta_0 + delta) + alpha_s * d_theta) - 50e6


def test_9_5_gauge_block() -> None:
    """Table 11: estimate 838 nm and u = 36 nm; the budget of JCGM 100 H.1 has 32 nm."""
    estimates = {"L_S": 50_000_623.0, "D": 215.0, "alpha_S": 11.5e-6, "theta_0": -0.1}
    result = propagate(gauge_block(), rng=generator(), probability=0.99, model=gauge_model, estimates=estimates)
    assert round(result.estimate) == 838
    assert round(result.standard_uncertainty) == 36


def test_9_5_interval_agrees_with_draws_made_with_scipy() -> None:
    """The same distributions drawn with scipy.stats, by the definitions of 6.4, as a second way."""
    count, rng = 400_000, generator(1)

    def curvilinear(half: float, d: float) -> np.ndarray:
        low = stats.uniform.rvs(-half - d, 2 * d, size=count, random_state=rng)
        return stats.uniform.rvs(low, -2 * low, size=count, random_state=rng)  # ends at -low

    draws = [
        50_000_623 + 25 * stats.t.rvs(18, size=count, random_state=rng),
        215 + 6 * stats.t.rvs(24, size=count, random_state=rng),
        4 * stats.t.rvs(5, size=count, random_state=rng),
        7 * stats.t.rvs(8, size=count, random_state=rng),
        stats.uniform.rvs(9.5e-6, 4e-6, size=count, random_state=rng),
        stats.norm.rvs(-0.1, 0.2, size=count, random_state=rng),
        stats.arcsine.rvs(-0.5, 1.0, size=count, random_state=rng),
        curvilinear(1.0e-6, 0.1e-6),  # the half-widths d of 9.5.2: 0.1e-6 for 50 degrees of freedom,
        curvilinear(0.050, 0.025),  # 0.025 for 2
    ]
    expected = np.quantile(gauge_model(*draws), [0.005, 0.995])
    estimates = {"L_S": 50_000_623.0, "D": 215.0, "alpha_S": 11.5e-6, "theta_0": -0.1}
    result = propagate(gauge_block(), rng=generator(), probability=0.99, model=gauge_model, estimates=estimates)
    assert result.symmetric_interval == pytest.approx(tuple(expected), abs=2.5)  # the ends scatter by 0.5 nm


@pytest.mark.parametrize(
    ("one", "reference"),
    [
        (line("x", 2.0), stats.norm(scale=2.0)),
        (line("x", 2.0, k=2.0), stats.norm(scale=1.0)),
        (line("x", 2.0, degrees_of_freedom=4), stats.t(4, scale=2.0)),
        (line("x", 2.0, distribution="rectangular"), stats.uniform(-2, 4)),
        (line("x", 2.0, distribution="triangular"), stats.triang(0.5, -2, 4)),
        (line("x", 2.0, distribution="arcsine"), stats.arcsine(-2, 4)),
        (line("x", 2.0, distribution="trapezoidal", beta=0.5), stats.trapezoid(0.25, 0.75, -2, 4)),
    ],
)
def test_6_4_draws_have_their_distribution(one: BudgetLine, reference) -> None:
    """The quantiles of a million draws against scipy.stats, at five probabilities."""
    budget = Budget(lines=(one,))
    for probability in (0.5, 0.8, 0.95):
        result = propagate(budget, rng=generator(), probability=probability)
        tails = ((1 - probability) / 2, (1 + probability) / 2)
        held = reference.cdf(result.symmetric_interval)
        assert held == pytest.approx(tails, abs=0.003)  # a share of a million draws scatters by 0.0005
    assert one.standard_uncertainty == pytest.approx(
        reference.std() if one.degrees_of_freedom == math.inf else 2.0, rel=1e-12
    )


@pytest.mark.parametrize("nu", [2.0, 12.5, 50.0])
def test_6_4_3_curvilinear_trapezoid(nu: float) -> None:
    """6.4.3.3: u^2 = (b - a)^2/12 + d^2/9; d by JCGM 100:2008, G.4.2, as in the example of 9.5."""
    half_width = 3.0
    d = half_width / math.sqrt(2.0 * nu)
    budget = Budget(lines=(line("x", half_width, distribution="rectangular", degrees_of_freedom=nu),), estimate=10.0)
    result = propagate(budget, rng=generator())
    assert result.estimate == pytest.approx(10.0, abs=0.01)
    expected = math.sqrt((2.0 * half_width) ** 2 / 12.0 + d**2 / 9.0)
    assert result.standard_uncertainty == pytest.approx(expected, rel=0.003)  # it scatters by 0.0005
    whole = propagate(budget, rng=generator(), probability=0.9999).shortest_interval
    assert half_width < whole[1] - 10.0 < half_width + d


@pytest.mark.parametrize("nu", [math.inf, 5.0])
@pytest.mark.parametrize("r", [-1.0, -0.5, 0.99, 1.0])
def test_correlated_lines(r: float, nu: float) -> None:
    lines = (
        line("a", 3.0, degrees_of_freedom=nu),
        line("b", 2.0, degrees_of_freedom=nu, sensitivity_coefficient=-2.0),
        line("c", 1.0),
    )
    budget = Budget(lines=lines[:2], correlations={("a", "b"): r})
    result = propagate(budget, rng=generator())
    u = budget.combined_standard_uncertainty
    assert u == pytest.approx(math.sqrt(9 + 16 - 2 * 12 * r))
    end = (stats.norm if math.isinf(nu) else stats.t(nu)).ppf(0.975) * u
    assert result.symmetric_interval == pytest.approx((-end, end), rel=0.01)


def test_the_same_generator_state_gives_the_same_result() -> None:
    first, second = (propagate(mass_budget(), rng=generator(3), trials=20_000) for _ in range(2))
    assert first.symmetric_interval == second.symmetric_interval
    assert first.standard_uncertainty == second.standard_uncertainty


def test_two_degrees_of_freedom_have_an_interval_but_no_standard_uncertainty() -> None:
    budget = Budget(lines=(line("three repeats", 1.0, degrees_of_freedom=2),))
    result = propagate(budget, rng=generator())
    assert result.standard_uncertainty is None
    assert "2 degrees of freedom has no finite variance" in result.undetermined
    assert result.symmetric_interval == pytest.approx((-4.303, 4.303), rel=0.02)  # t, Table G.2
    with pytest.raises(BudgetError, match="no number of trials makes the result stable"):
        propagate_adaptively(budget, rng=generator())


def test_7_7_intervals_of_discrete_values() -> None:
    """7.7: with M = 10 000 and p = 0.95, q = 9500 and the symmetric interval is [y(250), y(9750)]."""
    ordered = np.arange(1.0, 10_001.0)
    assert symmetric_interval(ordered) == (250.0, 9750.0)
    skewed = np.sort(stats.expon.ppf((ordered - 0.5) / 10_000))
    low, high = shortest_interval(skewed)
    assert low == skewed[0]
    assert high == pytest.approx(-math.log(0.05), rel=2e-3)


def test_7_9_2_numerical_tolerance() -> None:
    """7.9.2, examples: u = 35 g to two digits gives 0.5 g, u = 2 g to one digit gives 0.5 g."""
    assert numerical_tolerance(35.0, digits=2) == 0.5
    assert numerical_tolerance(2.0, digits=1) == 0.5
    assert numerical_tolerance(0.0754, digits=1) == pytest.approx(0.005)
    assert numerical_tolerance(0.0996, digits=2) == pytest.approx(0.005)  # 0.10


def test_7_9_4_number_of_trials() -> None:
    assert minimum_trials(0.95) == 2000
    assert minimum_trials(0.99) == 10_000
    result = propagate_adaptively(Budget(lines=(line("x", 1.0),)), rng=generator(), max_trials=30_000, tolerance=1e-6)
    assert result.trials == 30_000
    assert result.stable is False


@pytest.mark.parametrize(
    ("lines", "correlations", "options", "found"),
    [
        (
            (line("two repeats", 1.0, degrees_of_freedom=1),),
            {},
            {},
            "'two repeats': with 1 degrees of freedom",
        ),
        (
            (line("a", 1.0, distribution="rectangular"), line("b", 1.0)),
            {("a", "b"): 0.5},
            {},
            "'a': it is rectangular and correlated",
        ),
        (
            (line("a", 1.0, degrees_of_freedom=5), line("b", 1.0)),
            {("a", "b"): 0.5},
            {},
            "'a', 'b': they are correlated but differ in degrees of freedom",
        ),
        ((line("a", 1.0),), {}, {"trials": 100}, "100 trials are too few"),
        ((line("a", 1.0),), {}, {"probability": 1.0}, "coverage probability is 1.0"),
        ((line("a", 1.0),), {}, {"model": lambda a: a / 0.0}, "returned a value that is not finite"),
        ((line("a", 1.0),), {}, {"estimates": {"b": 1.0}}, "an estimate for 'b' but no such line"),
    ],
)
def test_refusals_name_what_was_found(lines, correlations, options, found: str) -> None:
    budget = Budget(lines=lines, correlations=correlations)
    with np.errstate(divide="ignore"), pytest.raises(BudgetError, match=found):
        propagate(budget, rng=generator(), **options)


def test_validation_refuses_unlike_coverage_probabilities() -> None:
    budget = Budget(lines=(line("x", 1.0),))
    with pytest.raises(BudgetError, match=r"0\.99 and 0\.95"):
        validate_gum(0.0, budget.expanded(probability=0.99), propagate(budget, rng=generator()))


def test_the_fewest_trials_are_a_hundred_over_what_is_left_of_the_probability() -> None:
    """Clause 7.9.4: 100/(1 - p), 2000 of 95 %, 10 000 of 99 %."""
    budget = Budget(lines=(BudgetLine(name="x", value=1.0, kind="common"),))
    for probability, fewest in ((0.95, 2000), (0.99, 10_000)):
        propagate(budget, rng=np.random.default_rng(1), trials=fewest, probability=probability)
        said = rf"{fewest - 1} trials are too few for a {100 * probability:g} % interval; give at least {fewest}, "
        with pytest.raises(BudgetError, match=said):
            propagate(budget, rng=np.random.default_rng(1), trials=fewest - 1, probability=probability)


@pytest.mark.parametrize(("digits", "tolerance"), [(1, None), (2, None), (1, 0.02)])
def test_blocks_are_added_until_twice_their_scatter_lies_within_the_tolerance(digits, tolerance) -> None:
    """Clause 7.9.4, followed block by block: the same draws, one fixed number of trials after the other."""
    lines = (BudgetLine(name="a", value=1.0, kind="common", distribution="rectangular"),
             BudgetLine(name="b", value=0.4, kind="common"))  # fmt: skip
    budget = Budget(lines=lines, estimate=7.0)
    found = propagate_adaptively(
        budget, rng=np.random.default_rng(4), digits=digits, tolerance=tolerance, max_trials=600_000
    )
    rng, rows, draws = np.random.default_rng(4), [], []
    for _ in range(60):
        block = propagate(budget, rng=rng, trials=10_000)
        rows.append([block.estimate, block.standard_uncertainty, *block.shortest_interval, *block.symmetric_interval])
        draws.append((block.estimate, block.standard_uncertainty))
        if len(rows) < 2:
            continue
        m, s = np.array(draws).T
        everything = np.sum(9_999 * s**2 + 10_000 * (m - m.mean()) ** 2) / (10_000 * len(m) - 1)  # variance of all
        limit = numerical_tolerance(math.sqrt(everything), digits=digits) if tolerance is None else tolerance
        if (2.0 * np.std(rows, axis=0, ddof=1) / math.sqrt(len(rows)) < limit).all():
            break
    assert found.trials == 10_000 * len(rows)
    assert found.tolerance == pytest.approx(limit)
    assert found.stable is (found.trials < 600_000)
    assert found.standard_uncertainty == pytest.approx(math.sqrt(everything), rel=1e-9)
