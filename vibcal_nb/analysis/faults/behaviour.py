"""What the readings do, whether or not any family of faults explains it: a description, test by test.

Each reading is held against what a healthy channel is expected to give. Described are the mean of the departures, the
largest of them and where it lies, how they go with level, frequency and the order of the rows, and how much they
scatter about that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.faults.chain_model import parameter_row, predict_ratio
from vibcal_nb.analysis.faults.fault_families import REST, healthy_expectation
from vibcal_nb.analysis.faults.fault_readings import FaultReadings, tolerance_of
from vibcal_nb.arrays import FloatArray

SEEN = 4.0  # standard errors from which a trend is described
FEWEST = 4  # readings of which a trend is
_ALONG = ("level", "frequency", "order of the rows")


@dataclass(frozen=True, kw_only=True)
class Tendency:
    """How departures go ``along`` level, frequency or the order of the rows.

    ``change`` is from the lowest to the highest of these (or the first row to the last), relative to nominal.
    """

    along: str
    change: float


@dataclass(frozen=True, kw_only=True)
class TestBehaviour:
    """What the readings of one test do; departures are relative to what a healthy channel gives.

    ``test`` indexes ``SHAKER_TESTS``. ``mean`` and ``scatter`` are of all readings of the test, the scatter about the
    strongest trend. The largest departure is ``worst``, ``sigma`` standard uncertainties from healthy, in the row
    ``row`` at ``frequency_hz`` and ``level`` (of full scale).
    """

    __test__ = False  # not a test of pytest's

    test: int
    readings: int
    mean: float
    scatter: float
    worst: float
    sigma: float
    row: int
    frequency_hz: float
    level: float
    trends: tuple[Tendency, ...]


def describe_behaviour(readings: FaultReadings) -> tuple[TestBehaviour, ...]:
    """Describe what the readings of each test do, the test with the clearest departure first."""
    departure = readings.ratio / _healthy(readings) - 1.0
    u = readings.u_ratio / np.maximum(np.abs(readings.ratio), 1e-9)
    tests = np.unique(readings.points.test)
    found = [_of_test(readings, departure, u, int(test)) for test in tests]
    return tuple(sorted(found, key=lambda item: -abs(item.sigma)))


def _healthy(readings: FaultReadings) -> FloatArray:
    """What a healthy channel gives, at the centre of what is expected of it."""
    expected = healthy_expectation(readings.points, tolerance=tolerance_of(readings.channel))
    row = parameter_row(dict(REST) | {name: prior[0] for name, prior in expected.items()})
    predicted: FloatArray = predict_ratio(row[None, :], readings.points)[0]
    return np.maximum(predicted, 1e-6)


def _of_test(readings: FaultReadings, departure: FloatArray, u: FloatArray, test: int) -> TestBehaviour:
    own = np.flatnonzero(readings.points.test == test)
    sigma = departure[own] / np.hypot(u[own], tolerance_of(readings.channel) / 2.0)
    worst = int(np.argmax(np.abs(sigma)))
    trends = _trends(readings, departure, own)
    left = departure[own] - departure[own].mean()
    if trends:
        x = _along(readings, trends[0].along)[own]
        left = departure[own] - np.polyval(np.polyfit(x, departure[own], 1), x)
    at = own[worst]
    return TestBehaviour(
        test=test,
        readings=len(own),
        mean=float(departure[own].mean()),
        scatter=float(left.std(ddof=1)) if len(own) > 1 else 0.0,
        worst=float(departure[at]),
        sigma=float(sigma[worst]),
        row=readings.readings[at].row,
        frequency_hz=float(readings.points.frequency_hz[at]),
        level=float(readings.points.level[at]),
        trends=trends,
    )


def _along(readings: FaultReadings, name: str) -> FloatArray:
    if name == "level":
        return np.asarray(readings.points.level)
    if name == "frequency":
        return np.log(readings.points.frequency_hz)
    return np.array([float(reading.row) for reading in readings.readings])


def _trends(readings: FaultReadings, departure: FloatArray, own: NDArray[np.intp]) -> tuple[Tendency, ...]:
    """Straight lines along each, the clearest first; those that stand ``SEEN`` standard errors from none."""
    found = []
    for name in _ALONG:
        x, y = _along(readings, name)[own], departure[own]
        if len(own) < FEWEST or np.ptp(x) < 0.05 * max(abs(float(x.max())), 1e-9):
            continue
        (slope, start), rest = np.polyfit(x, y, 1), len(own) - 2
        left = y - (start + slope * x)
        error = np.sqrt((left @ left + 1e-18) / rest / ((x - x.mean()) ** 2).sum())
        if abs(slope) >= SEEN * error:
            found.append((abs(slope) / error, Tendency(along=name, change=float(slope * np.ptp(x)))))
    return tuple(trend for _, trend in sorted(found, key=lambda item: -item[0]))
