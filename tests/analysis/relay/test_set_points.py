"""Set points driven through their relays: what proves them, what does not, and how far off they are."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.analyses.relay import RELAYED, relay_case
from tests.support.readings.cases import SHORT
from vibcal_nb.analysis.relay.set_points import analyse_set_points
from vibcal_nb.model.relay.safety_trail import Inhibit, ReturnToService, SafetyTrail
from vibcal_nb.model.relay.set_points import SetPoint
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.units import parse_unit

ALERT = (("alert", 11.0, False), ("alert", 11.3, True))
DELAYED = SetPoint(name="trip", level=18.0, delay_s=(0.8, 1.2))
INHIBIT = Inhibit(permit="P-1", channels=("STG-1-V11",), off="08:00", on="11:00", by="A", told=("control room",))


def only(result):
    (found,) = result.found
    return found


def test_no_action_at_11_and_action_at_11_3_is_11_15():
    """Width over the square root of 12 (JCGM 100:2008, 4.3.7), then the reference's part: 1 % at k = 2 of 11."""
    found = only(analyse_set_points(relay_case(ALERT)))
    assert found.estimate == pytest.approx(11.15)
    assert found.action.standard_uncertainty == pytest.approx(0.0866, abs=5e-5)
    assert found.expanded.u > math.hypot(0.0866, 0.055)
    assert found.deviation_pct == pytest.approx(100.0 * (11.15 / 11.0 - 1.0))
    assert (found.known_as, found.verdict) == ("proved", "pass")
    assert analyse_set_points(relay_case(ALERT)).untried == ("trip",)


def test_the_budget_adds_up_to_the_uncertainty_that_is_stated():
    found = only(analyse_set_points(relay_case(ALERT)))
    budget = found.known.budget(found.action)
    assert budget.combined_standard_uncertainty == pytest.approx(100.0 * found.expanded.u / 11.0)


def test_a_relay_that_acts_seven_percent_late_fails():
    rows = [("trip", 18.0 * x, x > 1.07) for x in (0.95, 1.0, 1.03, 1.06, 1.08)]
    found = only(analyse_set_points(relay_case(rows)))
    assert found.deviation_pct == pytest.approx(7.0)
    assert found.verdict == "fail"


def test_levels_in_another_quantity_are_converted_at_their_frequency():
    """1 g pk at 100 Hz is 15.6078 mm/s pk (2 pi f, standard gravity 9.80665)."""
    more = {"frequency_hz": 100.0, "applied_unit": parse_unit("g pk")}
    found = only(analyse_set_points(relay_case([("trip", 1.0, False, more), ("trip", 1.2, True, more)])))
    assert found.estimate == pytest.approx(1.1 * 15.6078, rel=1e-5)


def test_what_never_acted_beyond_its_limits_does_not_act():
    result = analyse_set_points(relay_case([("trip", 15.0, False), ("trip", 21.0, False)]))
    assert (only(result).known_as, result.verdict) == ("does not act", "fail")


@pytest.mark.parametrize("rows", [[("trip", 17.0, False)], [("trip", 18.5, True)], [("trip", 18.2, False)]])
def test_one_side_alone_proves_nothing(rows):
    result = analyse_set_points(relay_case(rows))
    assert (only(result).known_as, result.verdict) == ("not verified", "not verified")
    assert only(result).estimate is None


def test_what_had_acted_far_below_fails_though_no_level_tells_where():
    result = analyse_set_points(relay_case([("trip", 12.0, True)]))
    assert only(result).acted_before
    assert result.verdict == "fail"


def test_rising_and_falling_give_the_hysteresis():
    down = {"direction": "falling"}
    rows = [*ALERT, ("alert", 10.9, True, down), ("alert", 10.7, False, down)]
    found = only(analyse_set_points(relay_case(rows)))
    assert found.release.estimate == pytest.approx(10.8)
    assert found.hysteresis == pytest.approx(0.35)


def test_a_latching_relay_has_no_release():
    channel = replace(RELAYED, relays=(SetPoint(name="alert", level=11.0, latching=True),))
    down = {"direction": "falling"}
    rows = [*ALERT, ("alert", 10.9, True, down), ("alert", 5.0, False, down)]
    assert only(analyse_set_points(relay_case(rows, channel=channel))).release is None


def test_a_set_point_that_acts_where_the_level_falls():
    channel = replace(RELAYED, relays=(SetPoint(name="low", level=2.0, direction="falling"),))
    rows = [("low", 2.4, False), ("low", 2.1, False), ("low", 2.0, True), ("low", 1.0, True)]
    found = only(analyse_set_points(relay_case(rows, channel=channel)))
    assert (found.approaches.highest_not_acted, found.approaches.lowest_acted) == (2.1, 2.0)
    assert found.estimate == pytest.approx(2.05)


@pytest.mark.parametrize(("delays", "verdict"), [((1.0, 1.1), "pass"), ((1.9, 2.0), "fail"), ((), "not verified")])
def test_a_delay_is_judged_against_its_pair(delays, verdict):
    channel = replace(RELAYED, relays=(DELAYED,))
    rows = [("trip", 17.9, False), ("trip", 18.1, True)]
    rows += [("trip", 18.2, True, {"delay_s": value, "delay_decimals": 1}) for value in delays]
    result = analyse_set_points(relay_case(rows, channel=channel))
    assert result.verdict == verdict
    if delays:
        assert only(result).delay.mean_s == pytest.approx(sum(delays) / 2)


def test_excluded_rows_that_would_fail_keep_a_pass_from_being_said():
    rows = [*ALERT, ("alert", 12.5, False, {"exclude": "not liked"})]
    result = analyse_set_points(relay_case(rows))
    assert result.verdict == "not verified"
    assert [gate.gate for gate in result.gates] == ["excluded readings"]


def test_what_is_not_proved_back_in_service_is_never_better_than_not_verified():
    back = ReturnToService(by="A", at="11:20", checks=("Trip path proved.",))
    case = relay_case(ALERT)
    for trail, verdict in (
        (SafetyTrail(inhibit=INHIBIT), "not verified"),
        (SafetyTrail(inhibit=replace(INHIBIT, on=None), returned=back), "not verified"),
        (SafetyTrail(inhibit=INHIBIT, returned=back), "pass"),
        (SafetyTrail(inhibit=replace(INHIBIT, channels=("OTHER",))), "pass"),
    ):
        result = analyse_set_points(replace(case, visit=replace(case.visit, trail=trail)))
        assert result.verdict == verdict
        assert [gate.gate for gate in result.gates] == ["not proved back in service"] * (verdict != "pass")


def test_the_entry_is_json_under_the_keys_of_the_contract():
    entry = json.loads(json.dumps(result_entry(analyse_set_points(relay_case(ALERT))), allow_nan=False))
    (found,) = entry["quantities"]
    keys = (
        "set_point set_level highest_not_acted lowest_acted estimate expanded_uncertainty deviation_pct delay_s verdict"
    )
    assert set(keys.split()) <= set(found)
    assert (found["highest_not_acted"], found["lowest_acted"], found["estimate"]) == (11.0, 11.3, 11.15)
    assert entry["analysis"] == "set-points"
    assert "proved through the relay" in entry["statement"]


def test_nothing_but_excluded_rows_is_nothing():
    with pytest.raises(NothingToAnalyse, match="no relay row"):
        analyse_set_points(relay_case([("alert", 11.0, False, {"exclude": "x"})]))


ROW = st.tuples(st.sampled_from(["alert", "trip"]), st.floats(1.0, 40.0), st.booleans())


@SHORT
@given(st.lists(ROW, min_size=1, max_size=8))
def test_nothing_is_proved_without_a_relay_that_acted_and_one_level_at_which_it_had_not(rows):
    for found in analyse_set_points(relay_case(rows)).found:
        own = [acted for name, _, acted in rows if name == found.set_point.name]
        assert (found.known_as == "proved") == (True in own and False in own)
