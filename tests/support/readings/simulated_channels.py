"""Visits to channels whose truth is known: what the channel does, what the kit gets wrong, what is written down.

Nothing here is the package's: filters are scipy.signal's (``tests.support.readings.filters``), errors are drawn one by
one in the sizes that a kit's certificates and judgement give, and outcomes are rows of text as a person types them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy import optimize

from tests.support.readings.filters import FilteredBand, butter
from tests.support.sites.plants import ASSET, EQUIPMENT

SECOND = butter(2)
TAG = "STG-1-V11"
SPEEDS_HZ = {"turbine": 50.0, "pinion": 149.0}
SET_POINTS = {"alert": 11.0, "trip": 18.0}
NOMINAL, REFERENCE_HZ = 4.0, 80.0
LEVELS = {"turbine": (2.0, 5.0, 10.0, 15.0, 20.0), "pinion": (1.3, 3.2, 6.3, 9.5, 12.6)}
BAND_HZ = np.unique(np.round(np.append(np.geomspace(8, 1000, 25), [50, 80, 149, 20, 400]), 1))
SENSOR_HZ = np.array([20, 30, 50, 80, 100, 160, 250, 315, 400])
YEARS = 129 / 365.25  # from the calibration to the visit of the small site
TWO_ROTORS = ASSET.replace("rotors]\n", "rotors]\npinion = { speed_rpm = 8940 }\n").replace(
    'rotors = ["turbine"]', 'rotors = ["turbine", "pinion"]'
)


@dataclass(frozen=True, kw_only=True)
class Kit:
    """How the readings are taken, and what the certificate's error does over frequency.

    ``own_share`` of the certificate's variance differs from one of its bands to the next, each ``octaves`` wide (0:
    from frequency to frequency); ``correlation`` is what equipment.toml states of it. Numbers are shown with ``digits``
    significant digits, or with two decimals where it is None. Each level is read ``repeats`` times; readings of levels
    scatter by ``scatter``, a ratio, those over frequency by 0.002.
    """

    own_share: float = 0.5
    octaves: float = 0.0
    correlation: float | None = None
    digits: int | None = None
    repeats: int = 1
    scatter: float = 0.002

    @property
    def equipment(self) -> str:
        stated = "" if self.correlation is None else f"correlation = {self.correlation:g}\n"
        return EQUIPMENT.replace("[[readout]]", f"{stated}[[readout]]")

    def written(self, value: float) -> str:
        """A number as the display shows it."""
        if self.digits is None:
            return f"{value:.2f}"
        return f"{value:.{max(self.digits - 1 - math.floor(math.log10(abs(value))), 0)}f}"


@dataclass(frozen=True, kw_only=True)
class Truth:
    """A channel: ``gain`` on its plateau (nominal 1), corners in Hz of second-order filters, sensor (nominal 1).

    ``sag`` is what a soft saturation takes off the output at the trip level, a ratio; it grows with the level's square.
    """

    gain: float
    low: float
    high: float
    sensor: float = 1.0
    sag: float = 0.0

    @cached_property
    def band(self) -> FilteredBand:
        return FilteredBand((SECOND, self.low), (SECOND, self.high))

    @cached_property
    def sensitivities(self) -> dict[float, float]:
        """Output over level at low levels, by frequency."""
        hz = np.array([*BAND_HZ, *SENSOR_HZ, *SPEEDS_HZ.values(), REFERENCE_HZ])
        return dict(zip(hz.tolist(), (NOMINAL * self.gain * np.abs(self.band.response(hz))).tolist(), strict=True))

    def sensitivity(self, hz: float) -> float:
        """Output over level at low levels, at one of the frequencies that are read."""
        return self.sensitivities[float(hz)]

    def output(self, level: float, hz: float) -> float:
        return level * self.sensitivity(hz) * (1.0 - self.sag * (level / SET_POINTS["trip"]) ** 2)

    def acts_at(self, set_level: float, hz: float) -> float | None:
        """The level that gives the output which a nominal channel gives at ``set_level``; None where none does."""
        wanted = NOMINAL * set_level
        if not self.sag:
            return wanted / self.sensitivity(hz)
        peak = SET_POINTS["trip"] / math.sqrt(3.0 * self.sag)
        if self.output(peak, hz) < wanted:
            return None
        return float(optimize.brentq(lambda x: self.output(x, hz) - wanted, 0.0, peak))


class Errors:
    """The errors of one visit as ratios: of the certificate, of instruments and mounting, of single readings."""

    def __init__(self, kit: Kit, rng: np.random.Generator) -> None:
        self.kit, self.rng = kit, rng
        certificate = 0.0075  # 1.5 % with k = 2
        self.own = math.sqrt(kit.own_share) * certificate
        self.common = rng.normal(0, math.sqrt(1.0 - kit.own_share) * certificate) + self._even(0.002 * YEARS)
        self.common += rng.normal(0, 0.001) + self._even(0.001 * YEARS) + self._even(0.002)  # readout, temperature
        self.bands: dict[object, float] = {}
        self.mounted: dict[float, float] = {}

    def _even(self, half: float) -> float:
        return float(self.rng.uniform(-half, half))

    def _of_band(self, hz: float) -> float:
        band = math.floor(math.log2(hz / 1.1) / self.kit.octaves) if self.kit.octaves else hz
        if band not in self.bands:
            self.bands[band] = float(self.rng.normal(0, self.own))
        return self.bands[band]

    def of_reading(self, hz: float, *, scatter: float = 0.002) -> float:
        """Factor between the output that is read and the true one at the level that is read."""
        if hz not in self.mounted:
            self.mounted[hz] = self._even(0.002) + self._even(0.003) + self._even(0.001)
        own = float(self.rng.normal(0, scatter)) + self._even(0.001)
        return 1.0 + self.common + self._of_band(hz) + self.mounted[hz] + own


def write_rows(truth: Truth, kit: Kit, rng: np.random.Generator, *, tests: Sequence[str], levels=LEVELS) -> list[str]:
    """The reading table of one visit; the shaker settles within 1 % of its target, and the display shows where."""
    errors = Errors(kit, rng)
    rows = [*_linearity(truth, kit, errors, levels)] if "linearity" in tests else []
    rows += _band(truth, kit, errors) if "band-response" in tests else []
    return [*rows, *_sensor(truth, kit, errors)] if "sensor-alone" in tests else rows


def _row(kit: Kit, test: str, hz: float, level: float, output: float, units: tuple[str, str], repeat: object) -> str:
    x, y = kit.written(level), kit.written(output)
    return f"{TAG},{test},as-found,{hz:g},{x},{units[0]},{y},{units[1]},,{repeat},,"


def _linearity(truth: Truth, kit: Kit, errors: Errors, levels) -> Iterator[str]:
    for rotor, targets in levels.items():
        hz = SPEEDS_HZ[rotor]
        for target in targets:
            for number in range(kit.repeats):
                x = target * errors.rng.normal(1.0, 0.005)
                y = truth.output(x, hz) * errors.of_reading(hz, scatter=kit.scatter)
                repeat = number + 1 if kit.repeats > 1 else ""
                yield _row(kit, "linearity", hz, x, y, ("mm/s pk", "mV pk"), repeat)


def _band(truth: Truth, kit: Kit, errors: Errors) -> Iterator[str]:
    for hz in BAND_HZ:
        x = 12.0 * errors.rng.normal(1.0, 0.01)
        y = x * truth.sensitivity(hz) * errors.of_reading(hz)
        yield _row(kit, "band-response", hz, x, y, ("mm/s pk", "mV pk"), "")


def _sensor(truth: Truth, kit: Kit, errors: Errors) -> Iterator[str]:
    for hz in SENSOR_HZ:
        x = 20.0 * errors.rng.normal(1.0, 0.01)
        y = x * 5.0 * truth.sensor * errors.of_reading(hz)
        yield _row(kit, "sensor-alone", hz, x, y, ("m/s2 pk", "pC pk"), "")
