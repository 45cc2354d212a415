"""Repeats read off a display: what it rounds is taken off their scatter, and what it hides is not taken for none.

Rounding to a step has the variance step^2/12 (JCGM 100:2008, F.2.2.1); a difference of variances has the degrees of
freedom that the Welch-Satterthwaite formula gives (G.4.1).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.cases import make_case
from vibcal_nb.analysis.readings.errors.repeat_scatter import pool_repeats
from vibcal_nb.analysis.readings.reading_uncertainty import assess_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings


def case_of(x, y, *, decimals):
    return make_case("band-response", np.full(len(x), 80.0), y, applied=np.asarray(x, float), decimals=decimals)


def test_rounding_is_taken_off_where_the_displayed_numbers_differ():
    x, y = np.full(5, 10.0), 40.0 + np.array([-0.4, -0.4, 0.0, 0.4, 0.4])  # 1 % on 4 degrees of freedom
    found = pool_repeats(scale_readings(case_of(x, y, decimals=1)))
    assert found.pooled_pct == pytest.approx(1.0)
    assert found.rounding_pct == pytest.approx(100 * 0.1 / math.sqrt(12) / 40.0, rel=1e-3)  # x stands still
    assert found.settling_pct**2 + found.rounding_pct**2 == pytest.approx(1.0)
    moving = pool_repeats(
        scale_readings(case_of(np.add(x, [0, 0, 0.1, 0, 0]), np.add(y, [0, 0, 0.4, 0, 0]), decimals=1))
    )
    both = 100 * math.hypot(0.1 / math.sqrt(12) / 10.0, 0.1 / math.sqrt(12) / 40.0)
    assert moving.rounding_pct == pytest.approx(both, rel=0.01)


def test_repeats_that_differ_by_what_a_display_rounds_show_nothing():
    """A step of 1 in 40: 0.72 % of rounding; a scatter of 0.69 % is no more, and the judgement on settling stands."""
    y = np.array([40.0, 40.0, 40.0, 40.0, 41.0, 40.0])
    case = case_of(np.full(6, 10.0), y, decimals=0)
    found = pool_repeats(scale_readings(case))
    assert found.hidden
    assert not found.tells
    names = {line.name: line.source for line in assess_readings(case, scale_readings(case)).independent}
    assert names["settling and reading"].startswith("judgement")
    apart = pool_repeats(scale_readings(case_of(np.full(6, 10.0), np.add(y, [0, 2, 4, -2, 0, 3]), decimals=0)))
    assert apart.tells


def test_a_readings_own_part_keeps_the_degrees_of_freedom_of_the_scatter():
    """Settling is less sure than the scatter it was taken from; with the rounding added again it is as sure."""
    y = 40.0 + np.array([-0.4, -0.4, 0.0, 0.4, 0.4])
    found = assess_readings(case := case_of(np.full(5, 10.0), y, decimals=1), scale_readings(case))
    (settling,) = found.independent
    assert settling.degrees_of_freedom < 4.0
    assert "less what the display rounds" in settling.source
    x_rounding = 100 * 0.1 / math.sqrt(12) / 10.0  # it stands still and is not in the scatter
    assert found.degrees_of_freedom == pytest.approx(4.0 * (1.0 + x_rounding**2) ** 2, rel=1e-2)


def test_the_scatter_without_rounding_is_recovered_from_rounded_repeats():
    """3000 groups of eight, settling 0.2 %, three digits: the mean of the variances is that of settling, within 5 %."""
    rng = np.random.default_rng(20261002)
    variances = []
    for _ in range(3000):
        level = 10.0 * rng.normal(1.0, 0.01, 8)
        output = 4.0 * level * rng.normal(1.0, 0.002, 8)
        case = case_of(np.round(level, 1), np.round(output, 1), decimals=1)
        found = pool_repeats(scale_readings(case))
        variances.append(found.pooled_pct**2 - found.rounding_pct**2)
    assert np.mean(variances) == pytest.approx(0.2**2, rel=0.05)


def test_without_a_display_the_pooled_scatter_is_settling():
    case = make_case("band-response", np.full(5, 80.0), 40.0 * np.array([0.99, 0.99, 1.0, 1.01, 1.01]))
    found = pool_repeats(scale_readings(case))
    assert found.settling_pct == found.pooled_pct
    assert found.settling_degrees_of_freedom == found.degrees_of_freedom
    assert not pool_repeats(scale_readings(replace(case, readings=case.readings[:1]))).hidden
