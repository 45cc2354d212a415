"""What tests of attribution are made of."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.support.readings.cases import CHANNEL, make_case
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.channel.module_alone import analyse_module_alone, nominal_at
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.model.asset import ModuleSpecification
from vibcal_nb.units import parse_unit

LEVELS = np.array([2.0, 5.0, 9.0, 14.0, 18.0])
SENSOR_HZ = np.array([20.0, 30.0, 50.0, 80.0, 100.0, 200.0, 400.0])
MODULE = ModuleSpecification(
    input_unit=parse_unit("pC pk"),
    output_unit=parse_unit("mV pk"),
    nominal_sensitivity=4.0 / (5.0 * 2.0 * np.pi * 80.0 / 1000.0),
    tolerance_pct=5.0,
    reference_hz=80.0,
)
WITH_MODULE = replace(CHANNEL, module=MODULE, alert=11.0, trip=18.0)


def line_at(gain, hz=50.0, common=1.0):
    output = 4.0 * gain * common * LEVELS
    return analyse_linearity(make_case("linearity", np.full(5, hz), output, applied=LEVELS, decimals=4))


def band_of(gain):
    gains = np.broadcast_to(gain, SENSOR_HZ.size)
    return analyse_band_response(make_case("band-response", SENSOR_HZ, 4.0 * gains * 10.0, decimals=4))


def sensor_of(gain, common=1.0):
    gains = np.broadcast_to(gain, SENSOR_HZ.size)
    return analyse_sensor_alone(make_case("sensor-alone", SENSOR_HZ, 5.0 * gains * common * 10.0, decimals=4))


def module_of(gain, hz=50.0, top=25.0):
    charge = 5.0 * 2.0 * np.pi * hz / 1000.0 * np.array([2.0, 8.0, 16.0, top])
    output = nominal_at(WITH_MODULE, hz) * gain * charge
    case = make_case("module-alone", np.full(4, hz), output, applied=charge, channel=WITH_MODULE, decimals=4)
    return analyse_module_alone(case)
