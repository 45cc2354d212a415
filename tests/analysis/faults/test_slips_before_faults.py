"""A row written down wrongly is asked about before any fault, and what stays is explained as it was meant."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.support.analyses.faults import simulate
from vibcal_nb.analysis.faults.explanation import Explanation
from vibcal_nb.analysis.faults.fault_families import HEALTHY, NONE_OF_THESE
from vibcal_nb.analysis.faults.faults import explain_channel
from vibcal_nb.display.faults.fault_sentences import explanation_step, top_sentence


def faulty(found) -> list[Explanation]:
    return [item for item in found.explanations if item.name not in (HEALTHY, NONE_OF_THESE)]


def with_row(cases, number, change):
    """The cases with one row of the first test changed."""
    readings = list(cases[0].readings)
    readings[number] = change(readings[number])
    return [replace(cases[0], readings=tuple(readings)), *cases[1:]]


@pytest.mark.parametrize("factor", [math.sqrt(0.5), math.sqrt(2.0), 10.0, 0.1, 2.0])
@pytest.mark.parametrize("full", [True, False])
def test_one_row_off_by_a_factor_is_asked_about_and_no_fault_is_named(factor, full):
    cases = simulate("healthy", full=full)[2]
    row = cases[0].readings[3]
    found = explain_channel(with_row(cases, 3, lambda r: replace(r, output=round(r.output * factor, 2))))
    assert [slip.rows for slip in found.slips] == [(row.row,)]
    assert found.top.name == HEALTHY
    assert sum(item.weight for item in faulty(found)) < 0.5
    said = top_sentence(found)
    assert said.startswith(f"Ask first about row {row.row}: ")
    assert found.slips[0].question in said
    assert "As they were probably meant" in explanation_step(found)


def test_a_value_that_stuck_is_left_out_and_asked_about():
    cases = simulate("healthy", full=True)[2]
    before = cases[0].readings[3].output
    found = explain_channel(with_row(cases, 4, lambda r: replace(r, output=before)))
    assert found.slips[0].rows == (cases[0].readings[4].row,)
    assert found.top.name == HEALTHY


@pytest.mark.parametrize("family", ["saturation", "detector mix-up", "open leg", "wrong filter"])
def test_a_fault_of_the_channel_is_no_slip(family):
    found = explain_channel(simulate(family, full=True)[2])
    assert found.slips == ()
    assert found.top.name == family


def test_a_slip_on_a_faulty_channel_is_asked_about_and_the_fault_named():
    cases = simulate("wrong filter", full=True)[2]
    found = explain_channel(with_row(cases, 4, lambda r: replace(r, output=round(r.output / math.sqrt(2.0), 2))))
    assert found.slips[0].rows == (cases[0].readings[4].row,)
    assert found.top.name == "wrong filter"
