"""What an explanation asks for without naming it, sizes that may as well be none, and what readings do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.analyses.faults import simulate
from vibcal_nb.analysis.faults.behaviour import describe_behaviour
from vibcal_nb.analysis.faults.chain_model import PARAMETERS
from vibcal_nb.analysis.faults.fault_families import HEALTHY, NONE_OF_THESE
from vibcal_nb.analysis.faults.fault_size import PULLED
from vibcal_nb.analysis.faults.faults import explain_channel
from vibcal_nb.display.faults.fault_sentences import behaviour_sentence, leaves, share, top_sentence
from vibcal_nb.display.faults.fault_tables import ranking_table
from vibcal_nb.records.quantities.channel_quantities import _explanation


def tilted(cases, change):
    """The cases with each output times ``change`` of its reading and its place in the table."""
    return [
        replace(case, readings=tuple(replace(r, output=r.output * change(r, i)) for i, r in enumerate(case.readings)))
        for case in cases
    ]


@pytest.fixture(scope="module")
def two_faults():
    """The sensor lost 19 %, and the upper corner lies at two thirds of where it should."""
    change = {"sensor": 0.81, "high": 0.67, "low": 1.0}
    return explain_channel(simulate("wrong filter", size=1, seed=11, change=change)[2])


def test_a_fit_that_needs_an_unnamed_second_fault_does_not_fit(two_faults):
    alone = two_faults.of("wrong filter")
    assert not alone.fits
    (pull, *_) = alone.pulls
    assert pull.parameter == "sensor_gain" and abs(pull.sigma) > 3.0 * PULLED
    assert np.exp(pull.value) == pytest.approx(0.81, abs=0.03)
    assert two_faults.top.name == "sensor lost sensitivity and wrong filter"
    assert two_faults.top.fits


def test_every_percentage_stands_with_how_well_it_fits_and_among_what(two_faults):
    said = top_sentence(two_faults)
    assert "among the faults known here" in said and "worst remainder" in said and "its U" in said
    table = ranking_table(two_faults)
    assert table.headings[1] == "weight among the faults known here"
    assert [row.cells[2] for row in table.rows] == [leaves(two_faults, e) for e in two_faults.explanations[:6]]


def test_no_weight_is_said_or_kept_above_what_calibration_supports(two_faults):
    assert share(1.0) == share(0.9999) == "> 80 %"
    assert max(_explanation(two_faults)["weights"].values()) <= 0.8


def test_the_worst_remainder_is_that_of_the_reading_farthest_off(two_faults):
    item = two_faults.of(HEALTHY)
    worst = two_faults.remainder(item)
    at = next(i for i, r in enumerate(two_faults.readings.readings) if r.row == worst.row)
    left = (two_faults.readings.ratio[at] - item.fitted.prediction[at]) / item.fitted.prediction[at]
    assert worst.left == pytest.approx(left)
    distance = np.abs(two_faults.readings.ratio - item.fitted.prediction) / np.sqrt(
        np.diag(item.fitted.reading_covariance)
    )
    assert abs(worst.left / worst.u) == pytest.approx(distance.max())


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5, 6])
def test_no_fault_is_named_whose_size_may_as_well_be_none(seed):
    found = explain_channel(simulate("healthy", seed=seed, full=bool(seed % 2))[2])
    for item in found.explanations:
        if item.name in ("module gain", "sensor lost sensitivity") and item.weight > 0.01:
            name = "module_gain" if item.name == "module gain" else "sensor_gain"
            fitted = item.fitted
            u = fitted.spread * np.sqrt(np.diag(fitted.covariance))
            moved = [(fitted.parameters[c], u[i]) for i, c in enumerate(fitted.free) if PARAMETERS[c] == name]
            assert all(abs(value) > 1.9 * error for value, error in moved)


def test_what_readings_do_is_described_in_level_frequency_and_order_of_rows():
    plain = simulate("healthy", seed=3, change={"sensor": 1.0, "module": 1.0})[2]
    falls = tilted(plain, lambda r, i: 1.0 - 0.2 * r.applied / 25.0 if r.test == "linearity" else 1.0)
    (first, *_) = describe_behaviour(explain_channel(falls).readings)
    assert first.test == 0 and first.trends[0].along == "level"
    assert first.trends[0].change < -0.08
    said = behaviour_sentence(explain_channel(falls))
    assert "along the level" in said and f"most in row {first.row}" in said


def test_a_channel_that_nothing_explains_is_described_and_its_nearest_family_is_no_finding():
    plain = simulate("healthy", seed=3)[2]
    rng = np.random.default_rng(5)
    found = explain_channel(tilted(plain, lambda r, i: float(rng.choice([0.55, 1.0, 1.3]))))
    assert (found.top.name, found.poor) == (NONE_OF_THESE, True)
    said = top_sentence(found)
    assert said.startswith("None of the faults known here explains the readings; the nearest is mains pick-up (")
    assert said.endswith(behaviour_sentence(found))
