"""JCGM 106:2012, conformance probabilities and risks.

Printed figures are from memory. The digits beyond them come from quadrature and a Monte Carlo run of four
million trials, made apart from this package.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, stats

from vibcal_nb.metrology.conformity.conformance_probability import (
    ConformityError,
    ToleranceLimits,
    conformity_of,
    probability_of_conformity,
    probability_of_nonconformity,
)
from vibcal_nb.metrology.conformity.risk import global_risk, guard_ratio, measurement_capability
from vibcal_nb.metrology.numerics.quadrature import normal_expectation

SINGLE = [  # description, value, u, limits, probability as printed, recomputed
    ("7.3 Zener diode, V", -5.47, 0.05, ToleranceLimits(upper=-5.40), 0.92, 0.9192433407662273),
    ("7.3 metal container, kPa", 509.7, 8.6, ToleranceLimits(lower=490.0), 0.99, 0.9890095473848222),
    ("7.4 SAE 40 oil, mm2/s", 13.6, 1.8, ToleranceLimits(lower=12.5, upper=16.3), 0.66, 0.6626297864953079),
]
Z_ONE_SIDED = {0.80: 0.84, 0.90: 1.28, 0.95: 1.64, 0.99: 2.33, 0.999: 3.09}  # Table 1
RESISTOR = ToleranceLimits(lower=1499.8, upper=1500.2)  # ohm
RESISTOR_RISKS = [  # guard band in ohm, consumer's risk, producer's risk
    (0.02, 0.009878291521774324, 0.0690265104613329),  # printed 0.01 and 0.07
    (0.0, 0.01894220671702177, 0.037207800177953596),
    (0.08, 0.0004686335988720582, 0.2476696402005545),
]
CAPABILITY = {  # C_m: at the centre, at a limit, part of T with 95 %; recomputed by the formula of 7.5
    1: (0.9544997361, 0.49997, 0.10189363970),
    2: (0.99993665752, 0.5, 0.58878659301),
    3: (0.999999998, 0.5, 0.72585772884),
    4: (1.0, 0.5, 0.79439329663),
    5: (1.0, 0.5, 0.83551463730),
    10: (1.0, 0.5, 0.91775731865),
}


@pytest.mark.parametrize(("what", "value", "u", "limits", "printed", "full"), SINGLE)
def test_7_conformance_probability(what, value, u, limits, printed, full) -> None:
    probability = float(probability_of_conformity(value, u, limits))
    assert round(probability, 2) == printed, what
    assert probability == pytest.approx(full, rel=1e-14)
    assert float(probability_of_nonconformity(value, u, limits)) == pytest.approx(1.0 - full, rel=1e-13)


@pytest.mark.parametrize(("probability", "z"), Z_ONE_SIDED.items())
def test_table_1_guarded_value_for_a_conformance_probability(probability: float, z: float) -> None:
    guard = guard_ratio(1.0 - probability, k=1.0)
    assert guard == pytest.approx(z, abs=0.0051)  # 1.64 is printed for 1.645
    limits = ToleranceLimits(upper=10.0)
    assert float(probability_of_conformity(10.0 - guard, 1.0, limits)) == pytest.approx(probability)


def test_guard_band_for_95_percent() -> None:
    assert guard_ratio(0.05, k=1.0) == pytest.approx(1.6448536269514722, rel=1e-14)
    assert guard_ratio(0.05) == pytest.approx(0.8224268134757361, rel=1e-14)


def test_far_tails_keep_their_digits() -> None:
    limits = ToleranceLimits(lower=-1.0, upper=1.0)
    outside = float(probability_of_nonconformity(0.0, 0.1, limits))
    assert outside == pytest.approx(2.0 * stats.norm.sf(10.0), rel=1e-12)
    for value in (-3.0, 3.0):
        inside = float(probability_of_conformity(value, 0.1, limits))
        assert inside == pytest.approx(stats.norm.sf(20.0), rel=1e-12)
    one_sided = float(probability_of_conformity(0.0, 0.1, ToleranceLimits(lower=1.0)))
    assert one_sided == pytest.approx(stats.norm.sf(10.0), rel=1e-12)


def test_finite_degrees_of_freedom_take_student() -> None:
    limits = ToleranceLimits(lower=-1.0, upper=2.0)
    expected = stats.t(3, loc=0.5, scale=0.7)
    probability = float(probability_of_conformity(0.5, 0.7, limits, nu=3.0))
    assert probability == pytest.approx(expected.cdf(2.0) - expected.cdf(-1.0), rel=1e-12)


@pytest.mark.parametrize("nu", [math.inf, 3.0])
def test_without_uncertainty_the_answer_is_yes_or_no(nu: float) -> None:
    limits = ToleranceLimits(lower=-1.0, upper=1.0)
    values = [-1.1, -1.0, 0.0, 1.0, 1.1]
    assert probability_of_conformity(values, 0.0, limits, nu=nu).tolist() == [0, 1, 1, 1, 0]
    assert probability_of_nonconformity(values, 0.0, limits, nu=nu).tolist() == [1, 0, 0, 0, 1]


@pytest.mark.parametrize(("guard", "consumer", "producer"), RESISTOR_RISKS)
def test_9_5_resistors(guard: float, consumer: float, producer: float) -> None:
    """1500.0 ohm, process u0 = 0.12, measurement u = 0.04; the example accepts 1499.82 to 1500.18."""
    accepted = ToleranceLimits(lower=1499.8 + guard, upper=1500.2 - guard)
    risk = global_risk(RESISTOR, accepted, process_mean=1500.0, process_sd=0.12, measurement_uncertainty=0.04)
    # 1500.2 - 1500 is known to 1e-13 of 0.2 only, which costs the last digits of the risks
    assert risk.consumer == pytest.approx(consumer, rel=1e-10)
    assert risk.producer == pytest.approx(producer, rel=1e-10)
    assert risk.nonconforming == pytest.approx(0.0955807045456294, rel=1e-10)


def test_9_5_resistors_as_printed() -> None:
    accepted = ToleranceLimits(lower=1499.82, upper=1500.18)
    risk = global_risk(RESISTOR, accepted, process_mean=1500.0, process_sd=0.12, measurement_uncertainty=0.04)
    assert (round(risk.consumer, 2), round(risk.producer, 2)) == (0.01, 0.07)


def test_nothing_accepted_is_all_conforming_items_rejected() -> None:
    risk = global_risk(RESISTOR, None, process_mean=1500.0, process_sd=0.12, measurement_uncertainty=0.04)
    assert risk.consumer == 0.0
    assert risk.producer == pytest.approx(1.0 - risk.nonconforming)


@pytest.mark.parametrize("ratio", [1e-3, 0.05, 0.5, 5.0])
def test_global_risk_agrees_with_scipy_quadrature(ratio: float) -> None:
    """One-sided limits, an off-centre process, and measurements far better and far worse than it."""
    limits, accepted = ToleranceLimits(upper=1.0), ToleranceLimits(upper=0.9)
    mean, sd, u = 0.4, 0.5, 0.5 * ratio

    def wrongly_accepted(item: float) -> float:
        return stats.norm.pdf(item, mean, sd) * stats.norm.cdf((0.9 - item) / u)

    def wrongly_rejected(item: float) -> float:
        return stats.norm.pdf(item, mean, sd) * stats.norm.sf((0.9 - item) / u)

    points = sorted({min(0.9 + c * u, 1.0 - 1e-9) for c in (-6, -2, 0, 2, 6) if 0.9 + c * u > mean - 9 * sd})
    options = {"epsabs": 1e-13, "epsrel": 1e-11, "limit": 500}
    consumer = integrate.quad(wrongly_accepted, 1.0, mean + 9 * sd, **options)[0]
    producer = integrate.quad(wrongly_rejected, mean - 9 * sd, 1.0, points=points, **options)[0]
    risk = global_risk(limits, accepted, process_mean=mean, process_sd=sd, measurement_uncertainty=u)
    assert risk.consumer == pytest.approx(consumer, rel=1e-8, abs=1e-12)
    assert risk.producer == pytest.approx(producer, rel=1e-8)


@pytest.mark.parametrize(("index", "expected"), CAPABILITY.items())
def test_measurement_capability(index: int, expected: tuple[float, float, float]) -> None:
    limits = ToleranceLimits(lower=0.0, upper=4.0)
    capability = measurement_capability(limits, 1.0 / index)
    assert capability.index == pytest.approx(index)
    assert round(capability.probability_at_centre, 9) == pytest.approx(round(expected[0], 9), abs=1e-12)
    assert round(capability.probability_at_limit, 5) == expected[1]
    assert capability.acceptance_fraction == pytest.approx(expected[2], abs=6e-12)


def test_a_poor_measurement_can_nowhere_state_95_percent() -> None:
    assert measurement_capability(ToleranceLimits(lower=0.0, upper=4.0), 1.1).acceptance_fraction is None


def test_normal_expectation_of_jumps_and_powers() -> None:
    assert normal_expectation(np.ones_like) == pytest.approx(1.0, abs=1e-14)
    assert normal_expectation(lambda z: z**4) == pytest.approx(3.0, abs=1e-12)
    step = normal_expectation(lambda z: (z > 0.3217).astype(float), transitions=[(0.3217, 0.0)])
    assert step == pytest.approx(stats.norm.sf(0.3217), abs=1e-14)


@pytest.mark.parametrize(
    ("call", "found"),
    [
        (ToleranceLimits, "limits are None and None"),
        (lambda: ToleranceLimits(lower=2.0, upper=1.0), "lower limit 2.0 lies above the upper 1.0"),
        (lambda: ToleranceLimits(upper=math.nan), "limits are None and nan"),
        (lambda: guard_ratio(0.6), "specific risk is 0.6"),
        (lambda: measurement_capability(ToleranceLimits(upper=1.0), 1.0), "limits are None and 1.0"),
        (lambda: measurement_capability(RESISTOR, 0.0), "standard uncertainty is 0.0"),
        (
            lambda: global_risk(RESISTOR, None, process_mean=1500.0, process_sd=0.0, measurement_uncertainty=0.04),
            "standard deviation of the process is 0.0",
        ),
    ],
)
def test_refusals_name_what_was_found(call, found: str) -> None:
    with pytest.raises(ConformityError, match=found):
        call()


@pytest.mark.parametrize("value", [-25.0, -5.1, -5.0, 0.3, 5.0, 5.1, 25.0])
@pytest.mark.parametrize("nu", [3.0, math.inf])
def test_one_value_alone_has_the_probabilities_of_an_array_of_one(value: float, nu: float) -> None:
    """From scipy.stats, by the tails that keep their digits far outside: 20 u beyond a limit it is 2.75e-89."""
    law = stats.norm() if math.isinf(nu) else stats.t(nu)
    for lower, upper in ((-5.0, 5.0), (None, 5.0), (-5.0, None)):
        limits = ToleranceLimits(lower=lower, upper=upper)
        below = math.inf if lower is None else value - lower
        above = math.inf if upper is None else upper - value
        near, far = min(below, above), max(below, above)
        inside, outside = conformity_of(value, 1.0, limits, nu=nu)
        assert inside == pytest.approx(law.cdf(near) - law.sf(far), rel=1e-9, abs=0.0)
        assert outside == pytest.approx(law.sf(below) + law.sf(above), rel=1e-9, abs=0.0)
        assert float(probability_of_conformity(value, 1.0, limits, nu=nu)) == pytest.approx(inside, rel=1e-12)


@pytest.mark.parametrize(("value", "inside"), [(5.0, 1.0), (-5.0, 1.0), (5.1, 0.0), (-5.1, 0.0), (0.0, 1.0)])
def test_one_value_without_uncertainty_lies_inside_or_outside(value: float, inside: float) -> None:
    assert conformity_of(value, 0.0, ToleranceLimits(lower=-5.0, upper=5.0)) == (inside, 1.0 - inside)


@pytest.mark.parametrize("risk", [0.0, -0.1, 0.51, 1.0])
def test_a_guard_band_for_no_risk_or_for_more_than_a_half_is_refused(risk: float) -> None:
    with pytest.raises(ConformityError, match=r"give a number above 0 and up to 0\.5"):
        guard_ratio(risk)


def test_a_risk_of_a_half_needs_no_guard_band() -> None:
    assert guard_ratio(0.5) == 0.0
    assert guard_ratio(0.05) == pytest.approx(0.82, abs=0.005)  # 8.3.2.2
