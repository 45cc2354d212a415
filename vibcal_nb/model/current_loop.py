"""Currents of a 4 to 20 mA loop: which are measurement, and which signal that the transmitter has failed.

NAMUR NE 43 (figures from memory): 3.8 to 20.5 mA is measurement; 3.6 mA and less, or 21 mA and more, is a failure
signal, which says nothing about the level.
"""

from __future__ import annotations

from vibcal_nb.units import Unit, convert, parse_unit

LIVE_ZERO_MA = 4.0
FAILURE_MA = (3.6, 21.0)
MEASUREMENT_MA = (3.8, 20.5)
_MA = parse_unit("mA dc")
_LAST_DIGIT = 1e-9  # of a current that was converted


def is_loop(output_unit: Unit, output_zero: float) -> bool:
    """Whether an output is a direct current with a live zero of 4 mA."""
    if output_unit.quantity != "current" or output_unit.detector != "dc":
        return False
    return abs(float(convert(output_zero, output_unit, _MA)) - LIVE_ZERO_MA) < _LAST_DIGIT


def is_failure_signal(output: float, output_unit: Unit) -> bool:
    """Whether a loop's current, its live zero included, signals a failure."""
    current = float(convert(output, output_unit, _MA))
    return current <= FAILURE_MA[0] + _LAST_DIGIT or current >= FAILURE_MA[1] - _LAST_DIGIT


def is_measurement(output: float, output_unit: Unit) -> bool:
    """Whether a loop's current, its live zero included, lies in the range of measurement."""
    current = float(convert(output, output_unit, _MA))
    return MEASUREMENT_MA[0] - _LAST_DIGIT <= current <= MEASUREMENT_MA[1] + _LAST_DIGIT
