"""Channels of six kinds as the field has them, with faults, pairs of faults, unknown behaviour and slips of writing.

Shares no formula with the model that explains them: filters and sensors are transfer functions of scipy.signal (of
Butterworth, Bessel, Chebyshev and plain second-order shape), what bends is a sampled wave, and a detector measures it.
The sizes are what is met in the field, by judgement; no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from scipy import signal

from tests.benchmarks.truth.simulated_faults import make_cases
from vibcal_nb.model.asset import BandSpecification, Channel, Rotor, SensorSpecification
from vibcal_nb.model.case import Case
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.units import parse_unit

KINDS = ("charge velocity", "two-wire loop", "constant current", "moving coil", "displacement", "wide-band")
_TURN = 2.0 * np.pi * np.arange(4096) / 4096
# corners, full scale, input, output, sensitivity, zero, has a sensor of its own
_PLANTS = {
    "charge velocity": (20.0, 400.0, 25.0, "mm/s pk", "mV pk", 4.0, 0.0, True),
    "two-wire loop": (10.0, 1000.0, 25.0, "mm/s rms", "mA dc", 0.64, 4.0, False),
    "constant current": (2.0, 5000.0, 100.0, "m/s2 pk", "mV pk", 10.2, 0.0, False),
    "moving coil": (10.0, 1500.0, 50.0, "mm/s pk", "mV pk", 20.0, 0.0, False),
    "displacement": (None, 600.0, 250.0, "um pkpk", "mV pkpk", 7.9, 0.0, False),
    "wide-band": (5.0, 8000.0, 200.0, "m/s2 rms", "mV rms", 5.0, 0.0, True),
}


@dataclass(frozen=True)
class Plant:
    kind: str
    channel: Channel
    mains_hz: float
    lines: tuple[tuple[float, tuple[float, ...]], ...]
    band_hz: tuple[float, ...]
    band_level: float
    sensor_hz: tuple[float, ...]
    full: bool


@dataclass
class Truth:
    """The channel as it is. ``after`` are functions (amplitude of full scale, place in the visit) -> amplitude."""

    names: tuple[str, ...] = ("healthy",)
    sensor: float = 1.0
    module: float = 1.0
    resonance_hz: float = 1e4
    quality: float = 15.0
    leak_hz: float = 0.0
    leak_seen_alone: bool = True
    low_hz: float | None = None
    high_hz: float | None = None
    shape: str = "butter"
    orders: tuple[int, int] = (2, 2)
    tilt: float = 0.0
    tilt_hz: float = 80.0
    noise: float = 4e-4
    unsteady: float = 0.05
    pickup: float = 0.0
    broad: bool = False
    limit: float = math.inf
    limited: str = "wave"
    silent: bool = False
    zero: float = 0.0
    bend: Callable[[float], float] | None = None
    falls: float = 0.0
    strain: float = 0.0
    scatter: float = 0.0
    moves: Callable[[float], float] | None = None
    loses: float = 0.0
    extra: list[tuple[list[float], list[float]]] = field(default_factory=list)  # analogue transfer functions
    written: dict[str, float] = field(default_factory=dict)


def draw_plant(rng: np.random.Generator, kind: str, *, full: bool) -> Plant:
    low, high, scale, unit, out, nominal, zero, has_sensor = _PLANTS[kind]
    mains, ref = float(rng.choice([50.0, 60.0])), 80.0
    speed = mains * float(rng.uniform(0.985, 0.998))
    sensor = None
    if has_sensor and rng.random() < 0.8:
        sensor = SensorSpecification(
            input_unit=parse_unit("m/s2 pk"), output_unit=parse_unit("pC pk"), nominal_sensitivity=5.0,
            tolerance_pct=5.0, reference_hz=ref, flat_hz=(max(low, 10.0), min(high, 2000.0)), flat_pct=5.0,
        )  # fmt: skip
    foot = low or 10.0
    channel = Channel(
        tag="FLD-1-V1", rotors=(Rotor(name="rotor", speed_hz=speed),), input_unit=parse_unit(unit),
        output_unit=parse_unit(out), nominal_sensitivity=nominal, output_zero=zero,
        tolerance=Tolerance(reading_pct=5.0), nonlinearity_pct=2.0, alert=0.4 * scale, trip=0.7 * scale,
        full_scale=scale, sensor=sensor,
        band=BandSpecification(
            reference_hz=ref, flat_hz=(2.0 * foot, 0.5 * high), flat_pct=5.0, corner_low_hz=low, corner_high_hz=high
        ),
    )  # fmt: skip
    parts = np.array([0.04, 0.08, 0.2, 0.36, 0.56, 0.72, 0.8] if full else [0.06, 0.2, 0.4, 0.6, 0.8])
    rotors = (speed, 97.0) if full and rng.random() < 0.5 else (speed,)
    lines = tuple((hz, tuple(scale * parts * (1.0 if i == 0 else 0.6))) for i, hz in enumerate(rotors))
    if full:
        band = [*np.geomspace(0.5 * foot, 1.6 * high, 20), ref, foot, high]
    else:
        band = [foot, 2.0 * foot, speed, ref, math.sqrt(ref * high), 0.5 * high, high, 1.3 * high]
    sensor_hz = () if sensor is None else (ref, *np.geomspace(max(foot, 5.0), min(high, 3000.0), 8 if full else 4))
    return Plant(
        kind=kind, channel=channel, mains_hz=mains, lines=lines, full=full,
        band_hz=tuple(sorted({float(f"{hz:.3g}") for hz in band})), band_level=(0.08 if full else 0.12) * scale,
        sensor_hz=tuple(sorted({float(f"{hz:.3g}") for hz in sensor_hz})),
    )  # fmt: skip


def draw_healthy(plant: Plant, rng: np.random.Generator) -> Truth:
    band = plant.channel.band
    shape = str(rng.choice(["butter", "butter", "bessel", "cheby", "second"]))
    orders = (int(rng.integers(1, 5)), int(rng.integers(1, 5)))
    if plant.kind == "moving coil":
        shape = "second"
    return Truth(
        sensor=1.0 + rng.uniform(-0.02, 0.02), module=1.0 + rng.uniform(-0.015, 0.015),
        resonance_hz=band.corner_high_hz * float(rng.uniform(5.0, 25.0)), quality=float(rng.uniform(8.0, 25.0)),
        low_hz=None if band.corner_low_hz is None else band.corner_low_hz * rng.uniform(0.965, 1.035),
        high_hz=band.corner_high_hz * rng.uniform(0.965, 1.035), shape=shape, orders=orders,
        noise=float(rng.uniform(1.5e-4, 8e-4)),
    )  # fmt: skip


# faults that a family knows


def _between(rng, size, *edges):
    return float(rng.uniform(edges[size], edges[size + 1]))


def _sign(rng):
    return 1.0 if rng.random() < 0.5 else -1.0


def _module_gain(t, p, rng, size):
    t.module *= 1.0 + _sign(rng) * _between(rng, size, 0.065, 0.1, 0.2, 0.45)


def _sensor_lost(t, p, rng, size):
    t.sensor *= 1.0 - _between(rng, size, 0.07, 0.12, 0.25, 0.7)


def _open_leg(t, p, rng, size):
    if rng.random() < 0.5:
        t.sensor *= 0.5
    else:
        t.module *= 0.5


def _another_sensor(t, p, rng, size):
    t.sensor *= float(rng.choice([0.1, 0.2, 2.0, 5.0, 10.0])) * rng.uniform(0.98, 1.02)


def _range_step(t, p, rng, size):
    t.module *= float(rng.choice([0.1, 0.2, 0.5, 2.0, 5.0, 10.0]))


def _detector(t, p, rng, size):
    _mix(t, float(rng.choice([2**0.5, 0.5**0.5, 2.0, 0.5])), rng)


def _unit(t, p, rng, size):
    factor = 9.80665 if p.channel.input_unit.quantity == "acceleration" else 25.4
    _mix(t, factor ** _sign(rng), rng)


def _mix(t, factor, rng):
    tests = [("linearity", "band-response"), ("linearity", "band-response", "sensor-alone")][int(rng.integers(2))]
    t.written = dict.fromkeys(tests, factor)


def _pick_up(t, p, rng, size):
    t.pickup, t.broad = _between(rng, size, 0.01, 0.02, 0.05, 0.15), bool(rng.random() < 0.3)


def _noise(t, p, rng, size):
    t.noise, t.unsteady = _between(rng, size, 0.012, 0.02, 0.05, 0.15), float(rng.choice([0.01, 0.05]))


def _dead(t, p, rng, size):
    t.silent, t.noise, t.unsteady = True, float(np.exp(rng.uniform(np.log(5e-4), np.log(0.02)))), 0.1
    if p.channel.output_zero and rng.random() < 0.6:
        t.zero, t.noise = float(rng.uniform(-0.02, 0.6)), 1e-4


def _zero_shift(t, p, rng, size):
    t.zero = _sign(rng) * _between(rng, size, 0.008, 0.015, 0.04, 0.1)


def _saturation(t, p, rng, size):
    highest = max(p.lines[0][1]) / p.channel.full_scale
    t.limit = highest * _between(rng, 2 - size, 0.3, 0.6, 0.8, 0.93)
    t.limited = "shown" if p.channel.output_zero or rng.random() < 0.2 else "wave"


def _loose(t, p, rng, size):
    rate = _sign(rng) * _between(rng, size, 0.05, 0.1, 0.2, 0.4)
    t.bend, t.falls = (lambda a: a * (1.0 + rate * a)), float(rng.uniform(0.0, 0.03))
    t.resonance_hz = p.channel.band.corner_high_hz * _between(rng, 2 - size, 1.3, 2.0, 3.2, 5.0)


def _leak(t, p, rng, size):
    t.leak_hz = (p.channel.band.corner_low_hz or 10.0) * _between(rng, size, 0.5, 0.8, 1.4, 3.0)
    t.leak_seen_alone = bool(rng.random() < 0.75)


def _filter(t, p, rng, size):
    factor = math.exp(_sign(rng) * _between(rng, size, 0.15, 0.25, 0.5, 1.0))
    if t.low_hz is not None and rng.random() < 0.5:
        t.low_hz *= factor if rng.random() < 0.8 or size < 2 else 1e-3
    else:
        t.high_hz *= factor if rng.random() < 0.8 or size < 2 else 1e3


def _integration(t, p, rng, size):
    t.tilt = 1.0 if p.channel.input_unit.quantity == "velocity" else -1.0
    t.tilt_hz = 80.0 * float(np.exp(rng.normal(0.0, 0.5)))


def _cracked(t, p, rng, size):
    t.sensor *= 1.0 - _between(rng, size, 0.12, 0.18, 0.3, 0.5)
    t.resonance_hz = p.channel.band.corner_high_hz * _between(rng, 2 - size, 1.4, 2.2, 3.0, 4.0)


def _strain(t, p, rng, size):
    t.strain, t.falls = _between(rng, size, 0.015, 0.03, 0.06, 0.1), float(rng.uniform(0.0, 0.03))


def _damping(t, p, rng, size):
    damping = float(rng.choice([_between(rng, 2 - size, 0.2, 0.3, 0.4, 0.5), _between(rng, size, 0.95, 1.1, 1.3, 1.7)]))
    low = p.channel.band.corner_low_hz
    t.low_hz = None  # in place of the healthy high pass, one of second order and of the same half-power frequency
    q = 2.0 * damping**2 - 1.0
    w = 2.0 * np.pi * low / math.sqrt(q + math.sqrt(q * q + 1.0))
    t.extra.append(([1.0, 0.0, 0.0], [1.0, 2.0 * damping * w, w * w]))


def _notch(t, p, rng, size):
    low, high = 1.5 * (p.channel.band.corner_low_hz or 10.0), 0.6 * p.channel.band.corner_high_hz
    w = 2.0 * np.pi * float(np.exp(rng.uniform(math.log(low), math.log(high))))
    depth, width = _between(rng, 2 - size, 0.05, 0.25, 0.5, 0.75), float(rng.uniform(0.3, 0.8))
    t.extra.append(([1.0, depth * width * w, w * w], [1.0, width * w, w * w]))


def _intermittent(t, p, rng, size):
    t.loses = float(rng.uniform(0.12, 0.3))


def _moves(t, p, rng, size):
    change = _sign(rng) * _between(rng, size, 0.07, 0.12, 0.2, 0.4)
    at = float(rng.uniform(0.15, 0.85))
    t.moves = (lambda x: 1.0 + change * x) if rng.random() < 0.5 else (lambda x: 1.0 + change * (x > at))


FAULTS = {
    "module gain": _module_gain, "sensor lost sensitivity": _sensor_lost, "another sensor": _another_sensor,
    "range step": _range_step, "open leg": _open_leg, "detector mix-up": _detector, "unit mix-up": _unit,
    "mains pick-up": _pick_up, "noise floor": _noise, "dead or stuck output": _dead, "zero shift": _zero_shift,
    "saturation": _saturation, "loose mounting": _loose, "leak": _leak, "wrong filter": _filter,
    "wrong integration": _integration, "cracked element": _cracked, "cable strain": _strain,
    "changed damping": _damping, "notch": _notch, "intermittent contact": _intermittent, "gain that moves": _moves,
}  # fmt: skip


def families_of(kind: str) -> tuple[str, ...]:
    """The faults that a channel of a kind can have."""
    _, _, _, _, _, _, zero, _ = _PLANTS[kind]
    never = {"two-wire loop": {"open leg"}, "displacement": {"cracked element", "leak", "cable strain"}}.get(
        kind, set()
    )
    never = never | (set() if zero else {"zero shift"}) | (set() if kind == "moving coil" else {"changed damping"})
    return tuple(name for name in FAULTS if name not in never)


# what no family knows


def _ripple(t, p, rng):
    for _ in range(4):
        _peak(t, p, rng)


def _peak(t, p, rng):
    low, high = 1.3 * (p.channel.band.corner_low_hz or 10.0), 0.8 * p.channel.band.corner_high_hz
    w = 2.0 * np.pi * float(np.exp(rng.uniform(math.log(low), math.log(high))))
    v, q = w * float(rng.uniform(1.15, 1.5)), float(rng.uniform(0.1, 0.3))
    t.extra.append(([1.0, q * v, v * v], [1.0, q * w, w * w]))
    t.extra[-1] = ([c * (w / v) ** 2 for c in t.extra[-1][0]], t.extra[-1][1])


def _dead_zone(t, p, rng):
    width = float(rng.uniform(0.02, 0.06))
    t.bend = lambda a: max(a - width, 0.1 * a)


def _power(t, p, rng):
    power = float(rng.choice([0.85, 0.9, 1.1, 1.15]))
    t.bend = lambda a: 0.4 * (a / 0.4) ** power


def _scatters(t, p, rng):
    t.scatter = float(rng.uniform(0.06, 0.2))


def _two_gains(t, p, rng):
    at, change = float(rng.uniform(0.15, 0.5)), 1.0 + _sign(rng) * float(rng.uniform(0.12, 0.35))
    t.bend = lambda a: a * (change if a > at else 1.0)


UNKNOWN = {
    "ripple": _ripple, "peak and dip": _peak, "dead zone": _dead_zone, "power of the level": _power,
    "scatters everywhere": _scatters, "two gains by level": _two_gains,
}  # fmt: skip


class Visit:
    """Readings of one channel with the errors of one visit; ``place`` is how much of it is over."""

    def __init__(self, plant: Plant, truth: Truth, rng: np.random.Generator) -> None:
        self.plant, self.truth, self.rng = plant, truth, rng
        half = lambda h: rng.uniform(-h, h)  # noqa: E731
        self.common = rng.normal(0, 0.005) + half(0.0007) + rng.normal(0, 0.001) + half(0.002)
        self.own: dict[tuple[bool, float], float] = {}

    def take_all(self) -> list[Reading]:
        p = self.plant
        wanted = [("linearity", level, hz) for hz, levels in p.lines for level in levels]
        wanted += [("band-response", p.band_level, hz) for hz in p.band_hz]
        wanted += [("sensor-alone", 10.0, hz) for hz in p.sensor_hz]
        return [self._read(i, len(wanted), *row) for i, row in enumerate(wanted)]

    def _read(self, i: int, count: int, test: str, target: float, hz: float) -> Reading:
        channel, truth, rng = self.plant.channel, self.truth, self.rng
        alone = test == "sensor-alone"
        part, place, hz = (channel.sensor if alone else channel), i / max(count - 1, 1), round(hz, 2)
        true = target * (1.0 + rng.uniform(-0.01, 0.01))
        scale = channel.full_scale
        shown = true * self._sensor(hz, alone=True) if alone else scale * self._channel(true / scale, hz, place)
        key = (alone, round(math.log(hz), 2))
        if key not in self.own:
            self.own[key] = sum(rng.uniform(-h, h) for h in (0.002, 0.003, 0.001))
        error = self.common + self.own[key] + rng.normal(0, 0.002) + rng.uniform(-0.001, 0.001)
        error += (truth.strain * min(1.0, 80.0 / hz) + truth.scatter) * rng.standard_normal()
        decimals = 3 if part.output_unit.symbol == "mA" else 2
        zero = 0.0 if alone else channel.output_zero
        return Reading(
            row=i + 2, channel=channel.tag, test=test, condition="as-found", frequency_hz=hz,
            applied=round(true * truth.written.get(test, 1.0), 3), applied_unit=part.input_unit, applied_decimals=3,
            output=round(zero + part.nominal_sensitivity * shown * (1.0 + error), decimals),
            output_unit=part.output_unit, output_decimals=decimals,
        )  # fmt: skip

    def _sensor(self, hz: float, *, alone: bool) -> float:
        t = self.truth
        w = 2.0 * np.pi * t.resonance_hz
        gain = t.sensor * _at(([w * w], [1.0, w / t.quality, w * w]), hz)
        if t.leak_hz and (t.leak_seen_alone or not alone):
            gain *= _at(([1.0, 0.0], [1.0, 2.0 * np.pi * t.leak_hz]), hz)
        return gain

    def _channel(self, level: float, hz: float, place: float) -> float:
        t, rng = self.truth, self.rng
        a = level * self._sensor(hz, alone=False) * t.module * (hz / t.tilt_hz) ** t.tilt
        for (order, corner, kind), nominal in self._filters():
            a *= _shape(t.shape, order, corner, kind, hz) / _shape(t.shape, order, nominal, kind, 80.0)
        for tf in t.extra:
            a *= _at(tf, hz) / (_at(tf, 80.0) if t.names[0] == "ripple" else 1.0)
        a *= 1.0 if t.moves is None else t.moves(place)
        a = a if t.bend is None else t.bend(a)
        if t.loses and rng.random() < t.loses:
            a *= rng.uniform(0.0, 0.85)
        return self._detected(0.0 if t.silent else a, hz) + t.zero

    def _filters(self):
        t, band = self.truth, self.plant.channel.band
        if t.low_hz is not None:
            yield (t.orders[0], t.low_hz, "highpass"), band.corner_low_hz
        yield (t.orders[1], t.high_hz, "lowpass"), band.corner_high_hz

    def _detected(self, a: float, hz: float) -> float:
        """The amplitude of a sine that the detector would read alike."""
        t, rng, p = self.truth, self.rng, self.plant
        wave = a * np.sin(_TURN)
        if a > t.limit and t.limited == "wave":
            wave = np.clip(wave, -t.limit, t.limit)
        power = 2.0 * float(np.mean(wave**2))
        if t.limited == "shown":
            power = min(power, t.limit**2)
        if t.pickup:
            heard = 1.0 if t.broad else _at(([1.0], [1.0, 1.4, 1.0]), abs(hz - p.mains_hz) / 3.0 / (2.0 * np.pi))
            beat = 2.0 * np.pi * (hz - p.mains_hz) * np.linspace(0.0, 4.0, 2048) + rng.uniform(0.0, 2.0 * np.pi)
            power = float(np.mean(np.abs(math.sqrt(power) + t.pickup * heard * np.exp(1j * beat)) ** 2))
        return math.sqrt(power + (t.noise * (1.0 + t.unsteady * rng.standard_normal())) ** 2)


def _at(tf, hz: float) -> float:
    _, response = signal.freqs(*tf, worN=[2.0 * np.pi * hz])
    return float(abs(response[0]))


def _shape(shape: str, order: int, corner: float, kind: str, hz: float) -> float:
    """Magnitude of a filter that is 3 dB down at its corner."""
    if shape == "bessel":
        tf = signal.bessel(order, 1.0, kind, analog=True, norm="mag")
    elif shape == "cheby" and order > 1:
        tf = signal.cheby1(2, 0.4, 1.0, kind, analog=True)
        edge = 1.504 ** (1.0 if kind == "lowpass" else -1.0)  # 3 dB below the response at no frequency
        return float(abs(signal.freqs(*tf, worN=[hz / corner * edge])[1][0])) * 10.0 ** (0.4 / 20.0)
    elif shape == "second":
        tf = ([1.0], [1.0, 2.0 * 0.65, 1.0]) if kind == "lowpass" else ([1.0, 0.0, 0.0], [1.0, 2.0 * 0.65, 1.0])
        edge = 1.0803 ** (1.0 if kind == "lowpass" else -1.0)
        return float(abs(signal.freqs(*tf, worN=[hz / corner * edge])[1][0]))
    else:
        tf = signal.butter(order, 1.0, kind, analog=True)
    return float(abs(signal.freqs(*tf, worN=[hz / corner])[1][0]))


# slips of writing

SLIPS = ("√2", "2", "10", "25.4 or g", "swapped", "stuck")


def slip(readings: list[Reading], which: str, rng: np.random.Generator) -> tuple[list[Reading], tuple[int, ...]]:
    """The table with one row of the first test, or two, written down wrongly; and their rows."""
    first = [i for i, r in enumerate(readings) if r.test == "linearity"]
    i = int(rng.choice(first[1:-1]))
    changed = list(readings)
    zero = 4.0 if readings[i].output_unit.symbol == "mA" else 0.0
    if which == "swapped":
        changed[i] = replace(readings[i], output=readings[i + 1].output)
        changed[i + 1] = replace(readings[i + 1], output=readings[i].output)
        return changed, (readings[i].row, readings[i + 1].row)
    if which == "stuck":
        changed[i] = replace(readings[i], output=readings[i - 1].output)
        return changed, (readings[i].row,)
    factor = {"√2": 2**0.5, "2": 2.0, "10": 10.0}.get(which) or (
        9.80665 if readings[i].applied_unit.quantity == "acceleration" else 25.4
    )
    by = factor ** _sign(rng)
    output = zero + (readings[i].output - zero) * by
    if zero and output > 20.0:
        by = 1.0 / by
    changed[i] = replace(readings[i], applied=round(readings[i].applied / by, 3))
    return changed, (readings[i].row,)


def cases_of(plant: Plant, readings: list[Reading]) -> list[Case]:
    return make_cases(plant, readings)
