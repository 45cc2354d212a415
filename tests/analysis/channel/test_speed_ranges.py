"""Rotors with a range of speeds: a channel is proved at both ends and between, in its linearity and in its reach."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.sites.plants import ASSET, build_site, linearity_rows
from vibcal_nb.analysis.channel.channel_verdict import analyse_channel
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.planning.wanted_points import test_frequencies as planned_speeds
from vibcal_nb.analysis.readings.grouping import runs_at
from vibcal_nb.display.sketch.channel_sketch import _middle
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.asset import rotors_of
from vibcal_nb.model.case import select_case
from vibcal_nb.model.channel_case import select_channel_case
from vibcal_nb.problems import InputRefused

RANGE = ASSET.replace("speed_rpm = 3000", "speed_rpm = [2700, 3300]")
LEVELS = (2.0, 6.0, 11.0, 15.0, 19.0)
ENDS = (45.0, 55.0)
TAG = "STG-1-V11"


def linearity(tmp_path, *frequencies, asset=RANGE):
    rows = [row for hz in frequencies for row in linearity_rows(LEVELS, gain=4.0, hz=hz)]
    visit = load_visit(build_site(tmp_path, rows, asset=asset))
    return visit, analyse_linearity(select_case(visit, channel=TAG, test="linearity", condition="as-found"))


def test_a_range_is_its_ends_and_what_lies_between():
    slowest, between, fastest = rotors_of("fan", *ENDS)
    assert (slowest.speed_hz, between.speed_hz, fastest.speed_hz) == (45.0, 50.0, 55.0)
    assert [rotor.name for rotor in (slowest, between, fastest)] == ["fan, slowest", "fan, between", "fan, fastest"]
    assert [runs_at(between, hz) for hz in (44.0, 45.5, 46.5, 53.0, 55.0)] == [False, False, True, True, False]
    assert rotors_of("fan", 50.0, 50.0)[0].between is None
    (_, narrow, _) = rotors_of("fan", 49.5, 50.5)
    assert runs_at(narrow, 49.5)  # within 2 % all three are one speed


@pytest.mark.parametrize(
    ("tested", "missing"),
    [
        ((45.0, 50.0, 55.0), []),
        ((45.0, 47.0, 55.0), []),
        ((45.0, 55.0), ["between"]),
        ((50.0,), ["slowest", "fastest"]),
        ((47.0, 53.0), ["slowest", "fastest"]),
    ],
)
def test_a_pass_needs_both_ends_and_one_between(tmp_path, tested, missing):
    _, result = linearity(tmp_path, *tested)
    found = [gate.found for gate in result.gates if gate.gate == "rotor not tested"]
    assert [word for word in ("slowest", "between", "fastest") if any(word in text for text in found)] == missing
    assert (result.verdict == "pass") == (not missing)


def test_the_reach_is_told_at_all_three(tmp_path):
    visit, _ = linearity(tmp_path, 45.0, 47.0, 55.0)
    reach = analyse_channel(select_channel_case(visit, channel=TAG, condition="as-found")).reach
    names = [(point.rotor.name, point.frequency_hz, point.status) for point in reach if point.set_point == "trip"]
    assert [frequency for _, frequency, _ in names] == [45.0, 47.0, 55.0]
    assert {status for _, _, status in names} == {"demonstrated"}
    assert np.allclose([point.true_level for point in reach if point.set_point == "trip"], 18.0, rtol=1e-3)


def test_a_plan_has_all_three(tmp_path):
    visit, _ = linearity(tmp_path, 50.0)
    assert list(planned_speeds(visit.asset.channels[TAG])) == [45.0, 50.0, 55.0]


@pytest.mark.parametrize(
    "stated", ["[3300, 2700]", "[2700]", "[2700, 3000, 3300]", '"3000"', "[0, 3000]", "[3000, 3000]"]
)
def test_a_range_that_cannot_be_is_refused(tmp_path, stated):
    asset = ASSET.replace("speed_rpm = 3000", f"speed_rpm = {stated}")
    with pytest.raises(InputRefused, match="two ascending ones in square brackets"):
        linearity(tmp_path, 50.0, asset=asset)


def test_a_sketch_draws_the_middle():
    assert [_middle(value) for value in ([2700, 3300], 3000, [1], None)] == [3000.0, 3000.0, None, None]
