"""The fitted band: truth from scipy.signal's analogue filters, lmfit as the second way, and what must stay open."""

from __future__ import annotations

import math
from itertools import product

import lmfit
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chi2

from tests.support.readings.cases import butterworth
from vibcal_nb.analysis.band_response.band_model import evaluate_band, evaluate_band_uncertainty, fit_band

ORDERS = [0, 1, 2, 3, 4]
LOW_HZ, HIGH_HZ, PLATEAU = 20.0, 400.0, 4.0
SIDES = ("low", "high")


def frequencies(count, *, first=4.0, last=2000.0):
    """Log-spaced frequencies, the middle one replaced by the reference frequency of 80 Hz."""
    f = np.geomspace(first, last, count)
    f[np.argmin(np.abs(np.log(f / 80.0)))] = 80.0
    return f


def band(f, low_order, high_order, *, low_hz=LOW_HZ, high_hz=HIGH_HZ):
    low = (low_hz, low_order) if low_order else None
    high = (high_hz, high_order) if high_order else None
    return PLATEAU * butterworth(f, low=low, high=high)


def noise(count, seed, relative=0.005):
    return np.exp(relative * np.random.default_rng(seed).standard_normal(count))


def fit(f, s, *, u_rel=0.005, reference_hz=80.0, **how):
    return fit_band(f, s, u_rel=u_rel, reference_hz=reference_hz, **how)


def orders_of(found):
    """Orders of the Butterworth filters that the readings fit best."""
    return tuple(order for order, _ in found.butterworth.sides[found.butterworth.best])


def assert_open(found, side, reason):
    """Corner, interval and order of a side are None, each with the reason."""
    corner = found.corners[side]
    for name in ("hz", "interval_hz", "order"):
        assert getattr(corner, name) is None
        assert reason in corner.why[name]


def assert_consistent(found):
    """Whatever the readings: nothing is NaN, and what is None has its reason."""
    for name, side in product(["hz", "interval_hz", "interpolated_hz", "order"], SIDES):
        value = getattr(found.corners[side], name)
        assert (value is None) == (name in found.corners[side].why), name
        assert value is None or np.isfinite(value).all()
    assert (found.scatter is None) == (found.fitness.degrees_of_freedom == 0)
    for side in SIDES:
        corner, interval = found.corners[side].hz, found.corners[side].interval_hz
        assert corner is None or interval[0] < corner < interval[1]
    assert math.isfinite(found.plateau) and found.plateau > 0.0
    assert np.isfinite(found.covariance).all()
    assert found.found.weights.sum() == pytest.approx(1.0)


# --- truth ---


@pytest.mark.parametrize("count", [25, 31, 40])
@pytest.mark.parametrize(("low_order", "high_order"), list(product(ORDERS, ORDERS)))
def test_noise_free_bands_are_recovered(count, low_order, high_order):
    """Corners to 0.1 % from 25 to 40 log-spaced readings without noise; the order exactly."""
    f = frequencies(count)
    found = fit(f, band(f, low_order, high_order))
    assert_consistent(found)
    for side, order, corner in (("low", low_order, LOW_HZ), ("high", high_order, HIGH_HZ)):
        if order:
            assert found.corners[side].hz == pytest.approx(corner, rel=1e-3)
            assert found.corners[side].order == order
        else:
            assert_open(found, side, f"show no roll-off on the {side}-frequency side")
    assert found.plateau == pytest.approx(PLATEAU, rel=1e-3)
    np.testing.assert_allclose(evaluate_band(found, f), band(f, low_order, high_order), rtol=1e-3)


@settings(max_examples=40, deadline=None)
@given(
    st.integers(25, 40),
    st.floats(1.0, 20.0),
    st.floats(math.log(20.0), math.log(1000.0)),
    st.floats(0.12, 0.35),
    st.floats(0.65, 0.88),
    st.sampled_from(ORDERS),
    st.sampled_from(ORDERS),
)
def test_any_band_is_recovered(count, first, ln_span, low_share, high_share, low_order, high_order):
    f = first * np.exp(np.linspace(0.0, ln_span, count))
    low_hz, high_hz = first * math.exp(ln_span * low_share), first * math.exp(ln_span * high_share)
    s = band(f, low_order, high_order, low_hz=low_hz, high_hz=high_hz)
    found = fit(f, s, reference_hz=math.sqrt(low_hz * high_hz))
    assert (found.low.order or 0, found.high.order or 0) == (low_order, high_order)
    if low_order:
        assert found.low.hz == pytest.approx(low_hz, rel=1e-3)
    if high_order:
        assert found.high.hz == pytest.approx(high_hz, rel=1e-3)


@pytest.mark.parametrize("order", [1, 2, 3, 4])
def test_the_corner_without_a_model_agrees(order):
    """Half power of the reference reading, interpolated: the model's corner where the band is wide and flat."""
    f = np.unique(np.append(np.geomspace(0.2, 40_000.0, 40), 80.0))
    found = fit(f, band(f, order, order, low_hz=2.0, high_hz=4000.0))
    assert found.low.interpolated_hz == pytest.approx(2.0, rel=0.02)
    assert found.high.interpolated_hz == pytest.approx(4000.0, rel=0.02)


def test_half_power_is_meant():
    """A first-order corner of 10^(-3/20) would lie 0.24 % away (trade knowledge; recomputed here)."""
    f = frequencies(40)
    found = fit(f, band(f, 1, 0))
    at_corner = evaluate_band(found, found.low.hz) / found.plateau
    assert at_corner == pytest.approx(math.sqrt(0.5), rel=1e-9)
    three_decibels = LOW_HZ / math.sqrt(10.0 ** (3.0 / 10.0) - 1.0)  # where |HP1| = 10^(-3/20)
    assert three_decibels / LOW_HZ - 1.0 == pytest.approx(0.0024, abs=5e-5)


# --- the second way ---


def lmfit_band(f, s, orders, *, u_rel=0.005):
    """Minimise the same weighted residuals of ln S by lmfit, its covariance that of the stated uncertainties."""
    parameters = lmfit.Parameters()
    parameters.add("ln_s0", value=math.log(s.max()))
    for name, order, start in (("low", orders[0], 25.0), ("high", orders[1], 330.0)):
        if order:
            parameters.add(name, value=math.log(start))

    def residual(p):
        model = p["ln_s0"].value * np.ones_like(f)
        if orders[0]:
            model = model - 0.5 * np.log1p((math.exp(p["low"].value) / f) ** (2 * orders[0]))
        if orders[1]:
            model = model - 0.5 * np.log1p((f / math.exp(p["high"].value)) ** (2 * orders[1]))
        return (np.log(s) - model) / u_rel

    tight = {"xtol": 1e-14, "ftol": 1e-14, "gtol": 1e-14}
    minimizer = lmfit.Minimizer(residual, parameters, scale_covar=False)
    return minimizer, minimizer.minimize(method="leastsq", **tight)


@pytest.mark.parametrize("orders", [(1, 1), (2, 2), (3, 4), (0, 2), (4, 0)])
@pytest.mark.parametrize("seed", [1, 2])
def test_lmfit_finds_the_same_band_and_covariance(orders, seed):
    f = frequencies(30)
    s = band(f, *orders) * noise(30, seed)
    s, f = s[s > 0.04 * s.max()], f[s > 0.04 * s.max()]  # above the readings that the model leaves out
    found = fit(f, s, is_butterworth=True)
    assert found.sides == tuple((n, 0) for n in orders) and not found.shape_refuted
    _, other = lmfit_band(f, s, orders)
    ours = [found.found.parameters[found.found.best, i] for i in (0, 1, 2) if i == 0 or orders[i - 1]]
    np.testing.assert_allclose(ours, [p.value for p in other.params.values()], atol=1e-7)
    np.testing.assert_allclose(found.covariance, other.covar * found.fitness.widening, rtol=1e-4, atol=1e-12)
    assert found.fitness.chi_squared == pytest.approx(other.chisqr, rel=1e-8)
    assert found.fitness.degrees_of_freedom == other.nfree
    # scatter is unweighted, and all weights are alike here
    assert found.scatter == pytest.approx(0.005 * math.sqrt(other.redchi), rel=1e-8)


def test_candidates_rank_by_chi_squared_and_twice_the_parameters():
    """Akaike's criterion where the readings' errors are known from a budget; chi-squared by lmfit."""
    f = frequencies(25)
    s = band(f, 2, 1) * noise(25, 3)
    s, f = s[s > 0.04 * s.max()], f[s > 0.04 * s.max()]
    found = fit(f, s).butterworth
    criteria = {(low, high): c for ((low, _), (high, _)), c in zip(found.sides, found.criterion, strict=True)}
    for orders in [(2, 1), (1, 1), (3, 1), (2, 2), (0, 0), (0, 1)]:
        _, other = lmfit_band(f, s, orders)
        assert criteria[orders] == pytest.approx(other.chisqr + 2.0 * other.nvarys, rel=1e-6)
    weights = np.exp(-0.5 * (np.array(list(criteria.values())) - min(criteria.values())))
    np.testing.assert_allclose(found.weights, weights / weights.sum(), rtol=1e-9)


def test_intervals_agree_with_lmfits_profile():
    """95 % from the covariance against the profile of the residuals, where one order stands out."""
    f = frequencies(35)
    s = band(f, 2, 2) * noise(35, 7)
    s, f = s[s > 0.04 * s.max()], f[s > 0.04 * s.max()]
    found = fit(f, s, is_butterworth=True)
    assert found.found.weights.max() > 0.999 and found.fitness.widening == 1.0
    minimizer, other = lmfit_band(f, s, (2, 2))
    profile = lmfit.conf_interval(
        minimizer, other, sigmas=[0.95], prob_func=lambda best, new: chi2.cdf(new.chisqr - best.chisqr, 1)
    )
    for side in SIDES:
        low, _, high = (math.exp(value) for _, value in profile[side])
        interval = found.corners[side].interval_hz
        np.testing.assert_allclose(np.log(interval), np.log([low, high]), atol=0.02 * math.log(high / low))
        half = 1.959964 * other.params[side].stderr
        np.testing.assert_allclose(math.log(interval[1] / interval[0]) / 2.0, half, rtol=1e-3)


def test_uncertainty_of_the_model_by_lmfit():
    f = frequencies(30)
    s = band(f, 1, 3) * noise(30, 11)
    s, f = s[s > 0.04 * s.max()], f[s > 0.04 * s.max()]
    found = fit(f, s, is_butterworth=True)
    orders = orders_of(found)
    _, other = lmfit_band(f, s, orders)
    step = 1e-6

    def model(values, at):
        low, high = (
            2 * order * sign * (math.log(at) - value)
            for value, order, sign in zip(values[1:], orders, (-1, 1), strict=True)
        )
        return values[0] - 0.5 * np.logaddexp(0.0, low) - 0.5 * np.logaddexp(0.0, high)

    best = np.array([p.value for p in other.params.values()])
    for at in (10.0, 20.0, 80.0, 390.0, 600.0):
        slope = [(model(best + step * e, at) - model(best - step * e, at)) / (2 * step) for e in np.eye(3)]
        expected = math.sqrt(np.array(slope) @ other.covar @ np.array(slope) * found.fitness.widening)
        assert evaluate_band_uncertainty(found, at) == pytest.approx(expected, rel=1e-3)


# --- sane on whatever comes ---


def test_five_points_across_both_corners():
    f = np.array([12.0, 25.0, 80.0, 300.0, 700.0])
    found = fit(f, band(f, 2, 2) * noise(5, 4))
    assert_consistent(found)
    for side, corner in (("low", LOW_HZ), ("high", HIGH_HZ)):
        interval = found.corners[side].interval_hz
        assert interval[0] <= corner <= interval[1]
        assert interval[1] / interval[0] < 1.2


def test_five_points_within_the_band_leave_both_corners_open():
    f = np.array([45.0, 60.0, 80.0, 130.0, 180.0])
    found = fit(f, band(f, 2, 2) * noise(5, 5))
    assert_consistent(found)
    for side in SIDES:
        assert found.corners[side].hz is None
        assert "falls to half power" in found.corners[side].why["interpolated_hz"]


@pytest.mark.parametrize("count", [25, 40])
def test_readings_that_stop_before_the_corner_are_not_extrapolated(count):
    """The model fits a corner beyond the readings well enough to be tempting; it is not stated."""
    f = frequencies(count, first=25.0, last=330.0)
    found = fit(f, band(f, 2, 2))
    assert_consistent(found)
    for side in SIDES:
        assert_open(found, side, "falls to half power (70.7 %) of the mid-band")


@pytest.mark.parametrize("seed", range(5))
def test_no_roll_off_at_all(seed):
    f = frequencies(40)
    found = fit(f, PLATEAU * noise(40, seed))
    assert_consistent(found)
    assert found.plateau == pytest.approx(PLATEAU, rel=0.005)
    for side in SIDES:
        assert_open(found, side, "no roll-off")


@pytest.mark.parametrize(("orders", "closed", "other"), [((2, 0), "low", "high"), ((0, 3), "high", "low")])
def test_one_sided_bands(orders, closed, other):
    f = frequencies(30)
    found = fit(f, band(f, *orders) * noise(30, 9))
    assert_consistent(found)
    assert found.corners[closed].hz == pytest.approx({"low": LOW_HZ, "high": HIGH_HZ}[closed], rel=0.01)
    assert_open(found, other, "no roll-off")


@pytest.mark.parametrize(("height", "width"), [(0.4, 0.15), (1.0, 0.1), (3.0, 0.3)])
def test_a_resonance_inside_the_band_is_no_filter(height, width):
    f = frequencies(40)
    bump = 1.0 + height * np.exp(-((np.log(f / 150.0) / width) ** 2))
    found = fit(f, band(f, 2, 2) * bump)
    assert_consistent(found)
    assert not found.adequate
    for side in SIDES:
        if height < math.sqrt(2.0) - 1.0:
            assert_without_model(found, side, {"low": LOW_HZ, "high": HIGH_HZ}[side])
        else:
            assert_open(found, side, "no band model describes the readings")
            assert_open(found, side, "which marks no plateau")


def assert_without_model(found, side, corner_hz):
    """The corner that uses no model stands in its place, with its own interval, re the reading at 80 Hz."""
    corner = found.corners[side]
    assert (corner.source, corner.order) == ("interpolated", None)
    assert (corner.hz, corner.interval_hz) == (corner.interpolated_hz, corner.interpolated_interval_hz)
    assert corner.interval_hz[0] < corner_hz < corner.interval_hz[1]
    assert "no band model describes the readings" in corner.why["order"]


def test_a_small_resonance_refutes_the_model_and_leaves_the_corners_where_they_are():
    """A bump of 5 % where 0.5 % is known: chi-squared says so, though it shifts the corners little."""
    f = frequencies(40)
    bump = 1.0 + 0.05 * np.exp(-((np.log(f / 150.0) / 0.15) ** 2))
    found = fit(f, band(f, 2, 2) * bump)
    assert not found.adequate
    for side, corner in (("low", LOW_HZ), ("high", HIGH_HZ)):
        assert_without_model(found, side, corner)
        assert found.corners[side].hz == pytest.approx(corner, rel=0.01)


@pytest.mark.parametrize("orders", [(2, 2), (3, 3), (4, 4)])
def test_readings_at_a_low_noise_floor_take_no_part(orders):
    """A floor 46 dB down adds in quadrature where the filter has gone below it."""
    f = frequencies(40, first=1.0, last=8000.0)
    s = np.hypot(band(f, *orders), 0.005 * PLATEAU)
    found = fit(f, s)
    assert_consistent(found)
    assert (found.low.order, found.high.order) == orders
    assert found.low.hz == pytest.approx(LOW_HZ, rel=2e-3)
    assert found.high.hz == pytest.approx(HIGH_HZ, rel=2e-3)


def test_a_high_noise_floor_leaves_the_corners_to_what_needs_no_model():
    """A floor 20 dB down bends the skirts so that no filter describes them, which is said."""
    f = frequencies(40)
    found = fit(f, np.hypot(band(f, 2, 2), 0.1 * PLATEAU))
    assert_consistent(found)
    for side, corner in (("low", LOW_HZ), ("high", HIGH_HZ)):
        assert_without_model(found, side, corner)
        assert found.corners[side].interpolated_hz == pytest.approx(corner, rel=0.05)


def test_nothing_but_noise():
    f = frequencies(30)
    found = fit(f, np.abs(np.random.default_rng(1).standard_normal(30)) + 1e-3)
    assert_consistent(found)
    for side in SIDES:
        assert_open(found, side, "no band model")


@pytest.mark.parametrize(("power", "side"), [(1.0, "low"), (-1.0, "high")])
def test_a_response_proportional_to_frequency_has_no_corner(power, side):
    """A module set to another quantity: a slope without a plateau is no corner."""
    f = frequencies(20)
    found = fit(f, PLATEAU * (f / 80.0) ** power)
    assert_consistent(found)
    assert found.corners[side].hz is None


def test_orders_that_the_readings_do_not_tell_apart():
    f = np.array([15.0, 60.0, 80.0, 120.0, 150.0])
    found = fit(f, band(f, 2, 0) * noise(5, 2))
    assert found.low.hz is not None
    assert found.low.order is None
    assert "do not tell the orders" in found.low.why["order"]


def test_three_readings_leave_no_scatter_and_a_wide_interval():
    f = np.array([12.0, 80.0, 700.0])
    found = fit(f, band(f, 2, 2))
    assert_consistent(found)
    assert found.scatter is None
    assert found.fitness.degrees_of_freedom == 0
    assert found.low.order is None
    low, high = found.low.interval_hz
    assert low < LOW_HZ < high
    assert high / low > 10.0


@pytest.mark.parametrize("at_corner", [2.7, 2.84, 3.1])
def test_three_readings_two_of_them_at_the_corners_are_a_band_and_no_riddle(at_corner):
    found = fit(np.array([20.0, 80.0, 400.0]), np.array([at_corner, 4.0, at_corner]))
    assert_consistent(found)
    assert found.adequate
    for side in SIDES:
        corner = found.corners[side].hz
        assert (corner is not None) == (at_corner < math.sqrt(0.5) * found.plateau)
        if corner is None:
            assert_open(found, side, "falls to half power (70.7 %) of the mid-band")


def test_no_reading_at_the_reference_frequency():
    f = frequencies(25)
    found = fit_band(f, band(f, 2, 2), u_rel=0.005, reference_hz=91.0)
    assert_consistent(found)
    assert "no reading at the reference frequency 91 Hz" in found.low.why["interpolated_hz"]
    assert found.low.hz == pytest.approx(LOW_HZ, rel=1e-3)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0.5, 2e4), st.floats(1e-9, 1e9)), min_size=3, max_size=15))
def test_any_readings_at_all(readings):
    f, s = (np.array(column) for column in zip(*readings, strict=True))
    assert_consistent(fit(f, s, reference_hz=float(f[0])))


# --- laws ---

TABLES = st.tuples(st.sampled_from(ORDERS), st.sampled_from(ORDERS), st.integers(0, 2**32 - 1))


def noisy(table, count=25):
    low_order, high_order, seed = table
    f = frequencies(count)
    return f, band(f, low_order, high_order) * noise(count, seed)


def assert_same(one, other, *, scale=1.0, stretch=1.0):
    assert other.plateau == pytest.approx(scale * one.plateau, rel=1e-6)
    for side in SIDES:
        assert other.corners[side].order == one.corners[side].order
        assert other.corners[side].why.keys() == one.corners[side].why.keys()
        for name in ("hz", "interval_hz", "interpolated_hz"):
            ours, theirs = (getattr(found.corners[side], name) for found in (one, other))
            assert (ours is None) == (theirs is None)
            if ours is not None:
                np.testing.assert_allclose(theirs, stretch * np.asarray(ours), rtol=1e-5)


@settings(max_examples=25, deadline=None)
@given(TABLES, st.permutations(range(25)))
def test_row_order_changes_nothing(table, order):
    f, s = noisy(table)
    assert_same(fit(f, s), fit(f[list(order)], s[list(order)]))


@settings(max_examples=25, deadline=None)
@given(TABLES, st.floats(1e-12, 1e12), st.floats(1e-3, 1e3))
def test_units_change_nothing(table, scale, stretch):
    """Another unit of the sensitivity or of the frequency scales the results and nothing else."""
    f, s = noisy(table)
    one, other = fit(f, s), fit(stretch * f, scale * s, reference_hz=stretch * 80.0)
    assert_same(one, other, scale=scale, stretch=stretch)


def test_repeats_count_as_more_readings():
    f, s = noisy((2, 2, 1))
    once, twice = fit(f, s), fit(np.tile(f, 2), np.tile(s, 2))
    assert twice.low.hz == pytest.approx(once.low.hz, rel=1e-6)
    ratio = math.sqrt(twice.covariance[1, 1] / once.covariance[1, 1])
    assert once.fitness.widening == twice.fitness.widening == 1.0
    assert ratio == pytest.approx(math.sqrt(0.5), rel=1e-4)  # as many again, of the same stated uncertainty


# --- refusals ---


@pytest.mark.parametrize(
    ("f", "s", "u_rel", "said"),
    [
        ([10.0, 80.0], [1.0, 1.0], 0.01, "give at least 3"),
        ([10.0, 80.0, 90.0], [1.0, 1.0], 0.01, "3 frequencies and 2 sensitivities"),
        ([10.0, 80.0, 0.0], [1.0, 1.0, 1.0], 0.01, "not a positive number"),
        ([10.0, 80.0, 90.0], [1.0, -1.0, 1.0], 0.01, "not a positive number"),
        ([10.0, 80.0, 90.0], [1.0, math.nan, 1.0], 0.01, "not a positive number"),
        ([10.0, math.inf, 90.0], [1.0, 1.0, 1.0], 0.01, "not a positive number"),
        ([10.0, 80.0, 90.0], [1.0, 1.0, 1.0], -0.01, "a number above 0; give it as a fraction"),
        ([10.0, 80.0, 90.0], [1.0, 1.0, 1.0], [0.1, math.nan, 0.1], "a number above 0; give it as a fraction"),
    ],
)
def test_what_cannot_be_fitted_is_refused_in_a_sentence(f, s, u_rel, said):
    with pytest.raises(ValueError, match=said):
        fit_band(f, s, u_rel=u_rel, reference_hz=80.0)


def test_results_are_read_only():
    found = fit(*noisy((2, 2, 1)))
    for array in (found.covariance, found.found.parameters, found.frequency_hz, found.sensitivity, found.errors.own):
        with pytest.raises(ValueError, match="read-only"):
            array[...] = 0.0
