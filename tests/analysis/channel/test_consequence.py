"""What a failed as-found means, and what the verdict on a whole channel leaves open, on channels made by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from tests.support.analyses.attribution import LEVELS
from tests.support.analyses.consequence import SET, linearity, sensor
from tests.support.readings.cases import READOUT, REFERENCE
from vibcal_nb.analysis.channel.channel_tests import analyse_tests
from vibcal_nb.analysis.channel.channel_verdict import analyse_channel
from vibcal_nb.analysis.channel.consequence import has_failed, state_consequence, was_good
from vibcal_nb.model.channel_case import ChannelCase, EarlierVisit


def earlier(name, *, problem=None, **cases):
    return EarlierVisit(
        name=name, date=date(2025, 5, 1), condition="as-left", problem=problem,
        cases={test.replace("_", "-"): case for test, case in cases.items()},
    )  # fmt: skip


def consequence(found, *visits):
    return state_consequence(SET, analyse_tests(SET, found), (), visits)


def test_how_wrong_a_channel_read_is_the_line_and_the_range_of_its_readings():
    """1 % of scatter about a gain 8 % low: 7.08 to 8.92 % low; an excluded reading takes no part."""
    levels = np.array([2.0, 5.0, 9.0, 14.0, 18.0, 19.0])
    case = linearity(0.92, levels=levels, exclude={5: "knocked"})
    (error,) = consequence({"linearity": case}).errors
    line = analyse_tests(SET, {"linearity": case}).linearity.frequencies[0].line
    assert error.frequency_hz == 50.0
    assert (error.error_pct, error.expanded_pct) == (line.deviation_pct, line.deviation_expanded.U)
    assert (error.least_pct, error.most_pct) == pytest.approx((-8.92, -7.08), abs=1e-9)


def test_a_frequency_without_a_line_has_no_error():
    case = linearity(0.92)
    two = linearity(0.92, hz=149.0, levels=LEVELS[:2])
    both = replace(case, readings=(*case.readings, *(replace(r, row=r.row + 9) for r in two.readings)))
    found = consequence({"linearity": both})
    assert [e.frequency_hz for e in found.errors] == [50.0]
    assert consequence({"sensor-alone": sensor(0.8)}).errors == ()


def test_what_failed_is_named_and_nothing_follows_from_what_did_not():
    assert consequence({"linearity": linearity(1.0), "sensor-alone": sensor()}) is None
    assert consequence({"linearity": linearity(0.9), "sensor-alone": sensor()}).failed_tests == ("linearity",)
    assert consequence({"linearity": linearity(0.9), "sensor-alone": sensor(0.9)}).failed_tests == (
        "linearity",
        "sensor-alone",
    )
    assert has_failed(analyse_tests(SET, {"linearity": linearity(0.9)}))
    assert not has_failed(analyse_tests(SET, {}))  # not verified is no failure


def test_the_last_good_visit_is_the_latest_whose_linearity_passed_and_where_nothing_failed():
    good = earlier("2024", linearity=linearity(1.0))
    sensor_bad = earlier("2025", linearity=linearity(1.0), sensor_alone=sensor(0.8))
    only_sensor = earlier("2023", sensor_alone=sensor())
    unread = earlier("2022", problem="the table of 2022 could not be read")
    assert [was_good(SET, visit) for visit in (good, sensor_bad, only_sensor, unread)] == [True, False, False, False]
    found = consequence({"linearity": linearity(0.9)}, sensor_bad, unread, good, only_sensor)
    assert found.last_good is good
    assert found.looked_at == (
        "the visit 2025 does not show the channel good",
        "the table of 2022 could not be read",
    )
    never = consequence({"linearity": linearity(0.9)}, sensor_bad, only_sensor)
    assert never.last_good is None
    assert len(never.looked_at) == 2


def channel_case(tests, *, other=None, condition="as-found", channel=SET, visits=()):
    example = linearity(1.0)
    return ChannelCase(
        asset_tag="STG-1", asset_name="turbine", visit_name="2026-05-19", channel=channel, condition=condition,
        tests=tests, other=other or {}, references=(REFERENCE,), readouts=(READOUT,), visit=example.visit,
        table_file="readings.csv", earlier=visits,
    )  # fmt: skip


def test_a_channel_is_as_good_as_the_worst_of_its_tests_and_of_its_reach():
    good = analyse_channel(channel_case({"linearity": linearity(1.0), "sensor-alone": sensor()}))
    assert (good.verdict, good.unverified, good.explanations, good.consequence) == ("pass", (), None, None)
    assert set(good.undetermined) == {"as_found_as_left", "explanation", "consequence"}
    assert good.undetermined["explanation"] == "no test on the shaker failed"
    assert good.undetermined["consequence"] == "no test failed as found"
    assert good.undetermined["as_found_as_left"] == "the visit holds one condition of this channel alone"
    short = analyse_channel(channel_case({"linearity": linearity(1.0, levels=LEVELS[:3]), "sensor-alone": sensor()}))
    assert short.verdict == "not verified"
    assert [p.set_point for p in short.unverified] == ["alert", "trip"]  # three scattered readings show no bend
    assert (
        short.undetermined["true_level of trip at turbine, 50 Hz"]
        == "the readings at 50 Hz end at 9 mm/s pk, 50 % of it"
    )
    failed = analyse_channel(channel_case({"linearity": linearity(0.9), "sensor-alone": sensor()}))
    assert (failed.verdict, "explanation" in failed.undetermined) == ("fail", False)
    # it scatters by 1 % at every level, and is read at 50 Hz, where pick-up from the mains beats
    assert failed.explanations.top.names == ("mains pick-up", "module gain")
    assert failed.consequence.failed_tests == ("linearity",)


def test_what_cannot_be_told_of_a_channel_has_its_reason():
    alone = analyse_channel(channel_case({"linearity": linearity(1.0)}))
    assert alone.undetermined["attribution"] == "sensor alone was not read at a frequency where both are needed"
    apart = analyse_channel(channel_case({"sensor-alone": sensor()}))
    assert apart.undetermined["attribution"] == "the channel was not read at a frequency where both are needed"
    bare = replace(SET, alert=None, trip=None)
    nowhere = analyse_channel(channel_case({"linearity": linearity(1.0, channel=bare)}, channel=bare))
    assert (
        nowhere.undetermined["reach"] == "the channel states no alert and no trip, or nothing tells its running speeds"
    )
    still = replace(SET, rotors=())
    unnamed = analyse_channel(
        channel_case({"linearity": linearity(1.0, levels=LEVELS[:3], channel=still)}, channel=still)
    )
    assert "true_level of trip at 50 Hz" in unnamed.undetermined


def test_as_found_and_as_left_are_told_apart_by_the_condition_looked_at():
    bad, mended = {"linearity": linearity(0.9)}, {"linearity": linearity(1.0)}
    as_found = analyse_channel(channel_case(bad, other=mended))
    as_left = analyse_channel(channel_case(mended, other=bad, condition="as-left"))
    for result in (as_found, as_left):
        (change,) = result.changes
        assert (change.as_found, change.as_left) == pytest.approx((-10.0, 0.0), abs=0.7)
        assert result.consequence.failed_tests == ("linearity",)
    assert (as_found.verdict, as_left.verdict) == ("fail", "not verified")  # no sensor alone, though stated
    only_left = analyse_channel(channel_case(mended, condition="as-left"))
    assert only_left.undetermined["consequence"] == "nothing was read as found"
    assert (only_left.changes, only_left.consequence) == (None, None)
