"""A sensor at other temperatures: its change from room temperature, judged at stated temperatures; closed forms."""

from __future__ import annotations

import json

import pytest

from tests.support.readings.cases import sane
from tests.support.sites.plants import ASSET, build_site
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.display.sensor_alone.sensor_tables import sensor_points
from vibcal_nb.display.views import view_of
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.problems import InputRefused
from vibcal_nb.records.inputs_used.record_inputs import state_test
from vibcal_nb.records.inputs_used.visit_statement import read_visit_statement

HEADINGS = "channel,test,condition,frequency_hz,applied,applied_unit,output,output_unit,temperature_c"
LIMITS = ASSET + "hot = [{ c = 400, min_pct = -5, max_pct = 10 }]\n"
COLD_HZ = (20, 40, 80, 160, 315, 400)


def row(hz, sensitivity, temperature=""):
    return f"STG-1-V11,sensor-alone,as-found,{hz},10.00,m/s2 pk,{10.0 * sensitivity:.3f},pC pk,{temperature}"


def visit(tmp_path, *hot, asset=LIMITS, room="22"):
    rows = [*(row(hz, 5.0, room) for hz in COLD_HZ), *hot]
    return load_visit(build_site(tmp_path, rows, asset=asset, headings=HEADINGS))


def analyse(tmp_path, *hot, **more):
    folder = visit(tmp_path, *hot, **more)
    return analyse_sensor_alone(select_case(folder, channel="STG-1-V11", test="sensor-alone", condition="as-found"))


def test_a_hot_reading_is_held_against_the_cold_one_at_its_frequency(tmp_path):
    result = analyse(tmp_path, row(80, 5.4, 398))
    (point,) = result.hot.points
    assert point.change_pct == pytest.approx(8.0)
    assert 0.2 < point.expanded.U < 1.5  # the reference cancels, each mounting does not
    assert result.verdict == "pass"
    assert len(result.points) == len(COLD_HZ)  # it is none of those that flatness is told by
    assert result.reference.deviation_pct == pytest.approx(0.0, abs=1e-9)
    entry = sane(result)["quantities"]["hot"][0]
    assert (entry["temperature_c"], entry["change_pct"]) == (398.0, pytest.approx(8.0))
    assert sensor_points(result)[1].rows[0].cells[1] == "398"


def test_beyond_the_limit_it_fails_by_name(tmp_path):
    result = analyse(tmp_path, row(80, 5.8, 400), row(160, 5.1, 400))
    assert result.verdict == "fail"
    assert "The change of sensitivity at 400 °C is 16.0" in compose_statement(result)
    assert "its change of sensitivity at 400 °C is 16.0" in view_of(result).sentence(result)


@pytest.mark.parametrize("hot", [(), (row(80, 5.2, 200),), (row(100, 5.2, 400),)])
def test_what_was_not_read_is_not_verified(tmp_path, hot):
    result = analyse(tmp_path, *hot)
    assert result.verdict == "not verified"
    assert "no reading at 400 °C and at a frequency that was read at room temperature" in compose_statement(result)


def test_a_warm_room_is_a_room_and_without_limits_nothing_is_judged(tmp_path):
    result = analyse(tmp_path, asset=ASSET, room="33")
    assert (result.verdict, result.hot) == ("pass", None)
    told = analyse(tmp_path, row(80, 9.0, 400), asset=ASSET)
    assert (told.verdict, told.hot.points[0].change_pct) == ("pass", pytest.approx(80.0))


def test_a_record_states_hot_readings_and_reads_them_back(tmp_path):
    folder = visit(tmp_path, row(80, 5.4, 398))
    case = select_case(folder, channel="STG-1-V11", test="sensor-alone", condition="as-found")
    again = read_visit_statement(json.loads(json.dumps(state_test(case)))["visits"][0], folder.path)
    back = select_case(again, channel="STG-1-V11", test="sensor-alone", condition="as-found")
    assert (back.readings, back.hot) == (case.readings, case.hot)
    assert back.channel == case.channel


def test_the_whole_channel_is_not_heated(tmp_path):
    hot = "STG-1-V11,linearity,as-found,50,2,mm/s pk,8,mV pk,400"
    with pytest.raises(InputRefused, match="rows of linearity leave it blank: the sensor alone is heated"):
        visit(tmp_path, hot)


def test_limits_that_cannot_be_are_refused(tmp_path):
    with pytest.raises(InputRefused, match="10 at or above max_pct 5; swap them"):
        visit(tmp_path, asset=ASSET + "hot = [{ c = 400, min_pct = 10, max_pct = 5 }]\n")
