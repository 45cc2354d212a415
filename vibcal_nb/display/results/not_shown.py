"""What a result does not show, so that a reader does not assume it."""

from __future__ import annotations

from vibcal_nb.analysis.band_response.band_response import BandResponseResult
from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.analysis.linearity.linearity import LinearityResult
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.display.results.statements import Result, word_result
from vibcal_nb.display.writing.names import NEVER_SHOWN
from vibcal_nb.display.writing.numbers import frequency


def list_not_shown(result: Result | DriftResult) -> tuple[str, ...]:
    """List what a result does not show: what was not verified, where its readings end, what was not tested."""
    said = word_result(result)
    return (*said.gaps, *_own_limits(result), *NEVER_SHOWN)


def _own_limits(result: Result | DriftResult) -> tuple[str, ...]:
    if isinstance(result, DriftResult):
        return ("that the channel will go on as it did: a forecast knows no faults, and no change of use",)
    channel = result.case.channel
    if isinstance(result, LinearityResult):
        return tuple(
            f"anything above {item.max_applied:.3g} {channel.input_unit.text} at {frequency(item.frequency_hz)}, "
            f"where the trip is {channel.trip:g}"
            for item in result.frequencies
            if channel.trip is not None and item.max_applied is not None and item.max_applied < channel.trip
        )
    if isinstance(result, BandResponseResult):
        used = [p.reading.frequency_hz for p in result.points if p.used]
        return (f"the response below {min(used):g} Hz and above {max(used):g} Hz",) if used else ()
    if isinstance(result, SensorAloneResult):
        return ("the cable, the conditioning module and the monitor: the sensor stood alone",)
    return ()
