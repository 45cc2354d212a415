"""What a faulty channel puts out at planned points: gain, corners, clipping, leak."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.faults.chain_model import limited_fundamental
from vibcal_nb.analysis.planning.expected_output import nominal_response
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.names import SENSOR_ALONE


@dataclass(frozen=True, kw_only=True)
class ChannelFault:
    """A fault and its size. ``gain`` and the corners' factors multiply; ``clip`` is in the channel's input unit.

    ``leak_hz`` is f_1 = 1/(2 pi R C) of a leak in sensor or cable: a first-order droop toward low frequency.
    """

    name: str
    gain: float = 1.0
    low_corner: float = 1.0
    high_corner: float = 1.0
    clip: float | None = None
    leak_hz: float | None = None


NO_FAULT = ChannelFault(name="no fault")


def usual_faults(channel: Channel) -> tuple[ChannelFault, ...]:
    """Return the faults that a plan is held against: those that this channel can have, of sizes worth finding."""
    faults = [ChannelFault(name="gain 5 % low", gain=0.95)]
    band, sensor = channel.band, channel.sensor
    if band is not None and band.corner_high_hz is not None:
        faults.append(ChannelFault(name="upper corner 20 % low", high_corner=0.8))
    if band is not None and band.corner_low_hz is not None:
        faults.append(ChannelFault(name="lower corner 25 % high", low_corner=1.25))
    if channel.trip is not None:
        faults.append(ChannelFault(name="clipped at the trip level", clip=channel.trip))
    lowest = [edge[0] for edge in (band and band.flat_hz, sensor and sensor.flat_hz) if edge]
    if lowest:
        leak = 0.5 * min(lowest)
        faults.append(ChannelFault(name=f"leak, f1 = {leak:.4g} Hz", leak_hz=leak))
    return tuple(faults)


def faulty_output(channel: Channel, scaled: ScaledReadings, fault: ChannelFault, *, test: str) -> FloatArray:
    """Return the output less its zero, shape (n,), of a channel that is good but for ``fault``.

    Filters are Butterworth of second order at the specified corners; a sensor alone is flat but for a leak.
    """
    f, x = scaled.frequency_hz, np.asarray(scaled.x)
    droop = np.ones(f.size) if fault.leak_hz is None else 1.0 / np.sqrt(1.0 + (fault.leak_hz / f) ** 2)
    if test == SENSOR_ALONE:
        nominal = channel.sensor.nominal_sensitivity if channel.sensor is not None else 0.0
        return np.asarray(nominal * x * droop)
    shape = nominal_response(channel.band, f, low_factor=fault.low_corner, high_factor=fault.high_corner)
    level = x * droop * shape * fault.gain
    if fault.clip is not None:
        level = level * limited_fundamental(fault.clip / np.maximum(level, fault.clip))
    return np.asarray(channel.nominal_sensitivity * level)
