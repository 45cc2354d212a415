"""The reference that a reading is judged by: whose certificate covers its frequency, and of several the best."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.support.readings.cases import REFERENCE
from vibcal_nb.analysis.readings.chosen_reference import choose_reference
from vibcal_nb.model.equipment import ReferenceBand


def reference(name, *ranges, **changes):
    bands = tuple(ReferenceBand(from_hz=low, to_hz=high, expanded_pct=pct, k=2.0) for low, high, pct in ranges)
    return replace(REFERENCE, id=name, uncertainty=bands, **changes)


def chosen(hz, *references):
    found = choose_reference(references, hz)
    return found.reference.id, found.band.expanded_pct, found.covers


LOW = reference("LOW", (0.5, 20.0, 3.0))
HIGH = reference("HIGH", (10.0, 10_000.0, 1.0))


@pytest.mark.parametrize(
    ("hz", "name", "pct"), [(1.0, "LOW", 3.0), (15.0, "HIGH", 1.0), (50.0, "HIGH", 1.0), (9.8, "LOW", 3.0)]
)
def test_each_reading_takes_the_reference_that_covers_it_whatever_the_order_of_the_file(hz, name, pct):
    """Where both cover, the smaller U; where one alone does, that one."""
    assert chosen(hz, LOW, HIGH) == chosen(hz, HIGH, LOW) == (name, pct, True)


def test_at_the_edge_that_ranges_share_the_larger_figure_counts():
    two = reference("TWO", (5.0, 10.0, 2.0), (10.0, 2000.0, 1.0))
    assert chosen(10.0, two) == ("TWO", 2.0, True)
    assert chosen(10.1, two) == ("TWO", 1.0, True)
    ends, begins = reference("ENDS", (1.0, 50.0, 2.0)), reference("BEGINS", (50.0, 1000.0, 1.0))
    assert chosen(50.0, begins, ends) == ("ENDS", 2.0, True)
    assert chosen(50.0, ends, reference("BOTH", (20.0, 1000.0, 1.5))) == ("BOTH", 1.5, True)


def test_small_means_the_standard_uncertainty():
    """1.4 % with k = 3 is less than 1 % with k = 2."""
    wide_k = replace(REFERENCE, id="K3", uncertainty=(ReferenceBand(from_hz=1.0, to_hz=1e4, expanded_pct=1.4, k=3.0),))
    assert chosen(80.0, HIGH, wide_k) == ("K3", 1.4, True)


def test_of_two_certificates_of_equal_size_the_later_counts():
    older = replace(HIGH, id="OLD", calibrated=date(2025, 1, 10))
    assert chosen(80.0, older, HIGH)[0] == chosen(80.0, HIGH, older)[0] == "HIGH"


@pytest.mark.parametrize(("hz", "covers"), [(0.5, True), (0.4951, True), (0.494, False), (20.2, True), (20.3, False)])
def test_a_range_covers_up_to_1_percent_beyond_its_end(hz, covers):
    assert chosen(hz, LOW) == ("LOW", 3.0, covers)


def test_between_and_beyond_all_ranges_the_nearest_is_named_and_covers_nothing():
    apart = reference("APART", (100.0, 200.0, 1.0))
    assert chosen(60.0, LOW, apart) == ("APART", 1.0, False)
    assert chosen(40.0, LOW, apart) == ("LOW", 3.0, False)
    assert choose_reference((), 50.0) is None
