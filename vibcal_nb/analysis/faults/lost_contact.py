"""What is looked for in single rows: a contact that was lost in some of them, a gain that jumped after one."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.faults.chain_model import parameter_row, predict_ratio
from vibcal_nb.analysis.faults.fault_families import REST, Prior
from vibcal_nb.analysis.faults.fault_readings import FaultReadings
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.names import SENSOR_ALONE, SHAKER_TESTS

LOW = 5.0  # standard deviations below what the others lead one to expect
MOST = 0.4  # of all readings
FEWEST = 3  # of them: one or two that stand apart are rows to ask about
UNLIKE = 0.1  # standard deviation of what is lost: what stands off by one factor is no contact that comes and goes
SPREAD = 0.35  # of nominal: what a reading may be while the contact comes and goes


def lost_readings(readings: FaultReadings, expected: Mapping[str, Prior]) -> NDArray[np.bool_]:
    """Return which readings (n,) stand below what all that remain, and a healthy channel, lead one to expect.

    The lowest is taken out, and the others are looked at anew, until none stands apart (leave-one-out residuals of
    the linear model about a healthy channel).
    """
    centre, slopes = _linear(readings, expected)
    covariance = readings.covariance + slopes.T @ slopes
    left = readings.ratio - centre
    lost = np.zeros(len(left), dtype=bool)
    while lost.sum() < MOST * len(left):
        precision = np.linalg.inv(covariance + np.diag(np.where(lost, 1e3, 0.0)))
        apart = np.where(lost, 0.0, precision @ left / np.sqrt(np.diag(precision)))
        lowest = int(np.argmin(apart))
        if apart[lowest] > -LOW:
            break
        lost[lowest] = True
    if lost.any() and (lost.sum() < FEWEST or readings.ratio[lost].std() < UNLIKE * readings.ratio[lost].max()):
        lost[:] = False
    return lost


def step_places(readings: FaultReadings, expected: Mapping[str, Prior]) -> tuple[float, ...]:
    """Return the places in the visit, 0 to 1, after which another gain explains most, the likeliest three.

    Of the linear model about a healthy channel, each step's generalized least squares gain in chi-squared.
    """
    order = readings.points.order
    if order is None or np.unique(order).size < 2:
        return ()
    centre, slopes = _linear(readings, expected)
    precision = np.linalg.inv(readings.covariance + slopes.T @ slopes)
    places = np.unique(order)
    places = 0.5 * (places[1:] + places[:-1])
    steps = centre * (order > places[:, None]) * (readings.points.test != SHAKER_TESTS.index(SENSOR_ALONE))
    weighed = steps @ precision
    gain = (weighed @ (readings.ratio - centre)) ** 2 / np.maximum((weighed * steps).sum(axis=1), 1e-12)
    return tuple(float(places[i]) for i in np.argsort(-gain, kind="stable")[:3])


def log_rarity_of_places(lost: NDArray[np.bool_], readings: FaultReadings, rate: float) -> float:
    """Logarithm of the probability that so many, at ``rate`` each, are lost, in no more runs than these.

    A contact is lost at any reading, whatever its frequency and level; what is lost in one stretch of them is not
    lost by chance (number of runs; A. Wald and J. Wolfowitz, Ann. Math. Statist. 11 (1940) 147).
    """
    points, n, k = readings.points, lost.size, int(lost.sum())
    along = lost[np.lexsort((points.level, np.round(points.frequency_hz, 1), points.test))]
    runs = int(along[0]) + int((~along[:-1] & along[1:]).sum())
    ways = sum(math.comb(k - 1, j - 1) * math.comb(n - k + 1, j) for j in range(1, runs + 1))
    return k * math.log(rate) + (n - k) * math.log(1.0 - rate) + math.log(ways / math.comb(n, k))


def _linear(readings: FaultReadings, expected: Mapping[str, Prior]) -> tuple[FloatArray, FloatArray]:
    """Prediction (n,) of a healthy channel, and its change (k, n) a standard deviation of each parameter."""
    centre = parameter_row(dict(REST) | {name: prior[0] for name, prior in expected.items()})
    moved = [centre + parameter_row({name: spread}) for name, (_, spread) in expected.items()]
    predicted = predict_ratio(np.stack([centre, *moved]), readings.points)
    return predicted[0], predicted[1:] - predicted[0]
