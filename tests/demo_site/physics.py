"""What a vibration channel does to a sine: sensor, leak, filter, saturation, pick-up and noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

MAINS_HZ = 50.0


@dataclass(frozen=True, kw_only=True)
class Chain:
    """One channel as it really is; factors are relative to nominal, frequencies in Hz.

    ``noise``, ``pickup`` and ``clip`` are in the unit of the applied level; ``strain`` is the standard
    deviation of the scatter at low frequency, ``looseness`` the change of sensitivity from no level to
    full scale.
    """

    sensor_factor: float = 1.0
    module_factor: float = 1.0
    resonance_hz: float
    low_hz: float
    high_hz: float
    nominal_low_hz: float
    nominal_high_hz: float
    reference_hz: float
    full_scale: float
    noise: float
    leak_hz: float = 0.0
    bypassed: bool = False
    acceleration_right_at_hz: float | None = None
    pickup: float = 0.0
    clip: float = math.inf
    looseness: float = 0.0
    hysteresis: float = 0.0
    strain: float = 0.0


def resonance_gain(frequency_hz: float, resonance_hz: float) -> float:
    """Rise of a lightly damped seismic sensor below its mounted resonance."""
    return 1.0 / abs(1.0 - (frequency_hz / resonance_hz) ** 2)


def butterworth2(frequency_hz: float, low_hz: float, high_hz: float) -> float:
    """Magnitude of a second-order Butterworth high pass and low pass in series."""
    return 1.0 / math.sqrt((1.0 + (low_hz / frequency_hz) ** 4) * (1.0 + (frequency_hz / high_hz) ** 4))


def clipped_fundamental(amplitude: float, limit: float) -> float:
    """Fundamental of a sine through a hard limit: A (2/pi)(asin u + u sqrt(1 - u^2)), u = limit/A."""
    if amplitude <= limit:
        return amplitude
    u = limit / amplitude
    return amplitude * 2.0 / math.pi * (math.asin(u) + u * math.sqrt(1.0 - u * u))


def pickup_weight(frequency_hz: float) -> float:
    """Share of the mains pick-up that a detector tracking ``frequency_hz`` sees: near mains and harmonics."""
    shares = ((1, 1.0), (2, 0.3), (3, 0.2))
    return sum(s * math.exp(-(((frequency_hz - n * MAINS_HZ) / 2.5) ** 2)) for n, s in shares)


def sensor_response(chain: Chain, frequency_hz: float) -> float:
    """Response of the sensor alone, relative to nominal."""
    droop = 1.0 / math.sqrt(1.0 + (chain.leak_hz / frequency_hz) ** 2)
    return chain.sensor_factor * droop * resonance_gain(frequency_hz, chain.resonance_hz)


def module_response(chain: Chain, frequency_hz: float) -> float:
    """Response of the module, relative to nominal; set right at the reference with the specified band."""
    high = math.inf if chain.bypassed else chain.high_hz
    filtered = butterworth2(frequency_hz, chain.low_hz, high)
    right = butterworth2(chain.reference_hz, chain.nominal_low_hz, chain.nominal_high_hz)
    slope = 1.0
    if chain.acceleration_right_at_hz is not None:
        slope = frequency_hz / chain.acceleration_right_at_hz
    return chain.module_factor * slope * filtered / right


def observe_channel(
    chain: Chain, level: float, frequency_hz: float, rng: np.random.Generator, *, falling: bool = False
) -> float:
    """Level that the channel shows, in the unit of the applied ``level``."""
    shown = level * sensor_response(chain, frequency_hz) * module_response(chain, frequency_hz)
    shown *= 1.0 + chain.looseness * level / chain.full_scale + (chain.hysteresis if falling else 0.0)
    shown = clipped_fundamental(shown, chain.clip) * _scatter(chain, frequency_hz, rng)
    return math.hypot(shown, chain.pickup * pickup_weight(frequency_hz), chain.noise)


def observe_sensor(chain: Chain, level: float, frequency_hz: float, rng: np.random.Generator) -> float:
    """Level that the sensor alone shows, in the unit of the applied ``level``."""
    return level * sensor_response(chain, frequency_hz) * _scatter(chain, frequency_hz, rng)


def observe_module(chain: Chain, level: float, frequency_hz: float, rng: np.random.Generator) -> float:
    """Level that the channel shows when its module is fed what a good sensor would give at ``level``."""
    shown = level * module_response(chain, frequency_hz) * (1.0 + 0.0005 * float(rng.standard_normal()))
    return math.hypot(clipped_fundamental(shown, chain.clip), chain.noise)


def _scatter(chain: Chain, frequency_hz: float, rng: np.random.Generator) -> float:
    # Strain and transverse motion grow with the stroke, which a shaker needs most of at low frequency.
    strain = chain.strain * min(1.0, 100.0 / frequency_hz)
    return 1.0 + 0.001 * float(rng.standard_normal()) + strain * float(rng.standard_normal())
