"""What tests of alarm reach are made of."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.support.readings.cases import BAND, CHANNEL, make_case
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.channel.alarm_reach import assess_reach
from vibcal_nb.analysis.channel.channel_tests import ChannelTests
from vibcal_nb.analysis.channel.level_on_line import level_on_line
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.model.asset import Rotor

LEVELS = np.array([2.0, 5.0, 9.0, 14.0, 18.0, 20.0])
TURBINE = replace(CHANNEL, rotors=(Rotor(name="turbine", speed_hz=50.0),), alert=11.0, trip=18.0)


def line_result(gain=4.0, *, levels=LEVELS, hz=50.0, channel=TURBINE, scatter=0.0, zero=0.0):
    levels = np.asarray(levels)
    noise = 1.0 + scatter * np.resize([1.0, -1.0, -1.0, 1.0], levels.size)
    output = gain * levels * noise + zero
    case = make_case("linearity", np.full(levels.size, hz), output, applied=levels, channel=channel, decimals=4)
    return analyse_linearity(case)


def reach(linearity, channel=TURBINE, **results):
    return {
        (p.rotor.name if p.rotor else None, p.set_point): p
        for p in assess_reach(channel, ChannelTests(linearity=linearity, **results))
    }


BAND_HZ = np.array([20.0, 30.0, 50.0, 80.0, 100.0, 140.0, 160.0, 250.0, 400.0])
TWO = replace(TURBINE, rotors=(*TURBINE.rotors, Rotor(name="pinion", speed_hz=160.0)), band=BAND)


def band_result(ratio_at_160=1.0):
    output = np.where(BAND_HZ == 160.0, ratio_at_160, 1.0) * 4.0 * 10.0
    return analyse_band_response(make_case("band-response", BAND_HZ, output, channel=TWO, decimals=4))


def level(result, output):
    return level_on_line(result, result.frequencies[0], output)
