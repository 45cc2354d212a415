"""Kinematics of a sine against the constants on vibration handbooks' cards, and exact values.

The exact figures were recomputed from g_n = 9.80665 m/s2 (3rd CGPM 1901; ISO 80000-3) and 1 in = 25.4 mm
(international inch, 1959). Cards print them rounded, and not always well: 61.4 to 61.48 where the exact figure is
61.448, so that handbooks are held to 1e-3 only.
"""

from __future__ import annotations

import math

import pytest

from vibcal_nb.units import G_N, INCH, convert, hz_from_rpm, parse_unit, rpm_from_hz

# name: (level, unit, unit wanted, power of f that the constant belongs to, exact constant), at any frequency f in Hz
CONSTANTS = {
    "V in/s pk of 1 g pk, times f": (1.0, "g pk", "in/s pk", 1, 61.44790640441478),
    "V mm/s pk of 1 g pk, times f": (1.0, "g pk", "mm/s pk", 1, 1560.7768226721355),
    "D in pkpk of 1 g pk, times f2": (1.0, "g pk", "in pkpk", 2, 19.55947609382149),
    "D mil pkpk of 1 g pk, times f2": (1.0, "g pk", "mil pkpk", 2, 19559.47609382149),
    "D mm pkpk of 1 g pk, times f2": (1.0, "g pk", "mm pkpk", 2, 496.81069278306586),
    "V in/s pk of 1 g rms, times f": (1.0, "g rms", "in/s pk", 1, 86.90046261655596),
    "D in pkpk of 1 g rms, times f2": (1.0, "g rms", "in pkpk", 2, 27.661276364794684),
    "g pk of 1 in pkpk, over f2": (1.0, "in pkpk", "g pk", -2, 0.051126113767223196),
    "g pk of 1 in/s pk, over f": (1.0, "in/s pk", "g pk", -1, 0.016273947454264352),
    "g pk of 1 m/s pk, over f": (1.0, "m/s pk", "g pk", -1, 0.6407065926875729),
    "g pk of 1 m pkpk, over f2": (1.0, "m pkpk", "g pk", -2, 2.012839124693827),
}
# Constants as cards round them; from memory, common practice, no one source.
CARDS = [
    ("g pk", "in/s pk", 1, 61.44),
    ("g pk", "in pkpk", 2, 19.57),
    ("g pk", "mm/s pk", 1, 1561.0),
    ("g pk", "mm pkpk", 2, 496.8),
    ("in pkpk", "g pk", -2, 0.0511),
    ("in/s pk", "g pk", -1, 0.01628),
    ("m pkpk", "g pk", -2, 2.013),
    ("in pkpk", "in/s pk", -1, 3.1416),
]


@pytest.mark.parametrize("name", CONSTANTS)
@pytest.mark.parametrize("frequency_hz", [1.0, 49.0, 80.0, 10_200.0])
def test_exact_constants(name, frequency_hz):
    value, unit, wanted, power, constant = CONSTANTS[name]
    level = convert(value, parse_unit(unit), parse_unit(wanted), frequency_hz=frequency_hz)
    assert level * frequency_hz**power == pytest.approx(constant, rel=1e-14)


@pytest.mark.parametrize(("unit", "wanted", "power", "printed"), CARDS)
def test_constants_as_cards_print_them(unit, wanted, power, printed):
    level = convert(1.0, parse_unit(unit), parse_unit(wanted), frequency_hz=100.0)
    assert level * 100.0**power == pytest.approx(printed, rel=1e-3)


def test_standard_gravity_in_inches():
    assert convert(1.0, parse_unit("g pk"), parse_unit("m/s2 pk")) / INCH == pytest.approx(
        386.08858267716533, rel=1e-15
    )
    assert (G_N, INCH) == (9.80665, 0.0254)


@pytest.mark.parametrize(
    ("wanted", "exact"),
    [
        ("mm/s pk", 15.607768226721353),
        ("mm/s rms", 11.036358752302604),
        ("in/s pk", 0.6144790640441478),
        ("um pkpk", 49.68106927830658),
        ("mil pkpk", 1.9559476093821488),
    ],
)
def test_one_g_at_100_hz(wanted, exact):
    assert convert(1.0, parse_unit("g pk"), parse_unit(wanted), frequency_hz=100.0) == pytest.approx(exact, rel=1e-14)


@pytest.mark.parametrize(
    ("wanted", "exact"),
    [("m/s2 rms", 5.026548245743669), ("g pk", 0.724876762304496), ("um pkpk", 56.26976975981914)],
)
def test_ten_millimetres_a_second_at_80_hz(wanted, exact):
    level = convert(10.0, parse_unit("mm/s rms"), parse_unit(wanted), frequency_hz=80.0)
    assert level == pytest.approx(exact, rel=1e-14)


@pytest.mark.parametrize("symbol", ["g", "mm/s", "um", "mV", "mA", "pC"])
def test_detectors_of_a_sine(symbol):
    rms = parse_unit(f"{symbol} rms")
    assert convert(1.0, rms, parse_unit(f"{symbol} pk")) == pytest.approx(math.sqrt(2.0), rel=1e-15)
    assert convert(1.0, rms, parse_unit(f"{symbol} pkpk")) == pytest.approx(2.0 * math.sqrt(2.0), rel=1e-15)


@pytest.mark.parametrize(("frequency_hz", "omega"), [(159.15494309189535, 1000.0), (79.57747154594767, 500.0)])
def test_frequencies_of_a_round_angular_frequency(frequency_hz, omega):
    """10 m/s2, 10 mm/s and 10 um are one vibration at omega = 1000 rad/s (common practice, no source)."""
    acceleration = parse_unit("m/s2 pk")
    velocity = convert(10.0, acceleration, parse_unit("mm/s pk"), frequency_hz=frequency_hz)
    displacement = convert(10.0, acceleration, parse_unit("um pk"), frequency_hz=frequency_hz)
    assert velocity == pytest.approx(1e4 / omega, rel=1e-14)
    assert displacement == pytest.approx(1e7 / omega**2, rel=1e-14)


@pytest.mark.parametrize(("hz", "rpm"), [(60.0, 3600.0), (170.0, 10_200.0), (50.0, 3000.0), (24.75, 1485.0)])
def test_hertz_and_revolutions_a_minute(hz, rpm):
    """60 Hz = 3600 cpm, 170 Hz = 10 200 cpm (common practice, no source)."""
    assert rpm_from_hz(hz) == rpm
    assert hz_from_rpm(rpm) == hz


def test_one_payload_on_one_shaker():
    """2.75 in/s pk at 60 Hz and just under 1 in/s pk at 170 Hz are the same force, about 2.7 g pk (no source)."""
    velocity, acceleration = parse_unit("in/s pk"), parse_unit("g pk")
    level = convert(2.75, velocity, acceleration, frequency_hz=60.0)
    assert level == pytest.approx(2.7, abs=0.05)
    assert 0.95 < convert(level, acceleration, velocity, frequency_hz=170.0) < 1.0
