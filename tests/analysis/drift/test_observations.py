"""Observations over the visits: what they share, what adjustments did to them, and which channels are alike."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL
from vibcal_nb.analysis.drift.channel_observations import like_channels
from vibcal_nb.analysis.drift.normalized_error import compare
from vibcal_nb.analysis.drift.observations import Observation, covariance, without_adjustments
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.units import parse_unit

FIRST = Observation(
    quantity="q", date=date(2024, 1, 1), visit="a", condition="as-left", deviation_pct=0.0, u_own_pct=0.3,
    nu_own=math.inf, shared_pct={"reference": 0.4}, tolerance_pct=5.0, verdict="pass",
)  # fmt: skip
CHANGE = compare(FIRST, replace(FIRST, date=date(2025, 1, 1), visit="b", deviation_pct=1.0))


def visit_with(**channels):
    return SimpleNamespace(asset=SimpleNamespace(channels=channels))


def test_like_channels_are_those_of_the_latest_visit_with_all_that_makes_the_kind_alike():
    kinds = {
        "V1": CHANNEL,
        "V2": replace(CHANNEL, tag="V2", trip=18.0),  # set points and sensors do not make the kind
        "V3": replace(CHANNEL, nominal_sensitivity=5.0),
        "V4": replace(CHANNEL, tolerance=Tolerance(reading_pct=3.0)),
        "V5": replace(CHANNEL, output_unit=parse_unit("V pk")),
        "V6": replace(CHANNEL, input_unit=parse_unit("in/s pk")),
    }
    history = (visit_with(V1=CHANNEL, V9=CHANNEL), visit_with(V1=CHANNEL, V8=CHANNEL), visit_with(**kinds))
    assert like_channels(history, "V1") == ("V1", "V2")


def test_a_change_is_over_years_of_365_25_days():
    assert CHANGE.years == pytest.approx(366.0 / 365.25)
    assert CHANGE.change_pct == 1.0
    assert CHANGE.expanded.u == pytest.approx(0.3 * math.sqrt(2.0))  # the same reference error cancels
    assert CHANGE.E_n == pytest.approx(1.0 / CHANGE.expanded.U)
    assert CHANGE.significant == (CHANGE.expanded.U < 1.0)
    assert FIRST.u_pct == pytest.approx(0.5)


def test_a_change_of_just_its_uncertainty_is_not_significant():
    assert [replace(CHANGE, E_n=e).significant for e in (-1.01, -1.0, 0.0, 1.0, 1.01)] == [
        True,
        False,
        False,
        False,
        True,
    ]


def test_shared_errors_are_off_the_diagonal():
    """Variance own^2 + shared^2, covariance shared^2 where both name the source (JCGM 100:2008, F.1.2.3)."""
    one = replace(FIRST, u_own_pct=0.3, shared_pct={"reference": 0.4, "visit a": 0.1})
    two = replace(FIRST, u_own_pct=0.2, shared_pct={"reference": 0.5})
    np.testing.assert_allclose(covariance([one, two]), [[0.09 + 0.16 + 0.01, 0.2], [0.2, 0.04 + 0.25]], rtol=1e-12)


def test_adjustments_are_taken_out_of_what_follows_them():
    def seen(condition, deviation):
        return replace(FIRST, condition=condition, deviation_pct=deviation)

    visits = [
        seen("as-found", 3.0),
        seen("as-left", 0.5),
        seen("as-found", 1.0),
        seen("as-left", 0.0),
        seen("as-found", 0.2),
    ]
    assert [level for _, level in without_adjustments(visits)] == pytest.approx([3.0, 3.5, 3.7])
    assert [item.condition for item, _ in without_adjustments(visits)] == ["as-found"] * 3
