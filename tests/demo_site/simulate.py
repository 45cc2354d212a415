"""The readings of a visit as a technician would have written them down."""

from __future__ import annotations

import math
import zlib
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from tests.demo_site import relays
from tests.demo_site.items import sensor_nominal, sensors_before
from tests.demo_site.physics import Chain, observe_channel, observe_module, observe_sensor
from tests.demo_site.site import AssetPlan, VisitPlan
from tests.demo_site.truth import Fault, fault_of

Row = dict[str, str]
REASONS = ("cable touched during the reading", "crane passing, reading taken again", "range wrongly set")


def generator(*words: str) -> np.random.Generator:
    """Random numbers that depend on nothing but ``words``."""
    return np.random.Generator(np.random.PCG64([zlib.crc32(word.encode("utf-8")) for word in words]))


def true_chain(asset: AssetPlan, visit: VisitPlan, channel: str, fault: Fault | None, condition: str) -> Chain:
    """The channel as it really is at a visit: its own constant errors, a little drift, and its fault.

    Another sensor has another constant error, and drifts since it was installed.
    """
    own = generator(asset.tag, channel)
    sensor, module, low, high, resonance, drift = own.uniform(-1.0, 1.0, 6)
    since, done = 2024, sensors_before(asset.tag, channel, visit.day, condition)
    if done:
        since = int(done[-1].day[:4])
        sensor, resonance = generator(asset.tag, channel, "sensor", done[-1].day).uniform(-1.0, 1.0, 2)
    chain = Chain(
        sensor_factor=1.0 + 0.008 * sensor + 0.002 * drift * (visit.year - since),
        module_factor=1.0 + 0.004 * module,
        resonance_hz=asset.resonance_hz * (1.0 + 0.05 * resonance),
        low_hz=asset.corners_hz[0] * (1.0 + 0.015 * low),
        high_hz=asset.corners_hz[1] * (1.0 + 0.015 * high),
        nominal_low_hz=asset.corners_hz[0],
        nominal_high_hz=asset.corners_hz[1],
        reference_hz=asset.reference_hz,
        full_scale=asset.full_scale,
        noise=0.0005 * asset.full_scale,
    )
    return chain if fault is None else replace(chain, **fault.changes)  # type: ignore[arg-type]


def band_frequencies(asset: AssetPlan, channel: str) -> list[float]:
    """Log-spaced frequencies with those that must be there: reference, rotor speeds, corners."""
    speeds = [asset.rotors[name] / 60.0 for name in asset.channels[channel][1]]
    fixed = [asset.reference_hz, *speeds, *asset.corners_hz]
    if asset.tag == "STG-1":
        fixed.append(300.0)
    ratio = asset.span_hz[1] / asset.span_hz[0]
    grid = [float(f"{asset.span_hz[0] * ratio ** (i / 21):.3g}") for i in range(22)]
    return sorted(fixed + [f for f in grid if all(abs(f / g - 1.0) > 0.04 for g in fixed)])


class _Notebook:
    """One channel's readings in one condition."""

    def __init__(self, asset: AssetPlan, visit: VisitPlan, channel: str, condition: str) -> None:
        self.asset, self.visit = asset, visit
        self.tag, self.condition = f"{asset.tag}-{channel}", condition
        self.fault = fault_of(visit.day, self.tag, condition)
        self.chain = true_chain(asset, visit, channel, self.fault, condition)
        self.sensor_nominal = sensor_nominal(asset.tag, channel, visit.day, condition, asset.sensor_nominal)
        self.rng = generator(asset.tag, channel, visit.day, condition)
        # The reference's error is the same for all readings of a visit: that is what `common` means.
        self.reference_error = 0.004 * float(generator("reference", str(visit.year)).uniform(-1.0, 1.0))

    def read(self, test: str, target: float, frequency: float, **more: str) -> Row:
        """Take one reading near the ``target`` level."""
        true = target * (1.0 + 0.01 * float(self.rng.uniform(-1.0, 1.0)))
        applied = true * (1.0 + self.reference_error)
        alone = test == "sensor-alone"
        if alone:
            shown = observe_sensor(self.chain, true, frequency, self.rng) * self.sensor_nominal
        else:
            falling = more.get("direction") == "falling"
            seen = observe_channel(self.chain, true, frequency, self.rng, falling=falling)
            shown = self.asset.zero + self.asset.nominal * seen
            applied *= 1.0 if self.fault is None else self.fault.applied_factor
        units = self.asset.sensor_units if alone else self.asset.units
        return {
            "channel": self.tag,
            "test": test,
            "condition": self.condition,
            "frequency_hz": f"{frequency:.2f}",
            "applied": f"{applied:.{3 if target < 2.0 else 2}f}",
            "applied_unit": units[0],
            "output": f"{shown:.{self.asset.decimals}f}",
            "output_unit": units[1],
            **more,
        }

    def linearity(self, rotors: tuple[str, ...]) -> Iterator[Row]:
        """Levels at each rotor's frequency, once rising or twice rising and falling."""
        for rotor in rotors:
            frequency, levels = self.asset.rotors[rotor] / 60.0, self.asset.levels[rotor]
            for repeat in ("1", "2") if self.visit.cycles else ("",):
                for direction in ("rising", "falling") if self.visit.cycles else ("",):
                    for level in reversed(levels) if direction == "falling" else levels:
                        yield self.read("linearity", level, frequency, direction=direction, repeat=repeat)

    def band(self, frequencies: list[float], disturbed: int | None) -> Iterator[Row]:
        """One level at many frequencies; the ``disturbed`` one is struck out and taken again."""
        for number, frequency in enumerate(frequencies):
            row = self.read("band-response", self.asset.band_level, frequency)
            if number == disturbed:
                wrong = self.asset.zero + (float(row["output"]) - self.asset.zero) * 0.71
                reason = REASONS[self.visit.year % len(REASONS)]
                yield row | {"output": f"{wrong:.{self.asset.decimals}f}", "exclude": reason}
            yield row

    def sensor(self) -> Iterator[Row]:
        """The sensor alone at one level."""
        for frequency in self.asset.sensor_hz:
            yield self.read("sensor-alone", self.asset.sensor_level, frequency)

    def module(self, rotors: tuple[str, ...]) -> Iterator[Row]:
        """Charge injected in place of the sensor, at each rotor's frequency, up to beyond the trip."""
        rng = generator(self.tag, self.visit.day, self.condition, "injected")
        error = 0.002 * float(generator("charge source", str(self.visit.year)).uniform(-1.0, 1.0))
        for rotor in rotors:
            frequency = self.asset.rotors[rotor] / 60.0
            charge = 2.0 * math.pi * frequency / 1000.0 * self.sensor_nominal  # pC per mm/s of vibration
            for level in self.asset.module_levels:
                shown = observe_module(self.chain, level, frequency, rng) * self.asset.nominal
                yield {
                    "channel": self.tag,
                    "test": "module-alone",
                    "condition": self.condition,
                    "frequency_hz": f"{frequency:.2f}",
                    "applied": f"{level * charge * (1.0 + error):.2f}",
                    "applied_unit": "pC pk",
                    "output": f"{shown:.{self.asset.decimals}f}",
                    "output_unit": self.asset.units[1],
                }


def simulate_visit(asset: AssetPlan, visit: VisitPlan) -> list[Row]:
    """All rows of a visit: as-found channel by channel, as-left what was mended, then modules by themselves."""
    rows: list[Row] = []
    for number, channel in enumerate(asset.channels):
        disturbed = 7 if number == visit.year % len(asset.channels) else None
        rows += _read_channel(asset, visit, channel, "as-found", disturbed)
    for channel in asset.channels:
        fault = fault_of(visit.day, f"{asset.tag}-{channel}")
        if fault is not None and fault.mended is not None:
            rows += _read_channel(asset, visit, channel, "as-left", None)
    for channel in visit.injected:
        fault = fault_of(visit.day, f"{asset.tag}-{channel}")
        for condition in ("as-found", "as-left") if fault is not None and fault.mended else ("as-found",):
            rows += _Notebook(asset, visit, channel, condition).module(asset.channels[channel][1])
    if (asset.tag, visit.day) == (relays.ASSET, relays.DAY):
        rows += _relays(asset, visit)
    rows[0]["note"] = visit.note
    return rows


def _relays(asset: AssetPlan, visit: VisitPlan) -> Iterator[Row]:
    """The rows of display, relays, votes and electrical health, at the motor's speed."""
    for channel in relays.VOTING:
        notebook = _Notebook(asset, visit, channel, "as-found")
        rng = generator(notebook.tag, visit.day, "relays")
        frequency = asset.rotors["motor"] / 60.0
        yield from relays.relay_rows(channel, notebook.chain, frequency, rng, notebook.reference_error)
    yield from relays.voting_rows()


def _read_channel(
    asset: AssetPlan, visit: VisitPlan, channel: str, condition: str, disturbed: int | None
) -> Iterator[Row]:
    notebook = _Notebook(asset, visit, channel, condition)
    yield from notebook.linearity(asset.channels[channel][1])
    yield from notebook.band(band_frequencies(asset, channel), disturbed)
    if asset.sensor is not None:
        yield from notebook.sensor()
