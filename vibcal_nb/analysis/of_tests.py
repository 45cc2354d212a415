"""Which analysis belongs to which test on the shaker."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from vibcal_nb.analysis.band_response import BandResponseResult, analyse_band_response
from vibcal_nb.analysis.linearity import LinearityResult, analyse_linearity
from vibcal_nb.analysis.sensor_alone import SensorAloneResult, analyse_sensor_alone
from vibcal_nb.inputs.case import Case

TestResult = LinearityResult | BandResponseResult | SensorAloneResult
ANALYSE: Mapping[str, Callable[[Case], TestResult]] = {
    "linearity": analyse_linearity,
    "band-response": analyse_band_response,
    "sensor-alone": analyse_sensor_alone,
}
