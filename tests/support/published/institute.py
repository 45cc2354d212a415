"""A digital accelerometer at a national metrology institute: sinusoidal calibration, magnitude and phase.

Ten runs at each frequency, 2.7 to 127 m/s2; means and standard deviations of a run, computed from the public repository
Met4FoF/datareceiver (results of sinusoidal calibration, first of two institutes). Its filter is no Butterworth.
"""

from __future__ import annotations

import numpy as np

RUNS = 10
#: Hz, sensitivity, its standard deviation, phase in degrees, its standard deviation
INSTITUTE = np.array(
    [
        (10.0, 1.019167, 0.000185, -5.426, 0.008),
        (12.5, 1.018422, 0.000349, -6.802, 0.023),
        (16.0, 1.018071, 0.000351, -8.710, 0.016),
        (20.0, 1.016803, 0.000215, -10.873, 0.015),
        (25.0, 1.015281, 0.000213, -13.587, 0.022),
        (31.5, 1.012913, 0.000259, -17.137, 0.034),
        (40.0, 1.008842, 0.000068, -21.762, 0.025),
        (46.7, 1.005066, 0.000091, -25.422, 0.035),
        (50.0, 1.002939, 0.000086, -27.180, 0.031),
        (53.3, 1.000545, 0.000145, -29.001, 0.030),
        (63.0, 0.994049, 0.000373, -34.236, 0.032),
        (80.0, 0.977180, 0.000328, -43.514, 0.021),
        (100.0, 0.953509, 0.000436, -54.400, 0.021),
        (125.0, 0.916235, 0.000262, -67.998, 0.009),
        (160.0, 0.853822, 0.000167, -87.025, 0.006),
        (200.0, 0.767631, 0.000280, -108.801, 0.009),
        (250.0, 0.643970, 0.000191, -135.985, 0.007),
    ]
)
HALF_POWER_HZ = 219.67  # re 16 Hz, monotone cubic in ln f, ln S
DELAY_MS, INTERCEPT_DEG = 1.5110, 0.003  # of the line through all phases
