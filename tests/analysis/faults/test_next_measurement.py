"""Expected information: its limits, and that it asks for what tells explanations apart."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, stats

from tests.support.analyses.faults import simulate
from vibcal_nb.analysis.faults.faults import explain_channel
from vibcal_nb.analysis.faults.next_measurement import (
    candidate_points,
    mixture_information,
    suggest_checks,
    suggest_readings,
)


def test_information_is_none_where_all_predict_the_same_and_whole_where_they_are_far_apart():
    weights, sd = np.array([0.5, 0.3, 0.2]), np.full((3, 2), 0.01)
    mean = np.array([[1.0, 1.0], [1.0, 2.0], [1.0, 3.0]])
    none, whole = mixture_information(weights, mean, sd)
    assert none == pytest.approx(0.0, abs=1e-12)
    assert whole == pytest.approx(-(weights * np.log(weights)).sum(), rel=1e-9)


@pytest.mark.parametrize("apart", [0.5, 1.0, 2.0, 4.0])
def test_information_of_two_normals_against_adaptive_quadrature(apart):
    """Mutual information = entropy of the mixture less the entropy of a normal, by scipy.integrate.quad."""
    mixture = lambda y: 0.7 * stats.norm.pdf(y) + 0.3 * stats.norm.pdf(y, apart)  # noqa: E731
    entropy, _ = integrate.quad(lambda y: -mixture(y) * math.log(mixture(y)), -12.0, 16.0, limit=200)
    expected = entropy - 0.5 * math.log(2.0 * math.pi * math.e)
    found = mixture_information(np.array([0.7, 0.3]), np.array([[0.0], [apart]]), np.ones((2, 1)))
    assert found[0] == pytest.approx(expected, rel=0.02)


def test_the_sensor_alone_is_asked_for_where_module_and_sensor_cannot_be_told_apart():
    _, _, cases = simulate("module gain", size=1, change={"module": 0.85, "sensor": 1.0})
    without = [case for case in cases if case.test != "sensor-alone"]
    found = explain_channel(without)
    best = suggest_readings(found, candidate_points(found))[0]
    assert best.test == "sensor-alone"
    assert best.information > 0.2
    assert {name for name, _ in best.would_read} >= {"module gain", "sensor lost sensitivity"}


def test_noise_and_broad_pickup_are_not_separated_by_swapping_the_sensor():
    found = explain_channel(simulate("noise floor")[2])
    checks = suggest_checks(found, count=20)
    assert checks[0].information > 0.02
    assert checks[-1].information <= checks[0].information


def test_no_candidate_lies_beyond_what_was_driven():
    _, _, cases = simulate("healthy", full=False)
    found = explain_channel(cases)
    taken, at = found.readings.points, candidate_points(found)
    channel = taken.test != 2
    assert at.level[at.test == 0].max() <= taken.level[channel].max() * (1 + 1e-9)
    assert at.frequency_hz[at.test == 1].max() <= taken.frequency_hz[channel].max() * 1.01
