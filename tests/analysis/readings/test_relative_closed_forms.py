"""Ratios to the reading at the reference frequency, and responses by the model: uncertainties in closed form."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL, butterworth, make_case
from vibcal_nb.analysis.band_response.band_model import evaluate_band
from vibcal_nb.analysis.band_response.band_response import analyse_band_response, response_at
from vibcal_nb.analysis.readings.reading_uncertainty import assess_readings
from vibcal_nb.analysis.readings.relative_response import relative_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings

OWN = math.hypot(0.2, 0.1 / math.sqrt(3.0))  # settling, and cable strain as a rectangle, in %
BY_FREQUENCY = math.sqrt((0.2**2 + 0.3**2 + 0.1**2) / 3.0)  # mounting, transverse motion, distortion: rectangles


def related(hz, output, *, channel=CHANNEL, reference_hz=80.0, **how):
    case = make_case("band-response", hz, output, channel=channel, **how)
    scaled = scale_readings(case)
    return relative_readings(scaled, assess_readings(case, scaled), reference_hz=reference_hz)


def test_a_ratio_has_both_readings_own_parts_and_what_a_frequency_shares_twice():
    found = related([40.0, 80.0, 160.0], [36.0, 40.0, 44.0])
    assert [found.ratio_pct(i) for i in range(3)] == pytest.approx([90.0, 100.0, 110.0])
    u = math.hypot(OWN, OWN, math.sqrt(2.0) * BY_FREQUENCY)
    assert found.ratio_expanded(0, 90.0).u == pytest.approx(0.9 * u)
    assert found.ratio_expanded(2, 110.0).u == pytest.approx(1.1 * u)
    assert found.ratio_expanded(1, 100.0).u == 0.0  # held against itself
    assert found.ratio_common_pct(-90.0) == pytest.approx(0.9 * math.hypot(OWN, BY_FREQUENCY))
    assert found.fit_u_relative == pytest.approx([math.hypot(OWN, BY_FREQUENCY) / 100.0] * 3)


def test_two_readings_at_the_reference_frequency_are_averaged():
    found = related([80.0, 80.4, 160.0], [39.0, 41.0, 44.0])
    assert list(found.at_reference) == [True, True, False]
    assert found.reference_sensitivity == pytest.approx(4.0)
    assert found.reference_own_pct == pytest.approx(OWN / math.sqrt(2.0))
    assert found.ratio_expanded(0, 97.5).u == pytest.approx(0.975 * math.hypot(OWN, OWN / math.sqrt(2.0)))
    assert found.ratio_expanded(2, 110.0).u == pytest.approx(
        1.1 * math.hypot(OWN, OWN / math.sqrt(2.0), math.sqrt(2.0) * BY_FREQUENCY)
    )


def test_a_live_zero_leaves_a_part_of_the_readouts_gain():
    """Zero of 10 mV: outputs of 50, 30, 20 mV stand for 40, 20, 10; leverages 1.25, 1.5, 2 of the gain's 0.1 %."""
    live = replace(CHANNEL, output_zero=10.0)
    found = related([80.0, 160.0, 320.0], [50.0, 30.0, 20.0], channel=live)
    assert found.reference_leverage == pytest.approx(1.25)
    assert [found.readout_pct(leverage) for leverage in (1.5, 2.0, 1.0)] == pytest.approx([0.025, 0.075, 0.025])
    own = found.own_pct
    u = math.hypot(own[0], own[2], math.sqrt(2.0) * BY_FREQUENCY, 0.075)
    assert found.ratio_expanded(2, 25.0).u == pytest.approx(0.25 * u)
    lines = {line.name: line for line in found.reference_budget(nominal=4.0).lines}
    assert lines["readout gain at the live zero"].value == pytest.approx(0.1 * math.sqrt(1.25**2 - 1.0))
    assert "readout gain at the live zero" not in {
        line.name for line in related([80.0], [40.0]).reference_budget(nominal=4.0).lines
    }


def test_the_budget_at_the_reference_frequency_is_in_percent_of_nominal():
    found = related([80.0, 80.4, 160.0], [43.0, 45.0, 44.0])
    budget = found.reference_budget(nominal=4.0)
    assert budget.estimate == pytest.approx(10.0)
    assert [line.sensitivity_coefficient for line in budget.lines] == pytest.approx([1.1] * len(budget.lines))
    (own,) = [line for line in budget.lines if line.name == "reading"]
    assert (own.value, own.source) == (pytest.approx(OWN / math.sqrt(2.0)), "2 readings at 80 Hz")
    expected = 1.1 * math.hypot(found.uncertainty.u_common_pct(80.0), BY_FREQUENCY, OWN / math.sqrt(2.0))
    assert budget.combined_standard_uncertainty == pytest.approx(expected)


def test_without_a_reference_nothing_is_related():
    away = related([40.0, 160.0], [40.0, 40.0])
    assert away.why_no_reference == "no usable reading at the reference frequency 80 Hz"
    assert (away.mean_at_reference, away.reference_sensitivity, away.ratio_pct(0)) == (None, None, None)
    for output in (0.0, -40.0):
        dead = related([40.0, 80.0], [40.0, output])
        assert dead.why_no_reference == "the output shows no vibration at the reference frequency 80 Hz"
        assert (dead.mean_at_reference, dead.reference_sensitivity) == (output / 10.0, None)
    still = related([40.0, 80.0], [40.0, 40.0], applied=[0.0, 10.0])
    assert (still.sensitivity_of(0), still.sensitivity_of(1), still.ratio_pct(0)) == (None, 4.0, None)
    assert list(still.usable) == [False, True]
    assert related([40.0, 80.0], [40.0, 40.0], exclude={1: "knocked"}).mean_at_reference is None


HZ = np.array([8.0, 12.5, 16.0, 20.0, 25.0, 40.0, 80.0, 120.0, 200.0, 315.0, 400.0, 500.0, 630.0])


def moved_by_errors(case, hz, *, zero=0.0):
    """Standard uncertainty of the response at ``hz`` by moving each reading by its own error, and all by the gain's.

    The analysis itself is the model (JCGM 100:2008, 5.1.3, sensitivity coefficients by trial); the model of the band is
    free to take every moved table anew.
    """

    def response(move):
        readings = tuple(
            replace(r, output=r.output + move[i] * (r.output - zero) + move[-1] * r.output)
            for i, r in enumerate(case.readings)
        )
        return math.log(response_at(analyse_band_response(replace(case, readings=readings)), hz).response_pct)

    step, count = 1e-5, len(case.readings)
    sizes = np.array([math.hypot(OWN, BY_FREQUENCY) / 100.0] * count + [0.001])
    slopes = np.array([(response(step * e) - response(-step * e)) / (2.0 * step) for e in np.eye(count + 1)])
    return float(np.sqrt(((slopes * sizes) ** 2).sum()))


def test_a_response_by_the_model_has_the_models_uncertainty_and_the_references():
    output = 40.0 * butterworth(HZ, low=(20.0, 2), high=(400.0, 2)) * (1.0 + 0.002 * np.resize([1.0, -1.0], HZ.size))
    result = analyse_band_response(make_case("band-response", HZ, output, decimals=6))
    found = response_at(result, 300.0)
    fit, reference = result.fit, result.reference_sensitivity
    assert found.source == "fitted model"
    assert found.response_pct == pytest.approx(100.0 * evaluate_band(fit, 300.0) / reference)
    assert found.expanded.u == pytest.approx(found.response_pct * moved_by_errors(result.case, 300.0), rel=1e-3)
    assert found.expanded.nu == math.inf and fit.fitness.widening == 1.0
    read = response_at(result, 400.0)
    assert (read.source, read.reason) == ("reading", None)
    assert response_at(result, 403.9).source == "reading"  # within 1 %
    assert response_at(result, 404.1).source == "fitted model"


def test_a_response_is_given_within_the_readings_and_not_beyond():
    output = 40.0 * butterworth(HZ, low=(20.0, 2), high=(400.0, 2))
    result = analyse_band_response(make_case("band-response", HZ, output, decimals=6))
    assert response_at(result, 8.2).source == "fitted model"
    for outside in (7.9, 637.0):
        found = response_at(result, outside)
        assert found.response_pct is None
        assert found.reason == f"{outside:g} Hz lies outside the readings, which run from 8 to 630 Hz"
    wavy = analyse_band_response(
        make_case("band-response", HZ, output * np.resize([1.0, 0.4, 1.9], HZ.size), decimals=6)
    )
    missing = response_at(wavy, 300.0)
    assert missing.reason.startswith("no reading at 300 Hz, and no band model describes the readings, which lie ")
    assert missing.lacks_model and not response_at(result, 7.9).lacks_model


def test_a_live_zero_in_a_response_by_the_model():
    """The readout's gain moves the zero with the output, the more against a response the less is left of it."""
    live = replace(CHANNEL, output_zero=20.0)
    output = 20.0 + 40.0 * butterworth(HZ, low=(20.0, 2), high=(400.0, 2))
    result = analyse_band_response(make_case("band-response", HZ, output, channel=live, decimals=6))
    found = response_at(result, 560.0)
    assert found.expanded.u == pytest.approx(
        found.response_pct * moved_by_errors(result.case, 560.0, zero=20.0), rel=1e-3
    )
    bare = response_at(analyse_band_response(replace(result.case, readouts=())), 560.0)
    assert found.expanded.u > 1.005 * bare.expanded.u


def test_a_zero_below_nothing_adds_no_part_of_the_readouts_gain():
    """Zero of -10 mV: an output of 30 mV stands for 40, of which the gain reads three quarters."""
    below = replace(CHANNEL, output_zero=-10.0)
    found = related([80.0, 160.0], [30.0, 30.0], channel=below)
    assert found.reference_leverage == pytest.approx(0.75)
    assert "readout gain at the live zero" not in {line.name for line in found.reference_budget(nominal=4.0).lines}
    assert found.readout_pct(1.0) == pytest.approx(0.025)


def test_why_no_worst_reading_of_the_flat_part_is_given():
    band = CHANNEL.band
    for changes, said in (
        ({"flat_hz": None, "flat_pct": None}, "no flat part is stated in asset.toml"),
        ({}, None),
        ({"flat_hz": (1000.0, 2000.0)}, "no reading in it to judge"),
    ):
        channel = replace(CHANNEL, band=replace(band, **changes))
        result = analyse_band_response(
            make_case("band-response", [40.0, 80.0, 160.0], [40.0] * 3, channel=channel, decimals=4)
        )
        assert result.undetermined.get("flat_worst_pct") == said
