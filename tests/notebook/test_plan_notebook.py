"""The planning notebook's calls: a visit without readings is planned, wrong parameters are sentences."""

from __future__ import annotations

import shutil

import pytest

from tests.support.pictures import words_in
from tests.support.places import DEMO
from vibcal_nb.analysis.planning.shaker import ShakerError
from vibcal_nb.display.planning.plan_plots import plan_picture, plan_text
from vibcal_nb.notebook.planning import assess_power, open_plan
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
