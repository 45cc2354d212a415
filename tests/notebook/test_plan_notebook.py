"""The planning notebook's calls: a visit without readings is planned, wrong parameters are sentences."""

from __future__ import annotations

import shutil

import pytest

from tests.support.pictures import words_in
from tests.support.places import DEMO
from vibcal_nb.analysis.planning.shaker import ShakerError
from vibcal_nb.display.planning.plan_plots import plan_picture, plan_text
from vibcal_nb.notebook.planning import assess_power, open_plan, plan_panel
from vibcal_nb.problems import NothingToPlan, ParameterError, Refused

GOOD = {"channel": "STG-1-V21", "shaker": "", "moving_mass_kg": 0.0}


@pytest.fixture
def visit(tmp_path):
    home = tmp_path / "STG-1" / "2027-05-11"
    home.mkdir(parents=True)
    for name in ("equipment.toml", "kinds.toml"):
        shutil.copy(DEMO / name, tmp_path)
    shutil.copy(DEMO / "STG-1" / "asset.toml", tmp_path / "STG-1")
    shutil.copy(DEMO / "STG-1" / "2026-05-19" / "visit.toml", home)
    return str(home)


def test_a_visit_without_readings_is_planned_alike_each_time(visit):
    opened = open_plan({}, visit_folder=visit, **GOOD)
    assert [item.id for item in opened.instruments.references] == ["REF-26"]
    first, second = assess_power(opened), assess_power(opened)
    assert [f.probability for f in first.figures] == [f.probability for f in second.figures]
    assert first.smallest_gain_error_pct == second.smallest_gain_error_pct
    assert "frequency, Hz" in words_in(plan_picture(opened.plan).svg)
    said = plan_text(opened.plan)
    assert [gap.what for gap in opened.plan.out_of_reach] == ["alert at 149 Hz (pinion)", "trip at 149 Hz (pinion)"]
    assert "Out of reach: alert at 149 Hz (pinion), 11 mm/s pk wanted" in said
    assert "trip at 149 Hz (pinion), 18 mm/s pk wanted" in said
    light = open_plan({}, visit_folder=visit, **(GOOD | {"moving_mass_kg": 0.5}))
    assert light.plan.out_of_reach == ()


@pytest.mark.parametrize(
    ("parameters", "said"),
    [
        ({"channel": "STG-1-V99"}, "no channel 'STG-1-V99'"),
        ({"shaker": "SHK-3"}, "no shaker 'SHK-3'"),
        ({"moving_mass_kg": -1.0}, "give a mass in kg"),
    ],
)
def test_wrong_parameters_are_sentences(visit, parameters, said):
    with pytest.raises(ParameterError, match=said):
        open_plan({}, visit_folder=visit, **(GOOD | parameters))
    with pytest.raises(ParameterError, match="no parameter 'chanel'"):
        open_plan({"chanel": "x"}, visit_folder=visit, **GOOD)
    assert all(issubclass(kind, Refused) for kind in (NothingToPlan, ShakerError))


def test_what_is_reached_moves_with_mass_and_set_points(visit):
    panel = plan_panel(open_plan({}, visit_folder=visit, **GOOD))
    before = panel.seen()
    assert before["headline"] == "as in the plan: 2 points out of reach"
    assert before["readings"] == []
    panel.do({"do": "set", "name": "moving_mass_kg", "value": 0.5})
    assert panel.seen()["headline"] == "what if, not the plan: all within reach | plan: 2 points out of reach"
    assert panel.seen()["differences"] == [f"moving mass, kg: {panel.record.result.moving_mass_kg:g} → 0.5"]
    light = open_plan({}, visit_folder=visit, **(GOOD | {"moving_mass_kg": 0.5})).plan
    assert panel.result.out_of_reach == light.out_of_reach
    assert [p.level for p in panel.result.points] == [p.level for p in light.points]
    panel.do({"do": "undo"})
    assert panel.seen() == before | {"redo": True}
    panel.do({"do": "set", "name": "trip", "value": 100.0})
    assert "trip at 149 Hz (pinion)" in {gap.what for gap in panel.result.out_of_reach}
    assert {gap.level for gap in panel.result.out_of_reach} >= {100.0}
    panel.do({"do": "set", "name": "moving_mass_kg", "value": 0.0})
    assert "too small" in panel.said


def test_each_shaker_of_the_site_can_be_tried(visit):
    opened = open_plan({}, visit_folder=visit, **GOOD)
    panel = plan_panel(opened)
    for shaker in opened.shakers:
        panel.do({"do": "set", "name": "shaker", "value": shaker.id})
        assert panel.said or panel.result.shaker.id == shaker.id


def test_a_set_point_of_a_plan_stands_where_it_is_drawn(visit):
    seen = plan_panel(open_plan({}, visit_folder=visit, **GOOD)).seen()
    drawn = {item["at"] for item in seen["figure"]["panes"][0]["items"] if item["kind"] == "level"}
    assert [grip["control"] for grip in seen["grips"]] == ["alert", "trip"]
    assert {seen["values"][grip["control"]] for grip in seen["grips"]} <= drawn
