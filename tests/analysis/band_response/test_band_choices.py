"""How a band model is chosen and what is stated of it: criterion, weights, noise floor and adequacy in a second way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize, stats

from tests.support.readings.cases import butterworth
from vibcal_nb.analysis.band_response.band_model import evaluate_band, evaluate_band_uncertainty, fit_band
from vibcal_nb.analysis.sensor_alone.sensor_candidates import (
    DROOP,
    FALL,
    RISE,
    TERMS,
    LogResponse,
    choices,
    columns,
    fit_choices,
)
from vibcal_nb.analysis.sensor_alone.sensor_model import evaluate_sensor, fit_sensor
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors

HZ = np.geomspace(5.0, 1600.0, 26)
REFERENCE_HZ = float(HZ[12])
RNG = np.random.default_rng(4)
SCATTERED = butterworth(HZ, low=(20.0, 2), high=(400.0, 2)) * np.exp(0.004 * RNG.standard_normal(HZ.size))


def fit(s=SCATTERED, *, hz=HZ, u_rel=0.004, **how):
    return fit_band(hz, s, u_rel=u_rel, reference_hz=REFERENCE_HZ, **how)


def taken(s):
    return s >= 10.0**-1.5 * s.max()


def orders_tried(found):
    return {(low, high) for (low, _), (high, _) in found.butterworth.sides}


def test_the_criterion_is_akaikes_for_known_errors():
    """Chi-squared by the stated uncertainty and twice the parameters."""
    found = fit(is_butterworth=True)
    use = taken(SCATTERED)
    n = int(use.sum())
    residual = np.log(SCATTERED[use] / evaluate_band(found, HZ[use]))
    chi_squared = float(residual @ residual) / 0.004**2
    assert found.sides == ((2, 0), (2, 0))
    assert found.fitness.chi_squared == pytest.approx(chi_squared, rel=1e-9)
    assert found.found.criterion.min() == pytest.approx(chi_squared + 2 * 3, rel=1e-9)
    assert found.fitness.degrees_of_freedom == n - 3
    assert found.scatter == pytest.approx(math.sqrt(float(residual @ residual) / (n - 3)), rel=1e-9)


def test_weights_follow_from_the_criteria():
    found = fit().butterworth
    weights = np.exp(-0.5 * (found.criterion - found.criterion.min()))
    assert found.weights == pytest.approx(weights / weights.sum())
    assert orders_tried(fit()) == {(a, b) for a in range(9) for b in range(9)}


@pytest.mark.parametrize(("db", "counts"), [(-29.0, True), (-31.0, False)])
def test_readings_30_db_below_the_greatest_take_no_part(db, counts):
    hz = np.append(HZ[(HZ > 8.0) & (HZ < 1000.0)], 3000.0)
    s = butterworth(hz, low=(20.0, 2), high=(400.0, 2))
    s[-1] = s.max() * 10.0 ** (db / 20.0)
    assert fit(s, hz=hz).found.swept.ln_f.size == hz.size - (0 if counts else 1)


@pytest.mark.parametrize(("lowest", "orders"), [(0.986, {0}), (0.984, set(range(9)))])
def test_a_side_that_stays_above_98_5_percent_of_the_plateau_gets_no_filter(lowest, orders):
    s = np.array([lowest, *np.ones(9), 0.5, 0.2])
    tried = orders_tried(fit(s, hz=HZ[:12]))
    assert {low for low, _ in tried} == orders
    assert {high for _, high in tried} == set(range(9))


def test_an_order_is_stated_where_no_other_has_a_third_of_its_weight():
    seen = set()
    for seed in range(30):
        rng = np.random.default_rng(seed)
        hz = np.geomspace(17.0, 470.0, 9)
        s = butterworth(hz, low=(20.0, 2), high=(400.0, 2)) * np.exp(0.03 * rng.standard_normal(hz.size))
        found = fit(s, hz=hz, u_rel=0.03, is_butterworth=True)
        for side, name in enumerate(("low", "high")):
            corner = found.corners[name]
            if corner.hz is None or found.shape_refuted or not found.adequate:
                continue
            weights = {}
            for orders, weight in zip(found.found.sides, found.found.weights, strict=True):
                weights[orders[side][0]] = weights.get(orders[side][0], 0.0) + weight
            best = found.sides[side][0]
            rivals = [n for n, w in weights.items() if n != best and 3.0 * w > weights[best]]
            assert corner.order == (None if rivals else best)
            alike = " and ".join(str(n) for n in sorted([*rivals, best]))
            said = f"the readings do not tell the orders {alike} apart" if rivals else None
            assert corner.why.get("order") == said
            seen.add(corner.order is None)
    assert seen == {True, False}


@pytest.mark.parametrize("is_butterworth", [True, False])
def test_an_interval_holds_half_power_of_the_plateau_and_of_the_reference(is_butterworth):
    """Of a stated Butterworth filter its own corner; else the interval of either meaning, by scipy's root finder."""
    found = fit(is_butterworth=is_butterworth)
    assert found.fitness.widening == 1.0
    for name, guess in (("low", 20.0), ("high", 400.0)):
        corner = found.corners[name]
        level = math.sqrt(0.5) * evaluate_band(found, REFERENCE_HZ)
        other = optimize.brentq(lambda f, level=level: evaluate_band(found, f) - level, 0.8 * guess, 1.2 * guess)
        apart = 0.0 if is_butterworth else math.log(other / corner.hz)
        k = float(stats.norm.ppf(0.975)) + 0.5 * abs(apart) / corner.expanded.u
        middle = corner.hz * math.exp(0.5 * apart)
        assert corner.expanded.k == pytest.approx(k, rel=1e-6)
        assert pytest.approx(k * corner.expanded.u, rel=1e-9) == corner.expanded.U
        spread = math.exp(corner.expanded.U)
        assert corner.interval_hz == pytest.approx((middle / spread, middle * spread), rel=1e-7)


@pytest.mark.parametrize("u_rel", [0.002, 0.02])
def test_chi_squared_decides_at_a_tenth_of_a_percent_whether_a_model_holds(u_rel):
    seen = set()
    for size in np.linspace(0.8, 2.2, 15) * u_rel:
        s = butterworth(HZ, low=(20.0, 2), high=(400.0, 2)) * np.exp(size * np.resize([1.0, -1.0], HZ.size))
        found = fit(s, u_rel=u_rel)
        use = taken(s)
        residual = np.log(s[use] / evaluate_band(found, HZ[use])) / u_rel
        freedom = int(use.sum() - found.found.present[found.found.best].sum())
        assert found.fitness.degrees_of_freedom == freedom
        assert found.fitness.holds == (stats.chi2.sf(float(residual @ residual), freedom) >= 0.001)
        assert found.adequate == found.fitness.holds
        seen.add(found.adequate)
        if not found.adequate:
            rms = 100.0 * u_rel * math.sqrt(float(np.mean(residual**2)))
            assert f"{rms:.2g} % (rms) off the best where" in found.inadequate
    assert seen == {True, False}


def test_errors_known_from_repeats_make_chi_squared_an_f():
    """Of 8 degrees of freedom in the errors themselves, scipy's F in place of chi-squared."""
    found = fit(u_rel=0.0025, errors_nu=8.0)
    nu = found.fitness.degrees_of_freedom
    expected = stats.f.sf(found.fitness.chi_squared / nu, nu, 8.0)
    assert found.fitness.p_value == pytest.approx(expected, rel=1e-9)
    assert stats.chi2.sf(found.fitness.chi_squared, nu) < 0.25 * expected


def test_a_covariance_is_widened_where_chi_squared_asks_for_it_and_never_made_smaller():
    """At 5 % and beyond by chi-squared over its degrees of freedom; far below 5 % not at all."""
    widths = []
    for u_rel in (0.003, 0.004, 0.02):
        found = fit(u_rel=u_rel, is_butterworth=True)
        ratio = found.fitness.chi_squared / found.fitness.degrees_of_freedom
        widens = stats.chi2.sf(found.fitness.chi_squared, found.fitness.degrees_of_freedom) < 0.05
        assert found.fitness.widening == (pytest.approx(ratio) if widens else 1.0)
        assert found.fitness.nu == (found.fitness.degrees_of_freedom if widens else math.inf)
        widths.append(found.low.expanded.u / u_rel)
    assert widths[0] > 1.2 * widths[1]  # scatter of 0.4 % where 0.3 % is stated
    assert widths[2] == pytest.approx(widths[1], rel=1e-3)  # and where 2 % is stated


def test_the_uncertainty_of_a_corner_without_rivals_is_that_of_weighted_least_squares():
    """Numeric derivatives of the closed form itself, with the stated uncertainty."""
    found = fit(is_butterworth=True)
    use = taken(SCATTERED)
    f, (ln_s0, ln_low, ln_high) = HZ[use], found.found.parameters[found.found.best]

    def ln_s(p):
        low, high = 4.0 * (p[1] - np.log(f)), 4.0 * (np.log(f) - p[2])
        return p[0] - 0.5 * np.log1p(np.exp(low)) - 0.5 * np.log1p(np.exp(high))

    p = np.array([ln_s0, ln_low, ln_high])
    design = np.stack([(ln_s(p + h) - ln_s(p - h)) / 2e-5 for h in 1e-5 * np.eye(3)], axis=1)
    expected = np.linalg.inv(design.T @ design) * 0.004**2
    assert found.fitness.widening == 1.0
    assert found.covariance == pytest.approx(expected, rel=1e-5)


SENSOR_HZ = np.geomspace(10.0, 5000.0, 20)
WAVES = np.exp(0.001 * np.random.default_rng(9).standard_normal(SENSOR_HZ.size))


@pytest.mark.parametrize(
    ("name", "column", "shape"),
    [
        ("rise", RISE, 1.0 / (1.0 - (SENSOR_HZ / 20e3) ** 2)),
        ("droop", DROOP, 1.0 / np.sqrt(1.0 + (5.0 / SENSOR_HZ) ** 2)),
        ("fall", FALL, 1.0 - 0.02 * (np.log10(SENSOR_HZ) - np.log10(SENSOR_HZ).mean())),
    ],
)
def test_a_sensors_term_is_stated_with_its_interval(name, column, shape):
    """(fmax/fn)^2 and (f1/fmin)^2 are fitted: half their relative uncertainty is that of the frequency."""
    found = fit_sensor(SENSOR_HZ, 5.0 * shape * WAVES, u_rel=0.001, low_end="first order")
    assert found.terms == (name,) and found.fitness.widening == 1.0
    p = float(found.parameters[column])
    half = 1.959964 * math.sqrt(found.covariance[1, 1])
    stated = {"rise": found.physics.resonance, "droop": found.physics.leak, "fall": found.physics.fall}[name]
    value, (low, high) = stated.value, stated.interval
    if name == "fall":
        assert (value, low, high) == pytest.approx((100.0 * p, 100.0 * (p - half), 100.0 * (p + half)))
        assert value == pytest.approx(2.0, abs=0.2)
    else:
        at = SENSOR_HZ[-1] / math.sqrt(p) if name == "rise" else SENSOR_HZ[0] * math.sqrt(p)
        spread = math.exp(half / p / 2.0)
        assert (value, high) == pytest.approx((at, at * spread))
        assert low == pytest.approx(at / spread) or name == "rise"
        assert low <= at / spread * (1.0 + 1e-9)
        assert value == pytest.approx(20e3 if name == "rise" else 5.0, rel=0.05)
    residual = np.log(5.0 * shape * WAVES / evaluate_sensor(found, SENSOR_HZ))
    assert found.scatter == pytest.approx(math.sqrt(float(residual @ residual) / (SENSOR_HZ.size - 2)))
    assert found.fitness.chi_squared == pytest.approx(float(residual @ residual) / 1e-6)


def test_a_sensor_at_its_resonance_has_no_end():
    found = fit_sensor(SENSOR_HZ, 5.0 / (1.0 - (SENSOR_HZ / 20e3) ** 2) * WAVES, u_rel=0.001)
    below, at, above = evaluate_sensor(
        found,
        [0.999 * found.physics.resonance.value, found.physics.resonance.value, 2.0 * found.physics.resonance.value],
    )
    assert 1e2 < below < math.inf
    assert (at, above) == (math.inf, math.inf)
    assert evaluate_sensor(found, 100.0) == pytest.approx(5.0, rel=2e-3)


def test_choices_of_a_sensors_terms_are_compared_by_chi_squared_and_twice_the_parameters():
    s = 5.0 / (1.0 - (SENSOR_HZ / 20e3) ** 2) * WAVES
    tried = choices(("rise", "droop", "fall"), 3)
    assert len(tried) == 8 and tried[0] == ()
    for n in (SENSOR_HZ.size, 7, 6):
        f = SENSOR_HZ[-n:]
        found = fit_choices(tried, f=f, s=s[-n:], errors=CorrelatedErrors(own=np.full(n, 0.001)))
        value = LogResponse(f, fitted_hz=f)(found.parameters)[0]
        squares = (((np.log(s[-n:]) - value) / 0.001) ** 2).sum(axis=1)
        assert found.chi_squared == pytest.approx(squares, rel=1e-9)
        assert found.criterion == pytest.approx([c + 2 * (len(t) + 1) for c, t in zip(squares, tried, strict=True)])
        assert found.best == min((i for i in range(8) if found.significant[i]), key=lambda i: found.criterion[i])


def test_the_choices_of_terms_are_as_many_as_readings_carry():
    """Rise, damped or not; droop of first or second order; fall: 3 x 3 x 2, less those of too many parameters."""
    every = choices(TERMS, 6)
    assert len(every) == len(set(every)) == 18
    assert ("damping",) not in every and ("droop", "second order") not in every
    assert {terms for terms in choices(TERMS, 1) if len(terms) == 1} == {("rise",), ("droop",), ("fall",)}
    assert choices(("second order",), 2) == [(), ("second order",)]
    assert choices(TERMS, 0) == [()]


def test_a_term_is_significant_above_three_of_its_standard_uncertainties():
    s = 5.0 / (1.0 - (SENSOR_HZ / 60e3) ** 2) / np.sqrt(1.0 + (1.0 / SENSOR_HZ) ** 2) * WAVES
    errors = CorrelatedErrors(own=np.full(SENSOR_HZ.size, 0.001))
    found = fit_choices(choices(("rise", "droop", "fall"), 3), f=SENSOR_HZ, s=s, errors=errors)
    assert set(found.significant) == {True, False}
    for i, terms in enumerate(found.terms):
        own = columns(terms)[1:]
        u = np.sqrt(np.diag(found.covariances[i]))
        assert found.significant[i] == all(found.parameters[i, c] > 3.0 * u[c] for c in own)
        absent = [c for c in range(1, 7) if c not in own]
        assert found.covariances[i][:, absent] == pytest.approx(0.0, abs=1e-12)


def test_a_scalar_frequency_has_a_plain_number_and_an_array_its_shape():
    found = fit()
    sensor = fit_sensor(SENSOR_HZ, 5.0 * WAVES, u_rel=0.001)
    for evaluate in (lambda f: evaluate_band(found, f), lambda f: evaluate_band_uncertainty(found, f),
                     lambda f: evaluate_sensor(sensor, f)):  # fmt: skip
        assert type(evaluate(80.0)) is float
        assert evaluate([[80.0, 100.0, 120.0]]).shape == (1, 3)
        assert evaluate([80.0])[0] == evaluate(80.0)


def test_a_fall_beyond_three_tenths_a_decade_is_no_sensors():
    """Judgement, no source: what falls faster is held at the bound and not stated."""
    decades = np.log10(SENSOR_HZ) - np.log10(SENSOR_HZ).mean()
    for fall, stated in ((0.28, True), (0.35, False)):
        found = fit_sensor(SENSOR_HZ, 5.0 * (1.0 - fall * decades) * WAVES, u_rel=0.001, terms=("fall",))
        assert (found.physics.fall.value is not None) is stated
