"""The auxiliary train of the invented site: four shaft probes with their gap curves, two moving coils.

Its physics: a probe's voltage falls with the gap and saturates at either end; a moving coil is a mass on a spring with
damping. Which is off, and when, stands in `TRAIN_FAULTS` and nowhere in the data.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.demo_site.simulate import Row, generator
from tests.demo_site.site import FIRST_LINE

TAG = "AUX-4"
VISITS = (("2025-05-20", "Technician B", 21.0), ("2026-06-02", "Technician A", 20.5))
PROBES = {
    "X11": "Drive-end bearing, 45° left",
    "Y11": "Drive-end bearing, 45° right",
    "X21": "Far-end bearing, 45° left",
    "Y21": "Far-end bearing, 45° right",
}
COILS = {"C31": "Motor foot, vertical", "C32": "Pump foot, vertical"}
GAPS_MM = np.arange(0.25, 2.51, 0.25)
SPEED_HZ = 1490.0 / 60.0
PROBE_LEVELS_UM = (20.0, 40.0, 60.0, 80.0, 100.0, 120.0)
COIL_LEVELS = (1.0, 3.0, 6.0, 10.0, 15.0, 20.0)
COIL_HZ = (4, 5, 6.3, 8, 10, 12.5, 16, 20, 25, 31.5, 50, 80, 125, 200, 315, 500)
PHASE_SINCE = "2026-01-01"  # since when phases are read
SHOT, SET_BY = 0.0004, 0.0008  # mm: what a micrometer does not repeat, and how far its thread is off at most
TRAIN_FAULTS = {
    ("2026-06-02", "X21"): {"far_mm": 0.11, "mended": True},  # a probe that saturates early
    ("2026-06-02", "C32"): {"damping": 0.36, "reversed": True, "mended": False},  # resistor gone, leads crossed
}


@dataclass(frozen=True, kw_only=True)
class Probe:
    """An eddy-current probe with its cable and converter: slope in V/mm, where it bends, in mm."""

    slope: float
    first: float
    near_mm: float
    far_mm: float

    def voltage(self, gap_mm: np.ndarray) -> np.ndarray:
        """Voltage at gaps, shape (n,)."""
        bend = self.near_mm * np.exp(-(gap_mm - 0.25) / 0.2) - self.far_mm * np.exp((gap_mm - 2.5) / 0.25)
        return self.first + self.slope * (gap_mm - 0.25 + bend)


@dataclass(frozen=True, kw_only=True)
class Coil:
    """A moving coil: sensitivity in mV/(mm/s), natural frequency in Hz, damping ratio."""

    sensitivity: float
    natural_hz: float
    damping: float
    reversed: bool = False

    def phase_deg(self, hz: float) -> float:
        """Phase of the output against velocity in degrees; a lead is positive."""
        r = hz / self.natural_hz
        return math.degrees(math.atan2(2.0 * self.damping * r, r**2 - 1.0)) - (180.0 if self.reversed else 0.0)

    def response(self, hz: float) -> float:
        """Output in mV for 1 mm/s at a frequency."""
        r = hz / self.natural_hz
        return self.sensitivity * r**2 / math.hypot(1.0 - r**2, 2.0 * self.damping * r)


def probe_of(name: str, day: str, condition: str) -> Probe:
    """The probe as it really is at a visit."""
    own = generator(TAG, name)
    slope, first, near, far = own.uniform(-1.0, 1.0, 4)
    fault = TRAIN_FAULTS.get((day, name), {}) if condition == "as-found" else {}
    return Probe(
        slope=-7.87 * (1.0 + 0.012 * slope),
        first=-1.6 + 0.2 * first,
        near_mm=0.003 + 0.002 * near,
        far_mm=float(fault.get("far_mm", 0.006 + 0.003 * far)),
    )


def coil_of(name: str, day: str) -> Coil:
    """The moving coil as it really is at a visit."""
    sensitivity, natural, damping = generator(TAG, name).uniform(-1.0, 1.0, 3)
    fault = TRAIN_FAULTS.get((day, name), {})
    return Coil(
        sensitivity=20.0 * (1.0 + 0.01 * sensitivity),
        natural_hz=10.0 * (1.0 + 0.03 * natural),
        damping=float(fault.get("damping", 0.68 + 0.02 * damping)),
        reversed=bool(fault.get("reversed", False)),
    )


def simulate_train(day: str) -> list[Row]:
    """All rows of a visit to the train: as found, then as left what was mended."""
    rows: list[Row] = []
    for name in PROBES:
        rows += _probe_rows(name, day, "as-found")
    for name in COILS:
        rows += _coil_rows(name, day)
    for (when, name), fault in TRAIN_FAULTS.items():
        if when == day and fault["mended"]:
            rows += _probe_rows(name, day, "as-left")
    return rows


def _row(name: str, test: str, condition: str, **cells: str) -> Row:
    return {"channel": f"{TAG}-{name}", "test": test, "condition": condition, **cells}


def _probe_rows(name: str, day: str, condition: str) -> Iterator[Row]:
    rng, probe = generator(TAG, name, day, condition), probe_of(name, day, condition)
    thread = SET_BY * generator("micrometer", day[:4]).uniform(-1.0, 1.0, GAPS_MM.size)
    for direction, order, backlash in (("rising", 1, 0.0), ("falling", -1, 0.0025)):
        for place in range(GAPS_MM.size)[::order]:
            true = GAPS_MM[place] + thread[place] + backlash + SHOT * rng.standard_normal()
            yield _row(
                name, "gap-curve", condition, frequency_hz="", applied=f"{GAPS_MM[place]:.2f}", applied_unit="mm",
                output=f"{probe.voltage(np.array([true]))[0]:.3f}", output_unit="V dc", direction=direction,
            )  # fmt: skip
    error = 1.0 + 0.004 * float(generator("reference", day[:4]).uniform(-1.0, 1.0))
    ends = probe.voltage(np.array([1.2, 1.3]))
    slope = float(ends[1] - ends[0]) / 0.1  # V/mm about the gap at which the probe stands
    for level in PROBE_LEVELS_UM:
        true = level * (1.0 + 0.01 * float(rng.uniform(-1.0, 1.0)))
        output = abs(slope) * true * (1.0 + 0.001 * float(rng.standard_normal()))
        yield _row(
            name, "linearity", condition, frequency_hz=f"{SPEED_HZ:.2f}", applied=f"{true * error:.2f}",
            applied_unit="um pkpk", output=f"{output:.1f}", output_unit="mV pkpk", direction="",
        )  # fmt: skip


def _coil_rows(name: str, day: str) -> Iterator[Row]:
    rng, coil = generator(TAG, name, day), coil_of(name, day)
    shift = generator(TAG, name, day, "phase")
    error = 1.0 + 0.004 * float(generator("reference", day[:4]).uniform(-1.0, 1.0))
    runs = [("linearity", SPEED_HZ, level) for level in COIL_LEVELS]
    runs += [("sensor-alone", float(hz), 5.0 if hz >= 8 else 2.0) for hz in COIL_HZ]
    for test, hz, level in runs:
        true = level * (1.0 + 0.01 * float(rng.uniform(-1.0, 1.0)))
        output = coil.response(hz) * true * (1.0 + 0.001 * float(rng.standard_normal()))
        cells = {}
        if day >= PHASE_SINCE:
            read = coil.phase_deg(hz) + 0.2 * float(shift.standard_normal())
            cells["phase_deg"] = f"{read:.1f}" if test == "sensor-alone" else ""
        yield _row(
            name, test, "as-found", frequency_hz=f"{hz:.2f}", applied=f"{true * error:.3f}", applied_unit="mm/s pk",
            output=f"{output:.2f}", output_unit="mV pk", direction="", **cells,
        )  # fmt: skip


KINDS = """
[shaft-probe]
input_unit = "um pkpk"
output_unit = "mV pkpk"
nominal_sensitivity = 7.87
tolerance_pct = 5.0
nonlinearity_pct = 2.0
alert = 75
trip = 110
full_scale = 150
moving_mass_kg = 0.1

[shaft-probe.gap_curve]
input_unit = "mm"
output_unit = "V dc"
nominal_sensitivity = -7.87
range = [0.25, 2.25]
step = 0.25
incremental_pct = 5.0
deviation_um = 25.4
rest_gap = 1.25
rest_voltage = [-11.5, -7.5]
target = "42CrMo4, flat"

[moving-coil]
input_unit = "mm/s pk"
output_unit = "mV pk"
nominal_sensitivity = 20.0
tolerance_pct = 5.0
alert = 7.1
trip = 11.0
full_scale = 25.0
moving_mass_kg = 0.4

[moving-coil.sensor]
input_unit = "mm/s pk"
output_unit = "mV pk"
nominal_sensitivity = 20.0
tolerance_pct = 5.0
reference_hz = 80
flat_hz = [20, 500]
flat_pct = 5.0
natural_frequency_hz = [9.0, 11.0]
damping_ratio = [0.6, 0.8]

[moving-coil.from.2026-01-01.sensor.phase]
polarity = "+"
limits = [{ hz = 80, min_deg = 0, max_deg = 20 }]
"""
"""What the train's channels share."""


def micrometers_text() -> str:
    """The micrometers of the site's equipment: one entry a certificate."""
    return "\n".join(
        f'[[reference]]\nid = "MIC-{year}"\nkind = "micrometer with a holder for probes"\nserial = "KF-2204"\n'
        f'quantity = "displacement"\ncalibrated = 20{year - 1}-09-15\ndue = 20{year}-09-14\n'
        "expanded_um = 2.0\nk = 2\n"
        for year in (25, 26)
    )


def write_train(out: Path) -> None:
    """Write the train's files below the site's folder."""
    _write(out / TAG / "asset.toml", _asset_text())
    for day, performed_by, ambient_c in VISITS:
        year = day[2:4]
        _write(
            out / TAG / day / "visit.toml",
            f'{FIRST_LINE}\ndate = {day}\nperformed_by = "{performed_by}"\nreviewed_by = "Engineer D"\n'
            f'ambient_c = {ambient_c}\nequipment = ["REF-{year}", "DVM-{year}", "MIC-{year}"]\n'
            '\n[decision]\nrule = "simple"\n',
        )
        rows = simulate_train(day)
        columns = list(dict.fromkeys(column for row in rows for column in row))
        lines = [",".join(columns), *(",".join(row.get(column, "") for column in columns) for row in rows)]
        _write(out / TAG / day / "readings.csv", "\n".join(lines) + "\n")


def _asset_text() -> str:
    lines = [f'{FIRST_LINE}\n[asset]\ntag = "{TAG}"\nname = "Auxiliary train, condensate pump"\n\n[rotors]\n']
    lines.append('"pump" = { speed_rpm = 1490 }\n')
    for channels, kind, part, item in (
        (PROBES, "shaft-probe", "sensor", "eddy-current probe, 8 mm tip"),
        (COILS, "moving-coil", "sensor", "moving-coil velocity sensor"),
    ):
        for name, location in channels.items():
            lines.append(
                f'\n[channels.{TAG}-{name}]\nkind = "{kind}"\nlocation = "{location}"\nrotors = ["pump"]\n'
                f"[channels.{TAG}-{name}.items]\n{part} = "
                f'{{ serial = "S-4{name[1:]}{"P" if channels is PROBES else "M"}{name[0]}", type = "{item}" }}\n'
            )
    return "".join(lines)


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode("utf-8"))
