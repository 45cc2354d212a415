"""The certificate's error at two frequencies: correlated as stated, by GTC (M. Zeeb, MSL New Zealand) and by draws.

The model of one correlation between any two frequencies, and its default of 0.5, are this project's judgement, no
source; that correlated errors partly cancel in a ratio is JCGM 100:2008, 5.2.2 and F.1.2.3.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from GTC import set_correlation, uncertainty, ureal
from hypothesis import given
from hypothesis import strategies as st

from tests.support.readings.cases import READOUT, REFERENCE, SHORT, make_case
from vibcal_nb.analysis.readings.chosen_reference import choose_reference
from vibcal_nb.analysis.readings.errors.certificate_error import certificate_error
from vibcal_nb.analysis.readings.reading_uncertainty import assess_readings
from vibcal_nb.analysis.readings.relative_response import relative_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.model.equipment import ReferenceBand

HZ = np.array([20.0, 80.0, 315.0])
BANDS = tuple(
    ReferenceBand(from_hz=low, to_hz=high, expanded_pct=pct, k=2.0)
    for low, high, pct in ((5.0, 40.0, 2.0), (40.0, 200.0, 1.0), (200.0, 1000.0, 3.0))
)
DAY = date(2026, 5, 19)


def reference(correlation, **changes):
    return replace(REFERENCE, correlation=correlation, uncertainty=BANDS, **changes)


def assess(*references):
    case = make_case("band-response", HZ, np.full(3, 40.0))
    case = replace(case, references=references)
    return assess_readings(case, scale_readings(case))


@SHORT
@given(r=st.floats(0.0, 1.0), f=st.sampled_from(HZ.tolist()), g=st.sampled_from(HZ.tolist()))
def test_a_ratio_by_gtc(r, f, g):
    found = assess(reference(r)).u_common_ratio_pct(f, g)
    if f == g:
        assert found == 0.0
        return
    size = dict(zip(HZ.tolist(), (1.0, 0.5, 1.5), strict=True))
    a, b = ureal(1.0, size[f] / 100.0, independent=False), ureal(1.0, size[g] / 100.0, independent=False)
    set_correlation(r, a, b)
    assert found == pytest.approx(100.0 * uncertainty(a / b), rel=1e-9, abs=1e-12)


def test_the_default_is_a_half_and_the_budget_shows_it():
    line = certificate_error(choose_reference([reference(None)], 80.0), 80.0, on=DAY).level
    assert line.source == (
        "certificate of REF-1, 40 to 200 Hz; correlation over frequency 0.5 (default: judgement, no source)"
    )
    assert certificate_error(choose_reference([reference(0.8)], 80.0), 80.0, on=DAY).level.source.endswith(
        "correlation over frequency 0.8"
    )
    assert assess(reference(None)).u_common_ratio_pct(20.0, 80.0) == assess(reference(0.5)).u_common_ratio_pct(
        20.0, 80.0
    )


def test_what_is_shared_and_what_is_a_frequencys_own_make_the_whole():
    found = assess(reference(0.3))
    for hz in HZ.tolist():
        parts = found.shared_pct(hz)
        assert math.hypot(*parts.values()) == pytest.approx(found.u_common_pct(hz), rel=1e-12)
    own = {name for name in found.shared_pct(20.0) if name not in found.shared_pct(80.0)}
    assert own == {"reference level at 20 Hz, REF-1"}


def test_the_sensitivity_at_one_frequency_does_not_depend_on_the_correlation():
    whole = {assess(reference(r)).u_common_pct(80.0) for r in (0.0, 0.5, 1.0)}
    assert max(whole) == pytest.approx(min(whole), rel=1e-14)


def test_the_covariance_of_responses_agrees_with_draws():
    """Errors drawn with the stated correlation: the scatter of the drawn ratios is the stated one, within 1 %."""
    rng = np.random.default_rng(20261001)
    r, sizes = 0.4, np.array([1.0, 0.5, 1.5]) / 100.0
    cov = np.outer(sizes, sizes) * (r + (1.0 - r) * np.eye(3))
    error = rng.multivariate_normal(np.zeros(3), cov, size=200_000)
    found = assess(reference(r))
    for i, hz in enumerate(HZ.tolist()):
        drawn = 100.0 * np.std((1.0 + error[:, i]) / (1.0 + error[:, 1]))
        assert found.u_common_ratio_pct(hz, 80.0) == pytest.approx(drawn, rel=0.01, abs=1e-9)


def test_a_fit_over_frequency_gets_what_it_does_not_share_with_the_reference_frequency():
    """Independent part 0.208 %, mounting and the like 0.216 %, and of the certificate the frequency's own part."""
    case = replace(make_case("band-response", HZ, np.full(3, 40.0)), references=(reference(0.36),))
    scaled = scale_readings(case)
    relative = relative_readings(scaled, assess_readings(case, scaled), reference_hz=80.0)
    own = np.array([math.hypot(0.8 * u, 0.6 * abs(u - 0.5)) for u in (1.0, 0.5, 1.5)])
    rest = math.sqrt(0.2**2 + 0.1**2 / 3.0 + (0.2**2 + 0.3**2 + 0.1**2) / 3.0)
    assert relative.fit_u_relative == pytest.approx(np.hypot(own, rest) / 100.0, rel=1e-9)


def test_a_readout_drifts_as_a_reference_does():
    case = make_case("band-response", HZ, np.full(3, 40.0))
    drifting = replace(READOUT, drift_pct_per_year=None)
    lines = {
        line.name: line
        for line in assess_readings(replace(case, readouts=(drifting,)), scale_readings(case)).common(80.0)
    }
    assert lines["readout drift"].value == pytest.approx(0.1 * 129 / 365.25)
    assert lines["readout drift"].source.startswith("0.1 % a year: judgement, no source")


def test_readings_and_their_uncertainty_are_sliced_together():
    found = assess(reference(0.5))
    part = found.at(np.array([True, False, True]))
    assert part.readings.frequency_hz.tolist() == [20.0, 315.0]
    np.testing.assert_array_equal(part.u_y, found.u_y[[0, 2]])
    assert part.u_common_pct(80.0) == found.u_common_pct(80.0)
