"""Channels with a known fault, simulated without the model that explains them: filters, waveforms and detectors.

Sensors and filters are transfer functions evaluated by scipy.signal, clipping and pick-up are sampled waveforms, the
reading is the detector's. Errors have the sizes of certificates and contributions; tables are sparse (5 levels, 7
frequencies) or full.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date

import numpy as np
from scipy import signal

from tests.support.readings.cases import READOUT, REFERENCE
from vibcal_nb.model.asset import BandSpecification, Channel, Rotor, SensorSpecification
from vibcal_nb.model.case import Case
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.model.visit import Visit
from vibcal_nb.units import parse_unit

FAMILIES = (
    "module gain",
    "sensor lost sensitivity",
    "open leg",
    "detector mix-up",
    "unit mix-up",
    "mains pick-up",
    "noise floor",
    "saturation",
    "loose mounting",
    "leak",
    "wrong filter",
    "wrong integration",
    "cracked element",
    "cable strain",
)
SIZES = ("barely visible", "plain", "gross")
TIMES = np.arange(8192)


@dataclass(frozen=True, kw_only=True)
class Plant:
    """What a channel should be, and where it is read."""

    channel: Channel
    mains_hz: float
    levels: tuple[float, ...]
    rotors: tuple[float, ...]
    band_hz: tuple[float, ...]
    band_level: float
    sensor_hz: tuple[float, ...]
    cycles: bool


@dataclass
class Truth:
    """The channel as it is: factors relative to nominal, levels relative to full scale."""

    family: str = "healthy"
    sensor: float = 1.0
    module: float = 1.0
    low: float = 1.0
    high: float = 1.0
    orders: tuple[int, int] = (2, 2)
    resonance_hz: float = 10_000.0
    noise: float = 3e-4
    clip: float = math.inf
    clips: str = "fundamental"
    pickup: float = 0.0
    leak_hz: float = 0.0
    leak_before_module: bool = False
    looseness: float = 0.0
    hysteresis: float = 0.0
    exponent: int = 0
    right_at_hz: float = 1.0
    strain: float = 0.0
    written: dict[str, float] = field(default_factory=dict)  # factor on the applied level, by test


_KINDS = (
    (20.0, 400.0, 25.0, "mm/s pk", "mV pk", 4.0),
    (10.0, 1000.0, 25.0, "mm/s rms", "mA dc", 0.64),
    (2.0, 5000.0, 100.0, "m/s2 pk", "mV pk", 10.2),
)


def draw_plant(rng: np.random.Generator, *, full: bool) -> Plant:
    kind = rng.integers(3)
    mains = float(rng.choice([50.0, 60.0]))
    low, high, scale, unit, out, nominal = _KINDS[kind]
    if kind == 0:
        low, high = float(rng.choice([10.0, 20.0, 25.0])), float(rng.choice([350.0, 400.0, 1000.0]))
    ref = 80.0
    sensor_units = None if kind == 1 or rng.random() < 0.25 else ("m/s2 pk", "pC pk", 5.0)
    sensor = None
    if sensor_units:
        sensor = SensorSpecification(
            input_unit=parse_unit("m/s2 pk"), output_unit=parse_unit("pC pk"), nominal_sensitivity=5.0,
            tolerance_pct=5.0, reference_hz=ref, flat_hz=(max(low, 5.0), min(high, 2000.0)), flat_pct=5.0,
        )  # fmt: skip
    speed = mains * float(rng.uniform(0.985, 0.998))
    fast = float(rng.choice([149.0, 170.0, 97.0]))
    channel = Channel(
        tag="SIM-1-V1", rotors=(Rotor(name="rotor", speed_hz=speed),), input_unit=parse_unit(unit),
        output_unit=parse_unit(out), nominal_sensitivity=nominal, output_zero=4.0 if kind == 1 else 0.0,
        tolerance=Tolerance(reading_pct=5.0), nonlinearity_pct=2.0, alert=0.4 * scale, trip=0.7 * scale,
        full_scale=scale, sensor=sensor,
        band=BandSpecification(
            reference_hz=ref, flat_hz=(2.0 * low, 0.5 * high), flat_pct=5.0, corner_low_hz=low, corner_high_hz=high
        ),
    )  # fmt: skip
    if full:
        levels = tuple(scale * np.array([0.04, 0.08, 0.2, 0.36, 0.56, 0.72, 0.8]))
        grid = [float(f"{f:.3g}") for f in np.geomspace(0.5 * low, 1.6 * high, 22)]
        band = sorted({*grid, ref, speed, low, high})
        sensor_hz = np.geomspace(max(low, 5.0), min(high, 3000.0), 9)
    else:
        levels = tuple(scale * np.array([0.06, 0.2, 0.4, 0.6, 0.8]))
        band = [low, 2.0 * low, speed, ref, 0.5 * high, high, 1.3 * high]
        sensor_hz = np.geomspace(max(low, 5.0), min(high, 3000.0), 4)
    return Plant(
        channel=channel, mains_hz=mains, levels=levels,
        rotors=(speed, fast) if full and rng.random() < 0.5 else (speed,),
        band_hz=tuple(sorted(band)), band_level=0.08 * scale if full else 0.12 * scale,
        sensor_hz=tuple(sorted({*[float(f"{f:.3g}") for f in sensor_hz], ref})) if sensor else (),
        cycles=bool(full and rng.random() < 0.5),
    )  # fmt: skip


def draw_truth(plant: Plant, family: str, size: int, rng: np.random.Generator) -> Truth:
    band = plant.channel.band
    truth = Truth(
        family=family,
        sensor=1.0 + rng.uniform(-0.02, 0.02),
        module=1.0 + rng.uniform(-0.015, 0.015),
        low=rng.uniform(0.965, 1.035),
        high=rng.uniform(0.965, 1.035),
        orders=(int(rng.integers(1, 5)), int(rng.integers(1, 5))),
        resonance_hz=band.corner_high_hz * float(rng.uniform(5.0, 25.0)),
        noise=float(rng.uniform(1.5e-4, 8e-4)),
    )
    _BREAK.get(family, lambda *_: None)(truth, plant, size, rng)
    return truth


def _between(rng, size, *bounds):
    return float(rng.uniform(bounds[size], bounds[size + 1]))


def _module_gain(t, p, size, rng):
    change = _between(rng, size, 0.065, 0.09, 0.2, 0.5)
    t.module *= 1.0 + change if rng.random() < 0.5 else 1.0 - change


def _sensor_lost(t, p, size, rng):
    t.sensor *= 1.0 - _between(rng, size, 0.07, 0.1, 0.2, 0.45)


def _open_leg(t, p, size, rng):
    if rng.random() < 0.5:
        t.sensor *= 0.5
    else:
        t.module *= 0.5


def _detector(t, p, size, rng):
    _mixed(t, float(rng.choice([2**0.5, 0.5**0.5, 2.0, 0.5])), rng)


def _unit(t, p, size, rng):
    factor = 9.80665 if p.channel.input_unit.quantity == "acceleration" else 25.4
    _mixed(t, factor if rng.random() < 0.5 else 1.0 / factor, rng)


def _mixed(t, factor, rng):
    tests = [("linearity", "band-response"), ("linearity", "band-response", "sensor-alone")][int(rng.integers(2))]
    t.written = dict.fromkeys(tests, factor)


def _pickup(t, p, size, rng):
    t.pickup = _between(rng, size, 0.008, 0.015, 0.04, 0.12)


def _noise(t, p, size, rng):
    t.noise = _between(rng, size, 0.01, 0.018, 0.04, 0.12)


def _saturation(t, p, size, rng):
    t.clip = max(p.levels) / p.channel.full_scale * _between(rng, 2 - size, 0.3, 0.6, 0.8, 0.92)
    t.clips = str(rng.choice(["fundamental", "rms", "acceleration"], p=[0.5, 0.25, 0.25]))
    if t.clips == "acceleration":
        t.clip *= p.rotors[0] / p.channel.band.reference_hz


def _loose(t, p, size, rng):
    t.looseness = _between(rng, size, 0.05, 0.1, 0.2, 0.4) * (1 if rng.random() < 0.5 else -1)
    t.hysteresis = float(rng.uniform(0.0, 0.04))
    t.resonance_hz = p.channel.band.corner_high_hz * _between(rng, 2 - size, 1.3, 2.0, 3.2, 5.0)


def _leak(t, p, size, rng):
    t.leak_hz = p.channel.band.corner_low_hz * _between(rng, size, 0.5, 0.8, 1.4, 3.0)
    t.leak_before_module = bool(rng.random() < 0.75)


def _filter(t, p, size, rng):
    shift = math.exp(_between(rng, size, 0.13, 0.2, 0.45, 1.0))
    side = "low" if rng.random() < 0.5 else "high"
    bypassed = size == 2 and rng.random() < 0.4
    factor = (1e-3 if side == "low" else 1e3) if bypassed else (shift if rng.random() < 0.5 else 1.0 / shift)
    setattr(t, side, getattr(t, side) * factor)


def _integration(t, p, size, rng):
    t.exponent = 1 if p.channel.input_unit.quantity == "velocity" else -1
    t.right_at_hz = p.channel.band.reference_hz * float(np.exp(rng.normal(0.0, 0.5)))


def _cracked(t, p, size, rng):
    t.sensor *= 1.0 - _between(rng, size, 0.1, 0.16, 0.28, 0.5)
    t.resonance_hz = p.channel.band.corner_high_hz * _between(rng, 2 - size, 1.4, 2.4, 3.5, 5.0)


def _strain(t, p, size, rng):
    t.strain = _between(rng, size, 0.015, 0.025, 0.05, 0.1)
    t.hysteresis = float(rng.uniform(0.0, 0.03))


_BREAK = {
    "module gain": _module_gain, "sensor lost sensitivity": _sensor_lost, "open leg": _open_leg,
    "detector mix-up": _detector, "unit mix-up": _unit, "mains pick-up": _pickup, "noise floor": _noise,
    "saturation": _saturation, "loose mounting": _loose, "leak": _leak, "wrong filter": _filter,
    "wrong integration": _integration, "cracked element": _cracked, "cable strain": _strain,
}  # fmt: skip


class Visitor:
    """Takes readings of one channel as a technician would, with the errors of one visit."""

    def __init__(self, plant: Plant, truth: Truth, rng: np.random.Generator) -> None:
        self.plant, self.truth, self.rng = plant, truth, rng
        rectangular = lambda half: rng.uniform(-half, half)  # noqa: E731
        self.common = rng.normal(0, 0.005) + rectangular(0.0007) + rng.normal(0, 0.001) + rectangular(0.002)
        self.by_frequency: dict[tuple[bool, float], float] = {}
        self.rows = 1

    def read(self, test: str, target: float, hz: float, *, direction: str | None = None) -> Reading:
        channel, truth, rng = self.plant.channel, self.truth, self.rng
        alone = test == "sensor-alone"
        part = channel.sensor if alone else channel
        hz = round(hz, 2)
        true = target * (1.0 + rng.uniform(-0.01, 0.01))
        shown = self._sensor(true, hz) if alone else self._channel(true, hz, direction)
        key = (alone, round(math.log(hz), 2))
        if key not in self.by_frequency:
            self.by_frequency[key] = sum(rng.uniform(-half, half) for half in (0.002, 0.003, 0.001))
        own = rng.normal(0, 0.002) + rng.uniform(-0.001, 0.001)
        strain = truth.strain * min(1.0, 80.0 / hz) * rng.standard_normal()
        output = part.nominal_sensitivity * shown * (1.0 + self.common + self.by_frequency[key] + own + strain)
        zero = 0.0 if alone else channel.output_zero
        decimals = 3 if part.output_unit.symbol == "mA" else 2
        self.rows += 1
        return Reading(
            row=self.rows, channel=channel.tag, test=test, condition="as-found", frequency_hz=hz,
            applied=round(true * truth.written.get(test, 1.0), 3), applied_unit=part.input_unit, applied_decimals=3,
            output=round(zero + output, decimals), output_unit=part.output_unit, output_decimals=decimals,
            direction=direction,
        )  # fmt: skip

    def _sensor(self, level: float, hz: float) -> float:
        truth = self.truth
        w, wn = 2 * np.pi * hz, 2 * np.pi * truth.resonance_hz
        _, rise = signal.freqs([wn**2], [1.0, wn / 20.0, wn**2], worN=[w])
        gain = truth.sensor * abs(rise[0])
        if truth.leak_hz and truth.leak_before_module:
            gain *= _butter(1, truth.leak_hz, "high", hz)
        return level * gain

    def _channel(self, level: float, hz: float, direction: str | None) -> float:
        truth, channel = self.truth, self.plant.channel
        band, scale = channel.band, channel.full_scale
        shown = self._sensor(level, hz) * truth.module
        if truth.leak_hz and not truth.leak_before_module:
            shown *= _butter(1, truth.leak_hz, "high", hz)
        n1, n2 = truth.orders
        for order, corner, factor, kind in (
            (n1, band.corner_low_hz, truth.low, "high"),
            (n2, band.corner_high_hz, truth.high, "low"),
        ):
            shown *= _butter(order, corner * factor, kind, hz) / _butter(order, corner, kind, band.reference_hz)
        shown *= (hz / truth.right_at_hz) ** truth.exponent
        shown *= 1.0 + truth.looseness * level / scale + (truth.hysteresis if direction == "falling" else 0.0)
        return scale * self._detected(shown / scale, hz)

    def _detected(self, amplitude: float, hz: float) -> float:
        """What the detector says of the wave, as the amplitude of a sine that would read alike."""
        truth, rng = self.truth, self.rng
        limit = truth.clip * (band_ratio(self.plant, hz) if truth.clips == "acceleration" else 1.0)
        if amplitude > limit:
            wave = np.clip(amplitude * np.sin(2 * np.pi * TIMES / len(TIMES)), -limit, limit)
            if truth.clips == "rms":
                amplitude = math.sqrt(2.0 * float(np.mean(wave**2)))
            else:
                amplitude = 2.0 * abs(np.fft.rfft(wave)[1]) / len(TIMES)
        if truth.pickup:
            added = truth.pickup * sum(
                share * _tuned(n * self.plant.mains_hz, hz) for n, share in ((1, 1.0), (2, 0.25), (3, 0.15))
            )
            seconds = TIMES / len(TIMES) * 4.0  # four seconds of averaging
            wave = amplitude * np.sin(2 * np.pi * hz * seconds)
            wave += added * np.sin(2 * np.pi * self.plant.mains_hz * seconds + rng.uniform(0, 2 * np.pi))
            amplitude = math.sqrt(2.0 * float(np.mean(wave**2)))
        return math.hypot(amplitude, truth.noise * (1.0 + 0.05 * rng.standard_normal()))

    def take_all(self) -> list[Reading]:
        plant, found = self.plant, []
        for hz in plant.rotors:
            for direction in ("rising", "falling") if plant.cycles else (None,):
                levels = plant.levels if hz < 140 else tuple(0.5 * level for level in plant.levels)
                for level in reversed(levels) if direction == "falling" else levels:
                    found.append(self.read("linearity", level, hz, direction=direction))
        found += [self.read("band-response", plant.band_level, hz) for hz in plant.band_hz]
        found += [self.read("sensor-alone", 10.0, hz) for hz in plant.sensor_hz]
        return found


def band_ratio(plant: Plant, hz: float) -> float:
    return plant.channel.band.reference_hz / hz


def _butter(order: int, corner_hz: float, kind: str, hz: float) -> float:
    _, response = signal.freqs(*signal.butter(order, 1.0, kind, analog=True), worN=[hz / corner_hz])
    return float(abs(response[0]))


def _tuned(centre_hz: float, hz: float, *, width_hz: float = 3.0) -> float:
    """A tuned detector at ``hz``, asked what it lets through at ``centre_hz``."""
    detuning = (centre_hz - hz) / width_hz
    _, response = signal.freqs(*signal.butter(2, 1.0, "low", analog=True), worN=[abs(detuning) + 1e-9])
    return float(abs(response[0]))


def make_cases(plant: Plant, readings: list[Reading]) -> list[Case]:
    visit = Visit(date=date(2026, 5, 19), performed_by="Technician A", equipment=("REF-1", "DVM-1"))
    return [
        Case(
            asset_tag="SIM-1", asset_name="simulated", visit_name="2026-05-19", channel=plant.channel, test=test,
            condition="as-found", readings=tuple(r for r in readings if r.test == test), references=(REFERENCE,),
            readouts=(READOUT,), visit=visit, table_file="readings.csv",
        )
        for test in ("linearity", "band-response", "sensor-alone")
        if any(r.test == test for r in readings)
    ]  # fmt: skip
