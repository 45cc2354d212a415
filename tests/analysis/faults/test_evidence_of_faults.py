"""The evidence of an explanation, and its fitted parameters, against a general-purpose optimiser."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize

from tests.support.analyses.faults import simulate
from vibcal_nb.analysis.faults.chain_model import INDEX, predict_ratio
from vibcal_nb.analysis.faults.fault_families import HEALTHY, healthy_expectation
from vibcal_nb.analysis.faults.fault_readings import tolerance_of
from vibcal_nb.analysis.faults.faults import explain_channel


@pytest.fixture
def found():
    return explain_channel(simulate("module gain", size=1, change={"module": 0.9, "sensor": 1.01})[2])


def posterior(found, fitted):
    """Minus twice the logarithm of likelihood times prior, as a function of the free parameters in spreads."""
    readings = found.readings
    expected = healthy_expectation(readings.points, tolerance=tolerance_of(readings.channel)) | dict(
        fitted.variant.expected
    )
    names = [next(name for name, i in INDEX.items() if i == column) for column in fitted.free]
    centre = np.array([expected[name][0] for name in names])
    spread = np.array([expected[name][1] for name in names])
    assert spread == pytest.approx(fitted.spread)
    V = fitted.reading_covariance

    def prediction(z):
        row = fitted.parameters.copy()
        row[fitted.free] = centre + spread * z
        return predict_ratio(row[None, :], readings.points)[0]

    def cost(z):
        d = prediction(z) - readings.ratio
        return float(d @ np.linalg.solve(V, d) + z @ z + np.linalg.slogdet(V)[1])

    return cost, prediction, (fitted.parameters[fitted.free] - centre) / spread, V


FAMILIES = [HEALTHY, "module gain", "sensor lost sensitivity", "leak", "saturation", "wrong filter", "cable strain"]


@pytest.mark.parametrize("family", FAMILIES)
def test_the_parameters_are_the_most_probable_ones(found, family):
    """scipy.optimize.minimize from where the search ended finds nothing better by more than it may leave."""
    fitted = found.of(family).fitted
    cost, _, z, _ = posterior(found, fitted)
    best = optimize.minimize(cost, z, method="BFGS", options={"gtol": 1e-4})
    assert cost(z) - best.fun < 0.05
    assert fitted.prediction == pytest.approx(posterior(found, fitted)[1](z), rel=1e-9)


@pytest.mark.parametrize("family", FAMILIES)
def test_evidence_is_laplaces_approximation(found, family):
    """ln p(data) is about -(cost + ln det H)/2, H the curvature by differences; with the variant's share of the family.
    A fault that no reading shows, or that does not fit, has e^-300 of it."""
    fitted = found.of(family).fitted
    cost, prediction, z, V = posterior(found, fitted)
    step = 1e-4
    jacobian = np.stack([(prediction(z + h) - prediction(z - h)) / (2.0 * step) for h in step * np.eye(z.size)], axis=1)
    curvature = jacobian.T @ np.linalg.solve(V, jacobian) + np.eye(z.size)
    expected = -0.5 * (cost(z) + np.linalg.slogdet(curvature)[1]) + math.log(fitted.variant.share)
    assert min(abs(fitted.log_evidence - expected), abs(fitted.log_evidence + 300.0 - expected)) < 2e-3
    assert fitted.covariance == pytest.approx(np.linalg.inv(curvature), rel=1e-2, abs=1e-5)


def test_a_limit_above_the_highest_level_is_not_claimed(found):
    """No reading would read otherwise without it by more than its standard uncertainty."""
    readings = found.readings
    for item in found.explanations:
        if item.name == HEALTHY or item.fitted.variant.scatter or item.pulls:
            continue
        cost, prediction, z, V = posterior(found, item.fitted)
        jacobian = np.stack([(prediction(z + h) - prediction(z - h)) / 2e-4 for h in 1e-4 * np.eye(z.size)], axis=1)
        curvature = jacobian.T @ np.linalg.solve(V, jacobian) + np.eye(z.size)
        plain = -0.5 * (cost(z) + np.linalg.slogdet(curvature)[1]) + math.log(item.fitted.variant.share)
        if plain - item.fitted.log_evidence > 15.0:
            healthy = found.of(HEALTHY).fitted.prediction
            u = np.sqrt(np.diag(readings.covariance))
            assert (np.abs(item.fitted.prediction - healthy) < 3.0 * u).all(), item.name
