"""Explanations of channels with a known fault: named, sized, honest about what cannot be told apart."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.analyses.faults import _waver, simulate
from vibcal_nb.analysis.faults.chain_model import INDEX
from vibcal_nb.analysis.faults.fault_readings import gather_readings
from vibcal_nb.analysis.faults.faults import HEALTHY, explain_channel
from vibcal_nb.problems import NothingToAnalyse


@pytest.mark.parametrize(
    "family",
    ["healthy", "module gain", "unit mix-up", "mains pick-up", "noise floor", "saturation", "leak", "wrong filter",
     "wrong integration", "cracked element", "cable strain", "loose mounting"],
)  # fmt: skip
def test_a_gross_fault_is_named_first_on_a_full_table(family):
    found = explain_channel(simulate(family)[2])
    assert found.top.name == family
    assert not found.poor
    assert math.fsum(item.weight for item in found.explanations) == pytest.approx(1.0)


def test_the_size_of_a_fault_is_found():
    _, _, cases = simulate("saturation", size=1, change={"clips": "fundamental", "clip": 0.5})
    top = explain_channel(cases).top
    assert math.exp(top.fitted.parameters[INDEX["clip"]]) == pytest.approx(0.5, rel=0.02)
    _, _, cases = simulate("wrong filter", change={"high": 0.7, "low": 1.0})
    top = explain_channel(cases).top
    assert math.exp(top.fitted.parameters[INDEX["corner_high"]]) == pytest.approx(0.7, rel=0.03)


def test_without_a_sensor_alone_test_module_and_sensor_share_the_weight_and_say_so():
    found = explain_channel(simulate("module gain", size=1, sensor=False, change={"module": 0.87, "sensor": 1.0})[2])
    names = {found.top.name, *found.top.alike}
    assert {"module gain", "sensor lost sensitivity"} <= names
    assert found.top.weight < 0.9


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_what_no_reading_would_show_is_not_claimed(seed):
    """A limit above the highest level, pick-up where nothing was read, a mix-up in a test that was not taken."""
    found = explain_channel(simulate("healthy", seed=seed, sensor=False)[2])
    assert found.top.name == HEALTHY
    hidden = ("saturation", "mains pick-up", "detector mix-up", "unit mix-up")
    assert sum(item.weight for item in found.explanations if item.name in hidden) < 0.02


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_pickup_that_beats_with_the_signal_is_no_strain(seed):
    """Slower than a reading averages, the beat scatters the readings near mains by most of the pick-up."""
    found = explain_channel(simulate("mains pick-up", seed=seed, change={"pickup": 0.1})[2])
    assert found.top.name == "mains pick-up"
    assert found.of("cable strain").weight < 0.01


def test_a_broad_band_pickup_cannot_be_told_from_noise():
    found = explain_channel(simulate("noise floor")[2])
    assert "mains pick-up" in found.top.alike


def test_what_no_family_does_is_said_to_be_none_of_them():
    _, _, cases = simulate("healthy")
    wavy = [replace(case, readings=tuple(_waver(r) for r in case.readings)) for case in cases]
    found = explain_channel(wavy)
    assert found.poor or found.top.name in ("none of these", "cable strain")
    assert found.of(HEALTHY).weight < 1e-6


def test_row_order_does_not_matter():
    _, _, cases = simulate("leak", size=1)
    turned = [replace(case, readings=case.readings[::-1]) for case in cases]
    one, two = explain_channel(cases), explain_channel(turned)
    for item in one.explanations:
        assert two.of(item.name).weight == pytest.approx(item.weight, abs=1e-4)


def test_readings_that_speak_for_a_fault_are_those_that_show_it():
    _, _, cases = simulate("saturation", size=2, change={"clips": "fundamental", "clip": 0.3})
    found = explain_channel(cases)
    strongest = int(np.argmax(found.top.support))
    points = found.readings.points
    assert found.readings.readings[strongest].test == "linearity"
    assert points.level[strongest] > 0.3


def test_an_excluded_reading_takes_no_part():
    _, _, cases = simulate("healthy")
    first, *others = cases[0].readings
    spoilt = [replace(cases[0], readings=(replace(first, output=1e3), *others)), *cases[1:]]
    assert explain_channel(spoilt).slips[0].rows == (first.row,)
    out = [spoilt[0].with_excluded({cases[0].readings[0].row}), *spoilt[1:]]
    assert explain_channel(out).top.name == HEALTHY
    assert len(gather_readings(out)) == len(gather_readings(spoilt)) - 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda cases: [], "There are no readings to explain"),
        (lambda cases: [cases[0], replace(cases[1], condition="as-left")], "several channels or conditions"),
        (
            lambda cases: [c.with_excluded({r.row for r in c.readings}) for c in cases],
            "has no reading that can be used",
        ),
    ],
)
def test_what_cannot_be_explained_is_refused_with_a_sentence(change, said):
    with pytest.raises(NothingToAnalyse, match=said):
        explain_channel(change(simulate("healthy")[2]))
