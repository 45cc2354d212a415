"""Kinds of slips of writing, and the fields of a reading that they are in."""

from __future__ import annotations

from typing import Final

OUTSIDE: Final = "outside"
FACTOR: Final = "factor"
DIGITS: Final = "digits"
SWAPPED: Final = "swapped"
STUCK: Final = "stuck"
ROW_BEFORE: Final = "row before"
FREQUENCY: Final = "frequency"
UNIT: Final = "unit"
NOMINAL: Final = "nominal"

KINDS = (OUTSIDE, FACTOR, DIGITS, SWAPPED, STUCK, ROW_BEFORE, FREQUENCY, UNIT, NOMINAL)

OUTPUT: Final = "output"
APPLIED: Final = "applied"

NO_ONE_SLIP: Final = "No one slip explains them"
"""Cause of an `OUTSIDE` slip of many rows, which is more likely a fault of the channel."""
