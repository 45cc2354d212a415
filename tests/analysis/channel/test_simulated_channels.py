"""Visits with known truth from written files to set points: stated intervals for 95 % hold it, whatever the kit does.

A guard beside the benchmark of the same simulation, ``tests/benchmarks/truth/bench_channels.py``.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from scipy import stats

from tests.support.readings.simulated_channels import LEVELS, SET_POINTS, TAG, TWO_ROTORS, Kit, Truth, write_rows
from tests.support.sites.plants import build_site
from vibcal_nb.analysis.channel.alarm_reach import assess_reach
from vibcal_nb.analysis.channel.channel_tests import analyse_tests
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.channel_case import select_channel_case

KITS = {"half by octave": Kit(octaves=1.0), "repeats, three digits": Kit(repeats=3, scatter=0.004, digits=3)}
CHANNELS = 60


def perform(folder, rows, kit):
    visit = load_visit(build_site(folder, rows, asset=TWO_ROTORS, equipment=kit.equipment))
    case = select_channel_case(visit, channel=TAG, condition="as-found")
    tests = analyse_tests(case.channel, case.tests)
    return tests.linearity, assess_reach(case.channel, tests)


@pytest.mark.parametrize("name", KITS)
def test_sensitivities_and_set_points_hold_the_truth(tmp_path, name):
    kit, held = KITS[name], Counter()
    for number in range(CHANNELS):
        rng = np.random.Generator(np.random.PCG64([20261130, number]))
        truth = Truth(gain=1.0 + rng.uniform(-0.08, 0.08), low=20.0, high=400.0)
        linearity, reach = perform(tmp_path, write_rows(truth, kit, rng, tests=["linearity"]), kit)
        for item in linearity.frequencies:
            off = item.line.sensitivity - truth.sensitivity(item.frequency_hz)
            held["sensitivity", item.frequency_hz] += abs(off) <= item.line.expanded.U
        for point in reach:
            if point.frequency_hz == 50.0:  # driven through both there
                assert point.status == "demonstrated"
                off = point.true_level - truth.acts_at(point.set_level, 50.0)
                held[point.set_point, 50.0] += abs(off) <= point.expanded.U
    assert len(held) == 4
    for what, count in held.items():
        chance = stats.binomtest(count, CHANNELS, 0.95, alternative="less").pvalue
        assert chance > 1e-4, f"{what}: {count} of {CHANNELS}"


@pytest.mark.parametrize("sag", [0.01, 0.04])
def test_a_trip_beyond_the_readings_is_held_or_not_verified(tmp_path, sag):
    """Read up to 70 % of the trip, where the output sags by 1 and 4 % of itself at the trip."""
    wrong = 0
    for number in range(CHANNELS):
        rng = np.random.Generator(np.random.PCG64([20261130, number]))
        truth = Truth(gain=1.0 + rng.uniform(-0.02, 0.02), low=20.0, high=400.0, sag=sag)
        rows = write_rows(truth, Kit(), rng, tests=["linearity"], levels={"pinion": LEVELS["pinion"]})
        (point,) = [p for p in perform(tmp_path, rows, Kit())[1] if p.set_point == "trip" and p.frequency_hz > 100.0]
        if point.true_level is not None:
            true = truth.acts_at(SET_POINTS["trip"], point.frequency_hz)
            wrong += true is None or abs(point.true_level - true) > point.expanded.U
    assert stats.binomtest(wrong, CHANNELS, 0.05, alternative="greater").pvalue > 1e-4
