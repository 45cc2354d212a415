"""Good reading tables, and the same with one slip of writing in them, as a person makes it.

The tables are those of healthy channels of ``simulated_faults`` (filters and waveforms by scipy.signal), written in
the units of several trades, in several orders, whole or half filled. A slip changes what is written, and nothing else.
It is planted only where it moves a reading by more than a tenth, or a frequency by more than a twentieth: a smaller one
lies within the tolerances of the trade, and no one could see it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from tests.benchmarks.truth.simulated_faults import Plant, Truth, Visitor, draw_plant, draw_truth, make_cases
from vibcal_nb.model.asset import Rotor
from vibcal_nb.model.case import Case
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import convert, parse_unit

STYLES = {
    "mm/s": ("mm/s pk", "mm/s rms", "in/s pk", "g pk", "um pkpk", "mil pkpk"),
    "m/s2": ("m/s2 pk", "g pk", "g rms"),
}
PLANTED = (
    "factor 10", "factor 100", "factor √2", "factor 2√2", "factor 2", "factor 9.80665", "factor 25.4",
    "run √2", "run 2√2", "run 2", "run 10", "run 100", "run 9.80665", "run 25.4",
    "outside", "digits", "swapped", "stuck", "row before", "frequency", "frequency run", "unit", "unit run", "nominal",
)  # fmt: skip
FACTORS = {"10": 10.0, "100": 100.0, "√2": 2**0.5, "2√2": 8**0.5, "2": 2.0, "9.80665": 9.80665, "25.4": 25.4}
VISIBLE = math.log(1.1)


def good_table(rng: np.random.Generator) -> list[Case]:
    """The cases of one healthy channel within its limits, with whatever habit of writing."""
    while True:
        plant = draw_plant(rng, full=bool(rng.random() < 0.6))
        cases = _written(plant, draw_truth(plant, "healthy", 0, rng), rng)
        if all(_is_within(case, reading) for case in cases for reading in case.readings):
            return cases


def _is_within(case: Case, reading: Reading) -> bool:
    """Whether a reading lies within what the channel states: 5 % on a line, in the flat part, alone; the corners in dB.

    Worked out here from the units' factors; the tolerance of the sensitivity is added to that of the response.
    """
    channel, hz = case.channel, reading.frequency_hz
    level = convert(reading.applied, reading.applied_unit, case.input_unit, frequency_hz=hz)
    ratio = (reading.output - case.output_zero) / (case.nominal_sensitivity * level)
    if case.test == "sensor-alone":
        return 0.95 * 0.95 < ratio < 1.05 * 1.05
    if case.test == "linearity":
        return 0.95 < ratio < 1.05
    band = channel.band
    if band.flat_hz[0] <= hz <= band.flat_hz[1]:
        return 0.95 * 0.95 < ratio < 1.05 * 1.05
    at_corner = any(abs(hz / corner - 1.0) < 0.01 for corner in (band.corner_low_hz, band.corner_high_hz))
    return not at_corner or 10 ** (-4 / 20) * 0.95 < ratio < 10 ** (-2 / 20) * 1.05


def faulty_table(rng: np.random.Generator, family: str) -> list[Case]:
    """The cases of one channel with a fault, and no slip."""
    plant = draw_plant(rng, full=bool(rng.random() < 0.6))
    return _written(plant, draw_truth(plant, family, int(rng.integers(3)), rng), rng)


def _written(plant: Plant, truth: Truth, rng: np.random.Generator) -> list[Case]:
    named = tuple(Rotor(name=f"rotor {i}", speed_hz=hz) for i, hz in enumerate(plant.rotors))
    plant = replace(plant, channel=replace(plant.channel, rotors=named))
    readings = Visitor(plant, truth, rng).take_all()
    if rng.random() < 0.3:
        readings = _reference_first(readings, plant)
    elif rng.random() < 0.15:
        readings = _falling_frequencies(readings)
    unit = str(rng.choice(STYLES[plant.channel.input_unit.symbol]))
    if rng.random() < 0.4:
        readings = [_in_unit(reading, unit) for reading in readings]
    if rng.random() < 0.15:
        readings = readings[: max(3, int(rng.uniform(0.2, 1.0) * len(readings)))]
    return make_cases(plant, [replace(reading, row=row) for row, reading in enumerate(readings, start=2)])


def _reference_first(readings: list[Reading], plant: Plant) -> list[Reading]:
    reference = plant.channel.band.reference_hz
    return sorted(
        readings, key=lambda r: (_ORDER[r.test], r.test != "linearity" and abs(r.frequency_hz / reference - 1) > 0.01)
    )


_ORDER = {"linearity": 0, "band-response": 1, "sensor-alone": 2}


def _falling_frequencies(readings: list[Reading]) -> list[Reading]:
    lines = [r for r in readings if r.test == "linearity"]
    sweeps = sorted((r for r in readings if r.test != "linearity"), key=lambda r: (_ORDER[r.test], -r.frequency_hz))
    return lines + sweeps


def _in_unit(reading: Reading, text: str) -> Reading:
    if reading.test == "sensor-alone":
        return reading
    unit = parse_unit(text)
    value = convert(reading.applied, reading.applied_unit, unit, frequency_hz=reading.frequency_hz)
    decimals = max(0, 3 - math.floor(math.log10(value)))
    return replace(reading, applied=round(value, decimals), applied_unit=unit, applied_decimals=decimals)


class NoPlaceError(LookupError):
    """The table has no row in which the slip could be seen."""


def plant_slip(cases: list[Case], kind: str, rng: np.random.Generator) -> tuple[list[Case], set[int], float | None]:
    """Return the cases with one slip, the rows that it is in, and its factor where it has one."""
    case = cases[int(rng.integers(len(cases)))]
    if kind in ("swapped", "stuck", "row before"):
        case = next((c for c in cases if c.test == "linearity"), case)
    if kind == "nominal":
        return _nominal(cases, rng)
    for _ in range(40):
        changed, factor = _PLANT[kind.split()[0] if kind != "row before" else kind](case, kind, rng)
        if changed:
            new = tuple(changed.get(r.row, r) for r in case.readings)
            return [replace(c, readings=new) if c is case else c for c in cases], set(changed), factor
        case = cases[int(rng.integers(len(cases)))]
    raise NoPlaceError(kind)


def _some_row(case: Case, rng: np.random.Generator) -> Reading:
    return case.readings[int(rng.integers(len(case.readings)))]


def _some_run(case: Case, rng: np.random.Generator) -> tuple[Reading, ...]:
    """Two rows or more, less than half of the case."""
    n = len(case.readings)
    if n < 6:
        return ()
    length = int(rng.integers(2, max(3, (n + 1) // 2)))
    first = int(rng.integers(0, n - length + 1))
    return case.readings[first : first + length]


def _multiplied(reading: Reading, factor: float, field: str) -> Reading:
    decimals = getattr(reading, f"{field}_decimals")
    value = getattr(reading, field) * factor
    digits = max(decimals, 3 - math.floor(math.log10(abs(value))))
    return replace(reading, **{field: round(value, digits), f"{field}_decimals": digits})


def _field(case: Case, factor: float, rng: np.random.Generator) -> str:
    """Outputs of direct current are read with a live zero: no detector, gravity or inch multiplies them."""
    decimal = math.log10(factor) % 1 == 0
    if factor in (9.80665, 25.4) or (case.output_unit.detector == "dc" and not decimal):
        return "applied"
    return str(rng.choice(["applied", "output"]))


def _factor(case, kind, rng):
    factor = FACTORS[kind.split()[1]]
    if rng.random() < 0.5:
        factor = 1.0 / factor
    reading = _some_row(case, rng)
    if factor_is_alien(kind, reading):
        return {}, None
    changed = _multiplied(reading, factor, _field(case, FACTORS[kind.split()[1]], rng))
    return {reading.row: changed}, factor


def _run(case, kind, rng):
    factor = FACTORS[kind.split()[1]]
    field = _field(case, factor, rng)
    if rng.random() < 0.5:
        factor = 1.0 / factor
    readings = _some_run(case, rng)
    if not readings or factor_is_alien(kind, readings[0]):
        return {}, None
    return {r.row: _multiplied(r, factor, field) for r in readings}, factor


def factor_is_alien(kind: str, reading: Reading) -> bool:
    """Nobody mixes up inches where an acceleration is written, nor gravity where none is."""
    acceleration = reading.applied_unit.quantity == "acceleration"
    return acceleration if kind.endswith("25.4") else kind.endswith("9.80665") and not acceleration


def _outside(case, kind, rng):
    """A reading that is held within limits, and is moved beyond them."""
    reading = _some_row(case, rng)
    band = case.channel.band
    low, high = band.flat_hz if case.test == "band-response" else (0.0, math.inf)
    if not low <= reading.frequency_hz <= high:
        return {}, None
    by = math.exp(rng.choice([-1, 1]) * rng.uniform(0.18, 0.3))
    zero = case.output_zero
    value = round(zero + (reading.output - zero) * by, reading.output_decimals)
    return {reading.row: replace(reading, output=value)}, None


def _digits(case, kind, rng):
    reading = _some_row(case, rng)
    text = f"{reading.output:.{reading.output_decimals}f}"
    spots = [i for i in range(len(text) - 1) if text[i : i + 2].isdigit() and text[i] != text[i + 1]]
    spots = [i for i in spots if i or text[1] != "0"]
    if not spots:
        return {}, None
    i = int(rng.choice(spots))
    value = float(text[:i] + text[i + 1] + text[i] + text[i + 2 :])
    zero = case.output_zero
    if value <= zero or abs(math.log((value - zero) / (reading.output - zero))) < VISIBLE + 0.06:
        return {}, None
    return {reading.row: replace(reading, output=value)}, None


def _moves(case: Case, first: Reading, second: Reading) -> bool:
    """Whether an output of the one would be seen in the other's row."""
    zero = case.output_zero
    same = first.frequency_hz == second.frequency_hz
    levels = abs(math.log(first.applied / second.applied)) if same else 0.0
    return same and levels > VISIBLE and min(first.output, second.output) > zero


def _swapped(case, kind, rng):
    if case.test != "linearity":
        return {}, None
    i = int(rng.integers(len(case.readings) - 1)) if len(case.readings) > 1 else 0
    pair = case.readings[i : i + 2]
    if len(pair) < 2 or not _moves(case, *pair):
        return {}, None
    a, b = pair
    return {a.row: replace(a, output=b.output), b.row: replace(b, output=a.output)}, None


def _stuck(case, kind, rng):
    changed, _ = _swapped(case, kind, rng)
    if not changed:
        return {}, None
    a, b = (r for r in case.readings if r.row in changed)
    if rng.random() < 0.3 and case.test == "linearity":
        return {b.row: replace(b, applied=a.applied)}, None
    return {b.row: replace(b, output=a.output)}, None


def _row_before(case, kind, rng):
    """One value written twice, and all that follow one row too low, to the end of the frequency or a while."""
    readings = [r for r in case.readings if r.frequency_hz == case.readings[0].frequency_hz]
    if case.test != "linearity" or len(readings) < 5:
        return {}, None
    first = int(rng.integers(1, len(readings) - 2))
    last = int(rng.integers(first + 2, len(readings)))
    while last > first and not _moves(case, readings[last], readings[last - 1]):
        last -= 1
    while first < last and not _moves(case, readings[first], readings[first - 1]):
        first += 1
    pairs = list(zip(readings[first : last + 1], readings[first - 1 : last], strict=True))
    if sum(_moves(case, a, b) for a, b in pairs) < 3:
        return {}, None
    return {own.row: replace(own, output=before.output) for own, before in pairs}, None


def _frequency(case, kind, rng):
    many = kind.endswith("run")
    if many and case.test != "linearity":
        return {}, None
    readings = _some_run(case, rng) if many else (_some_row(case, rng),)
    if not readings:
        return {}, None
    way = rng.choice(["10", "0.1", "60"] if many else ["10", "0.1", "60", "digits"])
    if way == "digits":
        hz = _digits_of(readings[0].frequency_hz, rng)
        changed = {} if hz is None else {readings[0].row: replace(readings[0], frequency_hz=hz)}
    else:
        changed = {r.row: replace(r, frequency_hz=r.frequency_hz * float(way)) for r in readings}
    return (changed, None) if all(_shows(case, changed, r) for r in readings) else ({}, None)


def _shows(case: Case, changed: dict[int, Reading], reading: Reading) -> bool:
    """Whether a wrong frequency can be seen: in a sweep out of its order, or where the filters take half of it."""
    if case.test == "linearity" or not changed:
        return True
    hz, band = changed[reading.row].frequency_hz, case.channel.band
    i = case.readings.index(reading)
    around = [r.frequency_hz for r in (*case.readings[max(i - 2, 0) : i], *case.readings[i + 1 : i + 3])]
    steady = len(around) == 4 and (sorted(around) == around or sorted(around, reverse=True) == around)
    if steady and not min(around[1:3]) <= hz <= max(around[1:3]):
        return True
    return (
        case.test == "band-response"
        and band.flat_hz[0] <= reading.frequency_hz <= band.flat_hz[1]
        and not 0.7 * band.corner_low_hz < hz < 1.4 * band.corner_high_hz
    )


def _digits_of(hz: float, rng: np.random.Generator) -> float | None:
    text = f"{hz:.6g}"
    spots = [i for i in range(len(text) - 1) if text[i : i + 2].isdigit() and text[i] != text[i + 1]]
    values = [float(text[:i] + text[i + 1] + text[i] + text[i + 2 :]) for i in spots]
    values = [value for value in values if value > 0.0 and abs(math.log(value / hz)) > 0.05]
    return float(rng.choice(values)) if values else None


_WRONG_UNITS = {
    "mm/s pk": ("mm/s rms", "in/s pk", "mm/s pkpk"),
    "mm/s rms": ("mm/s pk", "in/s rms"),
    "in/s pk": ("mm/s pk", "in/s rms"),
    "g pk": ("m/s2 pk", "g rms"),
    "g rms": ("g pk", "m/s2 rms"),
    "um pkpk": ("um pk", "mil pkpk"),
    "mil pkpk": ("um pkpk", "mil pk"),
    "m/s2 pk": ("g pk", "m/s2 rms"),
    "mV pk": ("V pk", "mV rms"),
    "pC pk": ("pC rms", "nC pk"),
    "mA dc": (),
}


def _unit(case, kind, rng):
    readings = _some_run(case, rng) if kind.endswith("run") else (_some_row(case, rng),)
    if not readings or len(case.readings) < 3:
        return {}, None
    field = str(rng.choice(["applied_unit", "output_unit"]))
    units = _WRONG_UNITS[getattr(readings[0], field).text]
    if not units:
        return {}, None
    unit = parse_unit(str(rng.choice(units)))
    return {r.row: replace(r, **{field: unit}) for r in readings}, None


def _nominal(cases, rng):
    factor = float(rng.choice([10.0, 0.1, 100.0, 0.01, 2**0.5, 0.5**0.5, 2.0, 0.5]))
    wrong = [case.with_channel(nominal_sensitivity=case.channel.nominal_sensitivity * factor) for case in cases]
    rows = {r.row for c in cases for r in c.readings if c.test != "sensor-alone"}
    if len(rows) < 3:
        raise NoPlaceError("nominal")
    return wrong, rows, 1.0 / factor


_PLANT = {
    "factor": _factor, "run": _run, "outside": _outside, "digits": _digits, "swapped": _swapped, "stuck": _stuck,
    "row before": _row_before, "frequency": _frequency, "unit": _unit,
}  # fmt: skip
