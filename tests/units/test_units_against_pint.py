"""Every unit and every conversion against pint, a general-purpose library of physical units.

pint knows units but neither detectors nor sines: these are put in here from their definitions.
"""

from __future__ import annotations

import math
from itertools import product

import pint
import pytest

from vibcal_nb.units import convert, convert_sensitivity, is_convertible, parse_unit, rpm_from_hz

PINT = pint.UnitRegistry()
NAMES = {
    "m/s2": "meter/second**2",
    "g": "standard_gravity",
    "m/s": "meter/second",
    "mm/s": "millimeter/second",
    "in/s": "inch/second",
    "m": "meter",
    "mm": "millimeter",
    "um": "micrometer",
    "in": "inch",
    "mil": "thou",
    "V": "volt",
    "mV": "millivolt",
    "A": "ampere",
    "mA": "milliampere",
    "uA": "microampere",
    "nC": "nanocoulomb",
    "pC": "picocoulomb",
}
PEAK = {"pk": 1.0, "rms": math.sqrt(2.0), "pkpk": 0.5, "dc": 1.0}
TIMES_DERIVED = {"acceleration": 2, "velocity": 1, "displacement": 0}


def peak_of(level, unit):
    return PINT.Quantity(level * PEAK[unit.detector], NAMES[unit.symbol])


def second_way(level, from_unit, to_unit, frequency_hz):
    quantity = peak_of(level, from_unit)
    if from_unit.is_vibration:
        omega = 2.0 * math.pi * PINT.Quantity(frequency_hz, "1/second")
        quantity *= omega ** (TIMES_DERIVED[to_unit.quantity] - TIMES_DERIVED[from_unit.quantity])
    return quantity.to(NAMES[to_unit.symbol]).magnitude / PEAK[to_unit.detector]


UNITS = [parse_unit(f"{symbol} {detector}") for symbol, detector in product(NAMES, ("pk", "rms", "pkpk"))]
UNITS += [parse_unit(f"{symbol} dc") for symbol in ("V", "mV", "A", "mA", "uA")]


@pytest.mark.parametrize("from_unit", UNITS, ids=str)
def test_every_conversion(from_unit):
    compared = 0
    for to_unit in UNITS:
        if is_convertible(from_unit, to_unit):
            ours = convert(3.7, from_unit, to_unit, frequency_hz=83.0)
            assert ours == pytest.approx(second_way(3.7, from_unit, to_unit, 83.0), rel=1e-12)
            compared += 1
    alike = {"voltage": 2, "current": 3, "charge": 2}.get(from_unit.quantity, 10)
    assert compared == alike * (1 if from_unit.detector == "dc" else 3)


@pytest.mark.parametrize("unit", UNITS, ids=str)
def test_the_factor_to_the_si(unit):
    si = {"voltage": "volt", "current": "ampere", "charge": "coulomb"}
    derived = {"acceleration": "meter/second**2", "velocity": "meter/second", "displacement": "meter"}
    one = PINT.Quantity(1.0, NAMES[unit.symbol])
    assert one.to((si | derived)[unit.quantity]).magnitude == pytest.approx(unit.si_factor, rel=1e-15)


@pytest.mark.parametrize("from_unit", UNITS, ids=str)
def test_what_pint_cannot_convert_is_not_convertible(from_unit):
    for to_unit in UNITS:
        both_vibrate = from_unit.is_vibration and to_unit.is_vibration
        alike = PINT.Unit(NAMES[from_unit.symbol]).is_compatible_with(NAMES[to_unit.symbol])
        same_kind_of_detector = (from_unit.detector == "dc") == (to_unit.detector == "dc")
        expected = (alike or both_vibrate) and same_kind_of_detector
        assert is_convertible(from_unit, to_unit) == expected, f"{from_unit} to {to_unit}"


@pytest.mark.parametrize(
    ("from_units", "to_units"),
    [
        (("mV pk", "in/s pk"), ("mV pk", "mm/s pk")),
        (("pC pk", "g pk"), ("pC pk", "m/s2 pk")),
        (("mV rms", "g pk"), ("V pkpk", "mm/s rms")),
        (("mA dc", "mm/s rms"), ("mA dc", "um pkpk")),
    ],
)
def test_sensitivities(from_units, to_units):
    (from_output, from_input), (to_output, to_input) = (map(parse_unit, units) for units in (from_units, to_units))
    ours = convert_sensitivity(
        7.9,
        from_output=from_output,
        from_input=from_input,
        to_output=to_output,
        to_input=to_input,
        frequency_hz=61.0,
    )
    # the output of one unit of input, and that same input, each in the wanted units
    expected = second_way(7.9, from_output, to_output, 61.0) / second_way(1.0, from_input, to_input, 61.0)
    assert ours == pytest.approx(expected, rel=1e-12)


def test_revolutions_a_minute():
    # pint's Hz is a cycle's rate and its rpm an angle's: one revolution is one cycle
    speed = PINT.Quantity(24.75, "revolution/second")
    assert rpm_from_hz(24.75) == pytest.approx(speed.to("revolution/minute").magnitude, rel=1e-15)
