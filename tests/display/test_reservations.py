"""What stands beside a verdict: a decision rule that lets more pass than is usual (ILAC-G8:09/2019, 4.2.3)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL, REFERENCE, butterworth, make_case
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.display.band_response.band_view import VIEW
from vibcal_nb.display.results.statements import compose_statement

LEVELS = np.array([2.0, 5.0, 9.0, 14.0, 18.0])
ONE = replace(CHANNEL, rotors=CHANNEL.rotors[:1])


def statement(**decision):
    case = make_case("linearity", np.full(5, 50.0), 4.0 * LEVELS, applied=LEVELS, channel=ONE, decimals=3)
    stated = replace(case.visit.decision, **decision)
    return compose_statement(analyse_linearity(replace(case, visit=replace(case.visit, decision=stated))))


@pytest.mark.parametrize(
    ("decision", "said"),
    [
        ({"rule": "guarded", "r": 0.01}, "a guard band of 0.01 U in place of U"),
        ({"coverage_probability": 0.5}, "U for 50 % in place of 95 %"),
        ({"largest_u_share": 2.0}, "U of up to 200 % of its tolerance in place of 100 %"),
        ({"grace_days": 30.0}, "certificates that count for 30 days after they have run out"),
        (
            {"rule": "guarded", "r": 0.01, "coverage_probability": 0.5},
            "a guard band of 0.01 U in place of U and U for 50 % in place of 95 %",
        ),
    ],
)
def test_a_rule_that_lets_more_pass_than_is_usual_is_said_at_the_verdict(decision, said):
    assert f"The decision rule of this visit lets more pass than is usual: {said}." in statement(**decision)


@pytest.mark.parametrize(
    "decision",
    [{}, {"rule": "guarded", "r": 1.0}, {"r": 0.01}, {"coverage_probability": 0.9545}, {"largest_u_share": 0.25}],
)
def test_usual_rules_and_stricter_ones_need_no_word(decision):
    assert "than is usual" not in statement(**decision)


@pytest.mark.parametrize(("correlation", "said"), [(None, True), (0.9, True), (1.0, False)])
def test_a_band_record_says_how_it_takes_the_certificates_error_over_frequency(correlation, said):
    hz = np.array([16.0, 20.0, 40.0, 80.0, 200.0, 400.0, 500.0])
    case = make_case("band-response", hz, 40.0 * butterworth(hz, low=(20.0, 2), high=(400.0, 2)), decimals=3)
    result = analyse_band_response(replace(case, references=(replace(REFERENCE, correlation=correlation),)))
    assert (
        any(
            "which part of the certificate's error frequencies within an octave share" in text
            for text in VIEW.not_shown(result)
        )
        is said
    )
