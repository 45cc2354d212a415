"""The tests of one channel in one condition, each analysed as its own notebook does."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from vibcal_nb.analysis.band_response import BandResponseResult, analyse_band_response
from vibcal_nb.analysis.conformity import Verdict
from vibcal_nb.analysis.linearity import LinearityResult, analyse_linearity
from vibcal_nb.analysis.module_alone import ModuleAloneResult, analyse_module_alone
from vibcal_nb.analysis.sensor_alone import SensorAloneResult, analyse_sensor_alone
from vibcal_nb.inputs.asset import Channel
from vibcal_nb.inputs.case import Case, NothingToAnalyse

_ANALYSES: dict[str, tuple[str, Callable[[Case], Any]]] = {
    "linearity": ("linearity", analyse_linearity),
    "band-response": ("band", analyse_band_response),
    "sensor-alone": ("sensor", analyse_sensor_alone),
    "module-alone": ("module", analyse_module_alone),
}
_FIELD_OF = {test: field for test, (field, _) in _ANALYSES.items()}


@dataclass(frozen=True, kw_only=True, eq=False)
class ChannelTests:
    """The results of a channel's tests, None where a test was not made or cannot be judged.

    ``missing`` names, test by test, why one that the channel is asked for has no result.
    """

    linearity: LinearityResult | None
    band: BandResponseResult | None
    sensor: SensorAloneResult | None
    module: ModuleAloneResult | None
    missing: Mapping[str, str]

    @property
    def verdicts(self) -> dict[str, Verdict]:
        """The verdict of each test: of those made, and ``not verified`` for those that are missing."""
        made = {test: result.verdict for test, result in self.results()}
        return made | dict.fromkeys(self.missing, "not verified")

    def results(self) -> Iterator[tuple[str, Any]]:
        """Yield the name and result of each test that was made."""
        for test, field in _FIELD_OF.items():
            result = getattr(self, field)
            if result is not None:
                yield test, result


def analyse_tests(channel: Channel, cases: Mapping[str, Case]) -> ChannelTests:
    """Analyse each test there is of a channel in one condition.

    A test whose part of the channel is stated in ``asset.toml`` and that was not made is missing; so is one whose
    readings cannot be judged because its part is not stated. The module alone is never asked for.
    """
    results: dict[str, Any] = dict.fromkeys(_FIELD_OF.values())
    missing: dict[str, str] = {}
    asked = {"linearity": True, "band-response": channel.band is not None, "sensor-alone": channel.sensor is not None}
    for test, (field, analyse) in _ANALYSES.items():
        if test in cases:
            try:
                results[field] = analyse(cases[test])
            except NothingToAnalyse as nothing:
                missing[test] = str(nothing).rstrip(".")
        elif asked.get(test):
            missing[test] = "no readings"
    return ChannelTests(**results, missing=missing)
