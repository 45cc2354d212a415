"""The conditioning module alone: charge or voltage injected in place of the sensor, frequency by frequency.

Electrical injection takes the module to levels that no portable shaker reaches with the sensor on it. It is a
linearity test of the module; the sensor, the joint and the cable are no part of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.gates import gated
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult, lines_of
from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, group_close
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.result import Judged, Result
from vibcal_nb.metrology.conformity.decision import Verdict, worst_verdict
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.case import Case
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.units import convert


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ModuleAloneResult(Result):
    """The module alone in one condition: ``results`` hold one linearity analysis a frequency.

    Each is judged against the module's tolerance about its nominal sensitivity at that frequency.
    """

    case: Case
    results: tuple[LinearityResult, ...]
    verdict: Verdict
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = "straight line by ISO/TS 28037:2010, clause 7, of output against injected charge or voltage"

    def judged(self) -> Iterator[Judged]:
        """Yield the decisions at each frequency."""
        for result in self.results:
            yield from result.judged()

    @property
    def frequencies(self) -> tuple[FrequencyLinearity, ...]:
        """The module's linearity at each frequency."""
        return tuple(item for result in self.results for item in result.frequencies)


@refusing
def analyse_module_alone(case: Case) -> ModuleAloneResult:
    """Analyse the module-alone readings of a case.

    Raises ``NothingToAnalyse`` with a sentence where the channel states no module.
    """
    if case.channel.module is None:
        raise NothingToAnalyse(
            f"Channel {case.channel.tag} has no [module] table in asset.toml; add it to judge the module alone."
        )
    frequency = np.array([reading.frequency_hz for reading in case.readings])
    groups = group_close(frequency, within_pct=SAME_FREQUENCY_PCT)
    cases = [_at_frequency(case, group) for group in groups]
    results = tuple(lines_of(each, scale_readings(each)) for each in cases)
    result = ModuleAloneResult(case=case, results=results, verdict=worst_verdict([item.verdict for item in results]))
    return gated(result, scale_readings(case), analyse=analyse_module_alone)


def _at_frequency(case: Case, group: np.ndarray) -> Case:
    """Return the case with the readings of one frequency and the module's limits at that frequency."""
    readings = tuple(case.readings[int(i)] for i in group)
    module = case.channel.module
    assert module is not None  # the caller has asked
    nominal = nominal_at(case.channel, float(np.median([reading.frequency_hz for reading in readings])))
    channel = replace(
        case.channel,
        module=replace(module, nominal_sensitivity=nominal),
        tolerance=Tolerance(reading_pct=module.tolerance_pct),
        zero_tolerance_span_pct=None,
        full_scale=None,
        alert=None,
        trip=None,
    )
    return replace(case, readings=readings, channel=channel)


def nominal_at(channel: Channel, frequency_hz: float) -> float:
    """Return the module's nominal sensitivity at a frequency, in its output unit per its input unit.

    A module that turns acceleration into velocity gives less for the same charge the higher the frequency: the
    sensor's input per channel's input, which is the kinematics of a sine, is divided out. What the band filter
    takes is not part of the nominal sensitivity.
    """
    module, sensor = channel.module, channel.sensor
    if module is None:
        raise NothingToAnalyse(f"Channel {channel.tag} has no [module] table in asset.toml.")
    if module.reference_hz is None or sensor is None:
        return module.nominal_sensitivity
    at, reference = (
        float(convert(1.0, channel.input_unit, sensor.input_unit, frequency_hz=hz))
        for hz in (frequency_hz, module.reference_hz)
    )
    return module.nominal_sensitivity * reference / at
