"""A reading that brings its own standard uncertainty is weighed by it, the others by the visit's contributions."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.sites.plants import build_site, linearity_rows
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.readings.reading_uncertainty import assess_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case


@pytest.fixture
def case(tmp_path):
    visit = load_visit(build_site(tmp_path, linearity_rows()))
    return select_case(visit, channel="STG-1-V11", test="linearity", condition="as-found")


def with_stated(case, *stated):
    readings = tuple(replace(r, u_pct=u) for r, u in zip(case.readings, stated, strict=True))
    return replace(case, readings=readings)


def test_what_is_stated_replaces_settling_and_nothing_else(case):
    """Defaults: cable strain 0.1 % rectangular stays; settling 0.2 % goes; so does nothing of what is common."""
    changed = with_stated(case, 0.05, None, None, None, None)
    usual, stated = (assess_readings(c, scale_readings(c)) for c in (case, changed))
    resolution = 0.001 / math.sqrt(12.0)
    own = math.hypot(0.05, 0.1 / math.sqrt(3.0)) / 100.0
    assert stated.u_y[0] == pytest.approx(math.hypot(own * 4.05 * 2.01, resolution), rel=1e-3)
    np.testing.assert_array_equal(stated.u_y[1:], usual.u_y[1:])
    assert stated.u_common_pct(50.0) == usual.u_common_pct(50.0)


def test_a_doubtful_reading_loses_its_weight(case):
    """One reading 5 % high: stated as uncertain as it is, it hardly moves the line."""
    readings = (*case.readings[:-1], replace(case.readings[-1], output=case.readings[-1].output * 1.05))
    bent = replace(case, readings=readings)
    moved = analyse_linearity(bent).frequencies[0].line.sensitivity
    calm = analyse_linearity(with_stated(bent, 0.05, 0.05, 0.05, 0.05, 5.0)).frequencies[0].line.sensitivity
    assert abs(calm - 4.05) < 0.002 < 0.03 < abs(moved - 4.05)
