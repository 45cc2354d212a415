"""The sensitivity of a sensor at other temperatures than that of the room, as a change from it at the same frequency.

The reference and the readout are the same and cancel; what is each mounting's own does not, for the sensor is mounted
anew to be heated.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from vibcal_nb.analysis.judged_quantity import JudgedQuantity, judge_quantity
from vibcal_nb.analysis.readings.grouping import at_frequency
from vibcal_nb.analysis.readings.reading_uncertainty import assess_readings
from vibcal_nb.analysis.readings.relative_response import RelativeReadings, relative_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.metrology.conformity.decision import DecisionRule
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine
from vibcal_nb.metrology.uncertainty.estimate import Estimate
from vibcal_nb.model.asset import SensorSpecification, TemperatureLimit
from vibcal_nb.model.case import Case
from vibcal_nb.model.readings import Reading

SAME_WITHIN_K = 10.0  # of a limit's temperature: judgement, no source


@dataclass(frozen=True, kw_only=True)
class HotPoint:
    """A reading of a heated or cooled sensor: ``change_pct`` of its sensitivity from that at room temperature.

    ``change_pct`` and ``expanded``, in %, are None where the frequency was not read at room temperature.
    """

    reading: Reading
    sensitivity: float
    change_pct: float | None
    expanded: Expanded | None


@dataclass(frozen=True, kw_only=True)
class HotSensor:
    """What a sensor does at other temperatures; ``judged`` are its limits, ``gaps`` those that nothing was read for."""

    points: tuple[HotPoint, ...]
    judged: tuple[JudgedQuantity, ...]

    @property
    def gaps(self) -> tuple[str, ...]:
        """What could not be judged."""
        return tuple(f"{item.name}: {item.estimate.why}" for item in self.judged if item.decision is None)


def assess_hot(case: Case, sensor: SensorSpecification, rule: DecisionRule) -> HotSensor | None:
    """Return what the heated or cooled sensor shows; None where no such reading and no limit is there."""
    if not case.hot and not sensor.hot:
        return None
    both = replace(case, readings=(*case.readings, *case.hot), hot=())
    scaled = scale_readings(both)
    uncertainty = assess_readings(both, scaled)
    relative = relative_readings(scaled, uncertainty, reference_hz=sensor.reference_hz)
    cold = np.arange(len(scaled)) < len(case.readings)
    points = tuple(_point(relative, cold, i) for i in range(len(case.readings), len(scaled)) if scaled.x[i] > 0.0)
    return HotSensor(points=points, judged=tuple(_judge(points, limit, rule) for limit in sensor.hot))


def _judge(points: Sequence[HotPoint], limit: TemperatureLimit, rule: DecisionRule) -> JudgedQuantity:
    return judge_quantity(_name(limit), "%", (limit.min_pct, limit.max_pct), _at(points, limit), rule)


def _name(limit: TemperatureLimit) -> str:
    return f"change of sensitivity at {limit.temperature_c:g} °C"


def _point(relative: RelativeReadings, cold: np.ndarray, i: int) -> HotPoint:
    readings, uncertainty = relative.readings, relative.uncertainty
    hz = float(readings.frequency_hz[i])
    here = np.flatnonzero(cold & relative.usable & at_frequency(readings.frequency_hz, hz))
    sensitivity = float(relative.sensitivity[i])
    room = float(relative.sensitivity[here].mean()) if here.size else 0.0
    change = expanded = None
    if room != 0.0:
        ratio = sensitivity / room
        own = math.hypot(float(relative.own_pct[i]), math.sqrt(float((relative.own_pct[here] ** 2).sum())) / here.size)
        mounted = math.sqrt(2.0) * uncertainty.u_frequency_pct(hz)
        change = 100.0 * (ratio - 1.0)
        parts = ((ratio * mounted, math.inf), (ratio * own, uncertainty.degrees_of_freedom))
        expanded = combine(*parts, probability=uncertainty.probability)
    return HotPoint(reading=readings.readings[i], sensitivity=sensitivity, change_pct=change, expanded=expanded)


def _at(points: Sequence[HotPoint], limit: TemperatureLimit) -> Estimate:
    """The change farthest from the middle of the limits, of the readings at their temperature."""
    near = list(_near(points, limit))
    if not near:
        at = f"{limit.temperature_c:g} °C"
        return Estimate(why=f"no reading at {at} and at a frequency that was read at room temperature")
    middle = 0.5 * (limit.min_pct + limit.max_pct)
    worst = max(near, key=lambda point: abs((point.change_pct or 0.0) - middle))
    return Estimate(value=worst.change_pct, expanded=worst.expanded)


def _near(points: Sequence[HotPoint], limit: TemperatureLimit) -> Iterator[HotPoint]:
    for point in points:
        away = abs((point.reading.temperature_c or 0.0) - limit.temperature_c)
        if point.change_pct is not None and point.reading.exclude is None and away <= SAME_WITHIN_K:
            yield point
