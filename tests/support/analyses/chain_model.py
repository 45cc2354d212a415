"""What tests of chain model are made of."""

from __future__ import annotations

import math

import numpy as np

from vibcal_nb.analysis.faults.chain_model import INDEX, PARAMETERS, Points
from vibcal_nb.analysis.faults.fault_families import REST
from vibcal_nb.model.names import SHAKER_TESTS


def points(frequency_hz, *, level=0.2, test="band-response", corners=(20.0, 400.0)):
    f = np.asarray(frequency_hz, float)
    return Points(
        test=np.full(f.shape, SHAKER_TESTS.index(test)),
        frequency_hz=f,
        level=np.broadcast_to(np.asarray(level, float), f.shape).copy(),
        falling=np.zeros_like(f),
        reference_hz=80.0,
        corner_low_hz=corners[0],
        corner_high_hz=corners[1],
        band_end_hz=(20.0, 400.0),
    )


def row(**values):
    """An ideal chain (no noise, resonance far away, filters of second order) with some parameters changed."""
    parameters = np.zeros((1, len(PARAMETERS)))
    ideal = {"noise": -30.0, "resonance": 20.0, "order_low": math.log(2.0), "order_high": math.log(2.0)}
    detector = {"mains": 50.0, "pickup_width": math.log(2.5), "leak_in_sensor": 1.0}
    for name, value in (dict(REST) | ideal | detector | values).items():
        parameters[0, INDEX[name]] = value
    return parameters
