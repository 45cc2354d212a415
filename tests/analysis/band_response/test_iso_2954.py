"""ISO 2954's limits, old and new, as limits of a band response; preferred frequencies (ISO 266, ISO 3 R10).

ISO 2954:1975 tabulates allowed relative sensitivities (second-hand); ISO 2954:2012 instead prescribes third-order
Butterworth limiters (second-hand). A third-order filter with its corner at 10 Hz reads 0.707 there and fails the
older table's 0.8, so whoever cites the standard must name the edition.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL, butterworth, make_case
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.model.asset import BandSpecification, ResponseLimit

# Hz: (nominal, min, max) relative sensitivity, reference 80 Hz
ISO2954_1975 = {
    10: (1.0, 0.8, 1.1), 20: (1.0, 0.9, 1.1), 40: (1.0, 0.9, 1.1), 80: (1.0, 1.0, 1.0), 160: (1.0, 0.9, 1.1),
    500: (1.0, 0.9, 1.1), 1000: (1.0, 0.8, 1.1),
}  # fmt: skip
R10_NOMINAL = [1.00, 1.25, 1.60, 2.00, 2.50, 3.15, 4.00, 5.00, 6.30, 8.00]  # ISO 3 R10 / ISO 266
R10_EXACT = [1.0, 1.25893, 1.58489, 1.99526, 2.51189, 3.16228, 3.98107, 5.01187, 6.30957, 7.94328]  # 10**(n/10)
NOMINAL_TO_EXACT = {16: 15.849, 31.5: 31.623, 40: 39.811, 80: 79.433, 160: 158.489, 315: 316.228, 1000: 1000.0}

OLD = BandSpecification(
    reference_hz=80.0,
    limits=tuple(
        ResponseLimit(frequency_hz=hz, min_pct=100 * low, max_pct=100 * high)
        for hz, (_, low, high) in ISO2954_1975.items()
    ),
)
NEW = BandSpecification(reference_hz=80.0, corner_low_hz=10.0, corner_high_hz=1000.0)
FREQUENCIES = np.array([5.0, 8.0, *ISO2954_1975, 1600.0, 2500.0])


def analyse(band, **filters):
    output = 40.0 * butterworth(FREQUENCIES, **filters)
    return analyse_band_response(
        make_case("band-response", FREQUENCIES, output, channel=replace(CHANNEL, band=band, rotors=()))
    )


def failed(result):
    return {item.requirement.frequency_hz for item in result.requirements if item.decision.verdict == "fail"}


LIMITERS = {"low": (10.0, 3), "high": (1000.0, 3)}
WIDE = {"low": (5.0, 2), "high": (2000.0, 2)}


def test_limiters_of_2012_fail_the_table_of_1975():
    old, new = analyse(OLD, **LIMITERS), analyse(NEW, **LIMITERS)
    assert new.verdict == "pass"
    assert old.verdict == "fail"
    assert failed(old) == {10.0, 1000.0}
    at_ten = old.requirements[0].response
    assert at_ten.response_pct == pytest.approx(70.711, abs=1e-3)
    assert new.fit.low.hz == pytest.approx(10.0, rel=1e-6)
    assert (new.fit.low.order, new.fit.high.order) == (3, 3)


def test_a_wide_band_passes_the_table_of_1975_and_fails_the_corners_of_2012():
    old, new = analyse(OLD, **WIDE), analyse(NEW, **WIDE)
    assert old.verdict == "pass"
    assert new.verdict == "fail"
    assert failed(new) == {10.0, 1000.0}


def test_the_reference_itself_meets_its_own_limit_of_exactly_one():
    at_80 = next(i for i in analyse(OLD, **WIDE).requirements if i.requirement.frequency_hz == 80.0)
    assert (at_80.response.response_pct, at_80.response.expanded.U) == (100.0, 0.0)
    assert at_80.decision.verdict == "pass"


@pytest.mark.parametrize("decade", [1.0, 10.0, 100.0, 1000.0])
@pytest.mark.parametrize(("nominal", "exact"), list(zip(R10_NOMINAL, R10_EXACT, strict=True)))
def test_a_nominal_frequency_is_the_exact_one_and_no_other(decade, nominal, exact):
    """Nominal frequencies lie within 1 % of the exact ones they are names of, which is what counts as the same."""
    assert same_frequency(decade * nominal, decade * exact)
    matches = [hz for hz in R10_EXACT if same_frequency(nominal, hz)]
    assert matches == [exact]


@pytest.mark.parametrize(("nominal", "exact"), NOMINAL_TO_EXACT.items())
def test_exact_frequencies(nominal, exact):
    assert same_frequency(nominal, exact)
    assert 10.0 ** (round(10.0 * np.log10(nominal)) / 10.0) == pytest.approx(exact, abs=5e-4)


@pytest.mark.parametrize("names", ["nominal", "exact"])
def test_readings_at_either_are_held_against_either(names):
    """A table stated at nominal frequencies, readings at exact ones, and the other way round."""
    nominal = np.array([16.0, 31.5, 40.0, 80.0, 160.0, 315.0, 1000.0])
    exact = np.array([NOMINAL_TO_EXACT[hz] for hz in nominal])
    stated, read = (nominal, exact) if names == "nominal" else (exact, nominal)
    band = BandSpecification(
        reference_hz=float(stated[3]),
        limits=tuple(ResponseLimit(frequency_hz=float(hz), min_pct=90.0, max_pct=110.0) for hz in stated),
    )
    channel = replace(CHANNEL, band=band, rotors=())
    result = analyse_band_response(make_case("band-response", read, np.full(7, 40.0), channel=channel))
    assert {item.response.source for item in result.requirements} == {"reading"}
    assert result.verdict == "pass"
