"""How often do attribution and alarm reach hold the truth? A sensor 4 % high with a module 9.6 % low, many times.

1.04 x 0.904 = 0.94016: the channel reads 6 % low, and its alarms stand 6.4 % high in true vibration. Each visit's
readings have errors drawn as the budget states them; all go from readings to result. Run by hand:

    python -m tests.benchmarks.truth.bench_chain [SIMULATIONS]
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from dataclasses import replace

import numpy as np

from tests.support.readings.cases import CHANNEL, make_case
from vibcal_nb.analysis.channel.alarm_reach import assess_reach
from vibcal_nb.analysis.channel.attribution import attribute
from vibcal_nb.analysis.channel.channel_tests import ChannelTests
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.model.asset import Rotor

SENSOR, REST = 1.04, 0.904
LEVELS = np.array([2.0, 5.0, 9.0, 14.0, 18.0, 20.5])
SENSOR_HZ = np.array([20.0, 30.0, 50.0, 80.0, 100.0, 160.0, 250.0, 400.0])
TURBINE = replace(CHANNEL, rotors=(Rotor(name="turbine", speed_hz=50.0),), alert=11.0, trip=18.0)
YEARS = 129 / 365.25  # from the calibration to the visit of the hand-made case


class Errors:
    """The errors of one visit in the sizes of certificates and default contributions; mounted anew for each test."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        drift, temperature = rng.uniform(-0.002 * YEARS, 0.002 * YEARS), rng.uniform(-0.002, 0.002)
        self.common = rng.normal(0.0, 0.005) + rng.normal(0.0, 0.001) + drift + temperature

    def of_test(self, hz):
        mounted = {f: sum(self.rng.uniform(-half, half) for half in (0.002, 0.003, 0.001)) for f in np.unique(hz)}
        own = self.rng.normal(0.0, 0.002, hz.size) + self.rng.uniform(-0.001, 0.001, hz.size)
        return 1.0 + self.common + np.array([mounted[f] for f in hz]) + own


def readings(test, hz, applied, sensitivity, errors):
    applied = np.round(applied * errors.rng.normal(1.0, 0.01, hz.size), 2)
    output = np.round(sensitivity * applied * errors.of_test(hz), 2)
    return make_case(test, hz, output, applied=applied, channel=TURBINE, decimals=2)


def study(rng, tally):
    errors = Errors(rng)
    gain = TURBINE.nominal_sensitivity * SENSOR * REST
    linearity = analyse_linearity(readings("linearity", np.full(LEVELS.size, 50.0), LEVELS, gain, errors))
    sensor = analyse_sensor_alone(
        readings("sensor-alone", SENSOR_HZ, np.full(SENSOR_HZ.size, 20.0), 5.0 * SENSOR, errors)
    )
    at = attribute(linearity, None, sensor).main
    tally["sensor, +4 %"] += abs(at.sensor_pct - 100.0 * (SENSOR - 1.0)) <= at.sensor.U
    tally["rest, -9.6 %"] += abs(at.rest_pct - 100.0 * (REST - 1.0)) <= at.rest.U
    for point in assess_reach(TURBINE, ChannelTests(linearity=linearity)):
        inside = abs(point.true_level - point.set_level / (SENSOR * REST)) <= point.expanded.U
        tally[f"{point.set_point}, {point.set_level:g} indicated"] += inside
        tally[f"{point.set_point} {point.status}"] += 1


def main(simulations: int) -> None:
    rng = np.random.Generator(np.random.PCG64(20260519))
    tally: Counter = Counter()
    started = time.perf_counter()
    for _ in range(simulations):
        study(rng, tally)
    print(f"{simulations} simulations in {time.perf_counter() - started:.0f} s")
    for name, count in tally.items():
        print(f"{name:32s} {100.0 * count / simulations:.2f} %")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
