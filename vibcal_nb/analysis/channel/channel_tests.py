"""The tests of one channel in one condition, each analysed as its own notebook does."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from vibcal_nb.analysis.band_response.band_response import BandResponseResult, analyse_band_response
from vibcal_nb.analysis.channel.module_alone import ModuleAloneResult, analyse_module_alone
from vibcal_nb.analysis.gap_curve.gap_curve import GapCurveResult, analyse_gap_curve
from vibcal_nb.analysis.linearity.linearity import LinearityResult, analyse_linearity
from vibcal_nb.analysis.relay.electrical import ElectricalResult, analyse_electrical
from vibcal_nb.analysis.relay.indication import IndicationResult, analyse_indication
from vibcal_nb.analysis.relay.set_points import SetPointsResult, analyse_set_points
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult, analyse_sensor_alone
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED, Verdict
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import (
    BAND_RESPONSE,
    ELECTRICAL,
    GAP_CURVE,
    INDICATION,
    LINEARITY,
    MODULE_ALONE,
    SENSOR_ALONE,
    SET_POINT,
    SET_POINTS,
)
from vibcal_nb.problems import NothingToAnalyse

TestResult = LinearityResult | BandResponseResult | SensorAloneResult | GapCurveResult
ANALYSE: Mapping[str, Callable[[Case], TestResult]] = {
    LINEARITY: analyse_linearity,
    BAND_RESPONSE: analyse_band_response,
    SENSOR_ALONE: analyse_sensor_alone,
    GAP_CURVE: analyse_gap_curve,
}
_FIELD_OF = {
    LINEARITY: LINEARITY,
    BAND_RESPONSE: "band",
    SENSOR_ALONE: "sensor",
    MODULE_ALONE: "module",
    GAP_CURVE: "gap_curve",
    INDICATION: INDICATION,
    SET_POINTS: "set_points",
    ELECTRICAL: ELECTRICAL,
}
_ANALYSE: Mapping[str, Callable[[Case], Any]] = {
    **ANALYSE,
    MODULE_ALONE: analyse_module_alone,
    INDICATION: analyse_indication,
    SET_POINT: analyse_set_points,
    ELECTRICAL: analyse_electrical,
}


@dataclass(frozen=True, kw_only=True, eq=False)
class ChannelTests:
    """The results of a channel's tests, None where a test was not made or cannot be judged.

    ``missing`` names, test by test, why one that the channel is asked for has no result.
    """

    linearity: LinearityResult | None = None
    band: BandResponseResult | None = None
    sensor: SensorAloneResult | None = None
    module: ModuleAloneResult | None = None
    indication: IndicationResult | None = None
    set_points: SetPointsResult | None = None
    electrical: ElectricalResult | None = None
    gap_curve: GapCurveResult | None = None
    missing: Mapping[str, str] = field(default_factory=dict)

    @property
    def verdicts(self) -> dict[str, Verdict]:
        """The verdict of each test: of those made, and ``not verified`` for those that are missing."""
        made = {test: result.verdict for test, result in self.results()}
        return made | dict.fromkeys(self.missing, NOT_VERIFIED)

    def results(self) -> Iterator[tuple[str, Any]]:
        """Yield the name and result of each test that was made."""
        for test, name in _FIELD_OF.items():
            result = getattr(self, name)
            if result is not None:
                yield test, result


def analyse_tests(channel: Channel, cases: Mapping[str, Case]) -> ChannelTests:
    """Analyse each test there is of a channel in one condition.

    A test whose part of the channel is stated in ``asset.toml`` and that was not made is missing; so is one whose
    readings cannot be judged because its part is not stated. What follows the sensor is never asked for: the module
    alone, the display, the relays; nor is electrical health, and without limits it is not judged.
    """
    results: dict[str, Any] = dict.fromkeys(_FIELD_OF.values())
    missing: dict[str, str] = {}
    asked = {
        LINEARITY: True,
        BAND_RESPONSE: channel.band is not None,
        SENSOR_ALONE: channel.sensor is not None,
        GAP_CURVE: channel.gap_curve is not None,
    }
    for test, analyse in _ANALYSE.items():
        if test == ELECTRICAL and not channel.electrical:
            continue
        if test in cases:
            name = SET_POINTS if test == SET_POINT else test
            try:
                results[_FIELD_OF[name]] = analyse(cases[test])
            except NothingToAnalyse as nothing:
                missing[name] = str(nothing).rstrip(".")
        elif asked.get(test):
            missing[test] = "no readings"
    return ChannelTests(**results, missing=missing)
