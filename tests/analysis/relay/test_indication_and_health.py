"""The display as a line of its own, and electrical health, on a site of files; the whole channel takes them in."""

from __future__ import annotations

import math

import pytest

from tests.support.sites.plants import ASSET, VISIT, build_site, linearity_rows
from vibcal_nb.analysis.channel.channel_verdict import analyse_channel
from vibcal_nb.analysis.relay.electrical import analyse_electrical
from vibcal_nb.analysis.relay.indication import analyse_indication, indication_points
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.model.channel_case import select_channel_case
from vibcal_nb.problems import NothingToAnalyse

MORE = """
[channels.STG-1-V11.indication]
unit = "mm/s rms"
full_scale = 20
display_step = 0.1
tolerance = { span_pct = 3.0 }
[channels.STG-1-V11.electrical.bias]
unit = "V"
min = 8
max = 12
"""
HEADINGS = (
    "channel,test,condition,frequency_hz,applied,applied_unit,output,output_unit,direction,repeat,exclude,note,"
    "set_point,acted,item,value,unit"
)
LEVELS = (4.0, 8.0, 12.0, 16.0, 20.0)
SHOWN = tuple(round(x / math.sqrt(2.0), 1) for x in LEVELS)
DISPLAY = [f"STG-1-V11,indication,as-found,50,{x},mm/s pk,{y},mm/s rms" for x, y in zip(LEVELS, SHOWN, strict=True)]
RELAY = [
    "STG-1-V11,set-point,as-found,50,17.9,mm/s pk,,,,,,,trip,no",
    "STG-1-V11,set-point,as-found,50,18.2,mm/s pk,,,,,,,trip,yes",
]
BIAS = ["STG-1-V11,electrical,as-found,,,,,,,,,,,,bias,{},V"]


def visit(folder, rows, *, more=MORE):
    return load_visit(build_site(folder, rows, asset=ASSET + more, visit=VISIT, headings=HEADINGS))


def case(folder, test, rows, **given):
    return select_case(visit(folder, rows, **given), channel="STG-1-V11", test=test, condition="as-found")


def test_the_error_is_in_the_displays_unit_and_in_percent_of_its_span(tmp_path):
    result = analyse_indication(case(tmp_path, "indication", DISPLAY))
    assert result.verdict == "pass"
    for point, level, shown in zip(indication_points(result), LEVELS, SHOWN, strict=True):
        assert point.applied == pytest.approx(level / math.sqrt(2.0))  # pk = sqrt(2) rms of a sine
        assert point.indicated == shown
        assert point.error_span_pct == pytest.approx(100.0 * (shown - level / math.sqrt(2.0)) / 20.0)


def test_the_displays_step_is_its_resolution(tmp_path):
    """A rectangle of one step has step over the square root of 12 (JCGM 100:2008, F.2.2.1)."""
    result = analyse_indication(case(tmp_path, "indication", DISPLAY))
    assert list(result.uncertainty.readings.resolution_y) == pytest.approx([0.1] * 5)
    assert min(result.uncertainty.u_y) >= 0.1 / math.sqrt(12.0)


def test_a_display_that_reads_high_fails(tmp_path):
    rows = [f"STG-1-V11,indication,as-found,50,{x},mm/s pk,{1.08 * x / 2**0.5:.1f},mm/s rms" for x in LEVELS]
    assert analyse_indication(case(tmp_path, "indication", rows)).verdict == "fail"


def test_without_its_table_a_display_is_not_judged(tmp_path):
    with pytest.raises(NothingToAnalyse, match="indication"):
        analyse_indication(case(tmp_path, "indication", DISPLAY, more=""))


@pytest.mark.parametrize(("value", "verdict"), [("10.2", "pass"), ("12.4", "fail"), ("7.9", "fail")])
def test_an_electrical_value_is_judged_against_its_limits(tmp_path, value, verdict):
    assert analyse_electrical(case(tmp_path, "electrical", [BIAS[0].format(value)])).verdict == verdict


def test_the_channel_takes_in_what_follows_its_output(tmp_path):
    rows = [*linearity_rows(gain=4.0), *DISPLAY, *RELAY, BIAS[0].format("10.2")]
    found = visit(tmp_path, rows)
    result = analyse_channel(select_channel_case(found, channel="STG-1-V11", condition="as-found"))
    assert [result.tests.verdicts[test] for test in ("indication", "set-points", "electrical")] == ["pass"] * 3
    status = {point.set_point: point.status for point in result.reach}
    assert status == {"alert": "demonstrated", "trip": "proved"}
    trip = next(point for point in result.reach if point.set_point == "trip")
    assert trip.true_level == pytest.approx(18.05)


def test_a_relay_that_did_not_come_is_a_channel_that_does_not_act(tmp_path):
    rows = [*linearity_rows(gain=4.0), RELAY[0], RELAY[1].replace("18.2", "20.0").replace("yes", "no")]
    result = analyse_channel(
        select_channel_case(visit(tmp_path, rows), channel="STG-1-V11", condition="as-found"), explain=False
    )
    status = {point.set_point: point.status for point in result.reach}
    assert (status["trip"], result.verdict) == ("does not act", "fail")


def test_without_a_relay_row_nothing_is_proved(tmp_path):
    found = visit(tmp_path, [*linearity_rows(gain=4.0), *DISPLAY])
    result = analyse_channel(select_channel_case(found, channel="STG-1-V11", condition="as-found"))
    assert {point.status for point in result.reach} == {"demonstrated"}
