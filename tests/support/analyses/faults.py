"""What tests of faults are made of."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from tests.benchmarks.truth.simulated_faults import Visitor, draw_plant, draw_truth, make_cases


def simulate(family, *, size=2, full=True, seed=7, sensor=True, change=None):
    """Cases of a simulated channel with the fault, of a kind that has a sensor-alone test if asked for."""
    for attempt in range(60):
        rng = np.random.Generator(np.random.PCG64([seed, attempt]))
        plant = draw_plant(rng, full=full)
        if (plant.channel.sensor is not None) == sensor:
            break
    truth = draw_truth(plant, family, size, rng)
    for name, value in (change or {}).items():
        setattr(truth, name, value)
    return plant, truth, make_cases(plant, Visitor(plant, truth, rng).take_all())


def _waver(reading):
    factor = 1.0 + 0.15 * math.sin(5.0 * math.log(reading.frequency_hz)) + 0.1 * math.cos(2.1 * reading.row)
    return replace(reading, output=reading.output * factor)
