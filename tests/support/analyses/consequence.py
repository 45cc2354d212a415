"""What tests of consequence are made of."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.support.analyses.attribution import LEVELS, SENSOR_HZ
from tests.support.readings.cases import CHANNEL, SENSOR, make_case

SET = replace(
    CHANNEL, alert=11.0, trip=18.0, band=None, rotors=CHANNEL.rotors[:1], sensor=replace(SENSOR, flat_hz=(20.0, 400.0))
)


def linearity(gain, *, hz=50.0, levels=LEVELS, channel=SET, **how):
    ratios = gain * (1.0 + 0.01 * np.resize([1.0, -1.0, 0.0], levels.size))
    return make_case(
        "linearity", np.full(levels.size, hz), 4.0 * ratios * levels, applied=levels, channel=channel, **how
    )


def sensor(gain=1.0, channel=SET):
    return make_case("sensor-alone", SENSOR_HZ, 50.0 * gain * np.ones(SENSOR_HZ.size), channel=channel, decimals=4)
