"""The level at which a channel gives an output, from its sensor alone and its module alone.

Sensor times module is the channel without its joint and cable: it covers levels that no portable shaker reaches
with the sensor on it, and says nothing of what lies between the two.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from vibcal_nb.analysis.channel.level_on_line import FoundLevel
from vibcal_nb.analysis.channel.module_alone import ModuleAloneResult
from vibcal_nb.analysis.channel.reach_at_speed import reach_at_speed
from vibcal_nb.analysis.channel.reach_point import DEMONSTRATED
from vibcal_nb.analysis.channel.sensitivity_at import SensitivityAt, reading_sensitivities, sensitivity_at
from vibcal_nb.analysis.readings.grouping import same_speed
from vibcal_nb.analysis.sensor_alone.sensor_test import SensorTest
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine
from vibcal_nb.units import convert


@dataclass(frozen=True, kw_only=True)
class LevelByParts:
    """The level, its expanded uncertainty, and the level that the module's highest input stands for; input unit.

    ``reached_pct`` is the highest output of the module, in % of what is looked for.
    """

    level: float
    expanded: Expanded
    highest: float
    reached_pct: float


def level_by_parts(
    sensor: SensorTest, module: ModuleAloneResult, *, speed_hz: float, output: float
) -> LevelByParts | None:
    """Return the channel's level at a speed for an ``output`` less zero, in the channel's output unit.

    None where the module was not driven through it at the speed, or the sensor was not read at or about it.
    """
    channel = module.case.channel
    alone = sensitivity_at(reading_sensitivities(sensor), speed_hz)
    wanted = float(convert(output, channel.output_unit, module.case.output_unit))
    found = _module_input(module, speed_hz, wanted)
    if alone is None or found is None:
        return None
    charge = float(convert(1.0, module.case.input_unit, sensor.case.output_unit))
    vibration = float(convert(1.0, sensor.case.input_unit, channel.input_unit, frequency_hz=speed_hz))
    per_input = charge / (alone.ratio * sensor.case.nominal_sensitivity) * vibration
    level = found.level * per_input
    return LevelByParts(
        level=level,
        expanded=_expanded(level, found, alone, sensor, module),
        highest=found.highest * per_input,
        reached_pct=100.0 * found.highest_output / wanted,
    )


def _module_input(module: ModuleAloneResult, speed_hz: float, output: float) -> FoundLevel | None:
    for result in module.results:
        for item in result.frequencies:
            if same_speed(item.frequency_hz, speed_hz):
                said = reach_at_speed(result, item, output)
                return said.found if said.status == DEMONSTRATED else None
    return None


def _expanded(
    level: float, found: FoundLevel, alone: SensitivityAt, sensor: SensorTest, module: ModuleAloneResult
) -> Expanded:
    """Reference and injection are independent; the readout read both outputs, so its gain counts twice, in step."""
    readout = sensor.uncertainty.u_readout_pct
    shared = math.hypot(
        found.common_pct,
        sensor.uncertainty.u_common_pct(alone.frequency_hz),
        sensor.uncertainty.u_frequency_pct(alone.frequency_hz),
        math.sqrt(2.0) * readout,
    )
    return combine(
        (level * shared / 100.0, math.inf),
        (level * found.own / found.level, found.nu),
        (level * alone.own, alone.nu),
        probability=found.probability,
    )
