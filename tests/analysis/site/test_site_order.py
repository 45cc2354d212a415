"""Which results are a channel's latest, as found and as left, whatever the order in which they come."""

from __future__ import annotations

import itertools

import pytest

from tests.support.sites.site_order import result
from vibcal_nb.analysis.site.site_changes import histories, last_changes
from vibcal_nb.analysis.site.site_results import SetPointReach, latest_states


def states(*results):
    return {name: (found.record, left.record) for name, (found, left) in latest_states(results).items()}


def test_as_left_belongs_to_the_as_found_of_its_own_visit():
    visits = [result(1, "as-found"), result(1, "as-left"), result(9, "as-found"), result(9, "as-left")]
    for order in itertools.permutations(visits):
        assert states(*order) == {"linearity": ("9 as-found", "9 as-left")}


def test_where_nothing_was_done_the_channel_was_left_as_found():
    assert states(result(1, "as-found"), result(1, "as-left"), result(9, "as-found")) == {
        "linearity": ("9 as-found", "9 as-found")
    }


def test_as_left_alone_at_a_later_visit_stands_for_both():
    assert states(result(1, "as-found"), result(9, "as-left")) == {"linearity": ("9 as-left", "9 as-left")}


def test_each_analysis_has_its_own_latest_result():
    assert states(result(1, "as-found"), result(9, "as-found", analysis="band-response")) == {
        "linearity": ("1 as-found", "1 as-found"),
        "band-response": ("9 as-found", "9 as-found"),
    }


def test_the_last_change_is_from_the_state_left_before_to_the_last_as_found():
    visits = [
        result(1, "as-found", deviation=4.0), result(1, "as-left", deviation=0.5), result(9, "as-found", deviation=2.0),
        result(9, "as-left", deviation=0.1),
    ]  # fmt: skip
    for order in itertools.permutations(visits):
        (change,) = last_changes(histories(order))
        assert change.change_pct == pytest.approx(1.5)


def test_what_has_no_tolerance_has_no_history():
    assert histories([result(1, "as-found", tolerance_pct=None)]) == {}


def test_by_a_test_alone_levels_within_3_percent_of_a_set_point_have_reached_it():
    def reached(level, status=None):
        return SetPointReach(
            rotor="turbine", frequency_hz=50.0, set_point="trip", level=18.0, max_applied=level, unit="mm/s pk",
            status=status,
        ).is_known  # fmt: skip

    assert [reached(level) for level in (None, 17.45, 17.47, 18.0)] == [False, False, True, True]
    assert [reached(9.0, status) for status in ("demonstrated", "inferred", "proved")] == [True] * 3
    assert [reached(20.0, status) for status in ("not verified", "does not act")] == [False] * 2
