"""First and last reading at the reference frequency (common practice, no source): when it counts, and how much."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.cases import make_case
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.display.results.statements import compose_statement

HZ = np.array([80.0, 20.0, 40.0, 160.0, 400.0, 1000.0, 80.0])
OWN = math.hypot(0.2, 0.1 / math.sqrt(3.0))  # settling and cable strain, %


def analyse(last_pct, *, hz=HZ, exclude=None):
    output = np.full(len(hz), 50.0)
    output[-1] *= 1.0 + last_pct / 100.0
    return analyse_sensor_alone(make_case("sensor-alone", hz, output, exclude=exclude))


def test_what_the_scatter_explains_is_told_and_adds_nothing():
    result = analyse(0.5)
    drift = result.set_up_drift()
    assert drift.change_pct == pytest.approx(0.5)
    assert drift.expanded.u == pytest.approx(1.005 * math.sqrt(2.0) * OWN, rel=1e-6)
    assert not drift.significant
    assert "drift of the set-up" not in {line.name for line in result.reference.budget.lines}
    assert "The set-up drifted" not in compose_statement(result)


def test_more_than_that_counts_by_half_in_every_uncertainty_and_is_said():
    result = analyse(2.0)
    (line,) = [line for line in result.reference.budget.lines if line.name == "drift of the set-up"]
    assert (line.value, line.distribution) == (pytest.approx(1.0), "rectangular")
    assert line.source == "half of the +2 % between rows 2 and 8"
    for index in (1, 5):
        with_it, without = result.points[index].expanded, analyse(0.5).points[index].expanded
        scale = 1.0 / 1.01  # relative to the mean of both readings
        assert with_it.u**2 - (scale * 1.0025 * without.u) ** 2 == pytest.approx(scale**2 / 3.0, rel=1e-3)
    assert "from the first to the last reading at 80 Hz (rows 2 and 8) the sensitivity changed by +2.00 ± 0.59 %" in (
        compose_statement(result)
    )


def test_readings_one_after_the_other_show_no_drift():
    assert analyse(2.0, hz=np.array([20.0, 40.0, 160.0, 400.0, 1000.0, 80.0, 80.0])).set_up_drift() is None
    assert analyse(2.0, exclude={0: "cable touched"}).set_up_drift() is None
    assert analyse(2.0, exclude=dict.fromkeys(range(1, 6), "all of them")).set_up_drift() is None


def test_the_order_is_that_of_the_rows():
    case = make_case("sensor-alone", HZ, np.append(np.full(6, 50.0), 51.0))
    turned = replace(case, readings=case.readings[::-1])
    assert analyse_sensor_alone(turned).set_up_drift().change_pct == pytest.approx(2.0)


def test_a_set_up_that_drifts_steadily_is_covered():
    """400 tests, 1.5 % of drift from first to last: the stated 95 % interval holds each response in 95 % or more."""
    rng = np.random.default_rng(20261005)
    held = []
    for _ in range(400):
        drift = np.linspace(0.0, 0.015, len(HZ))
        frequency = {hz: sum(rng.uniform(-h, h) for h in (0.002, 0.003, 0.001)) for hz in np.unique(HZ)}
        own = rng.normal(0.0, 0.002, len(HZ)) + rng.uniform(-0.001, 0.001, len(HZ))
        output = 50.0 * (1.0 + drift + own + np.array([frequency[hz] for hz in HZ]))
        points = analyse_sensor_alone(make_case("sensor-alone", HZ, output)).points[1:-1]
        held += [abs(p.value_pct) <= p.expanded.U for p in points]
    assert 0.95 <= np.mean(held) <= 0.995
