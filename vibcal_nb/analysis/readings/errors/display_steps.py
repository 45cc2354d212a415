"""The step of the display behind each number as written: what it hides lies half a step to either side.

A display that keeps its range shows one step throughout, one that changes it shows as many digits in each decade; a
table tells which only by the digits in it. So a number's step is that of the finest digit written in its own decade
and unit, unless the equipment states ``display_step``. A spreadsheet loses a number's last zeros: another number of the
decade tells them, and where none does the nearest decade, with as many digits.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.model.equipment import Display
from vibcal_nb.units import Unit, convert, is_convertible

UNKNOWN = 0.0


@dataclass(frozen=True, kw_only=True)
class WrittenNumber:
    """A number as written: its unit, its frequency, and the digits after the decimal mark (None: not known)."""

    value: float
    unit: Unit
    decimals: int | None
    frequency_hz: float

    @property
    def decade(self) -> int | None:
        """The power of ten that the number begins with; None of zero."""
        return math.floor(math.log10(abs(self.value))) if self.value else None


def find_steps(numbers: Sequence[WrittenNumber], displays: Iterable[Display]) -> FloatArray:
    """Return the step (n,) of each number in its own unit, 0 where nothing tells it.

    Of several displays that show its unit the coarsest counts, as no number says which one it was read from.
    """
    finest = _finest_of_decades(numbers)
    stated = tuple(displays)
    return frozen(np.array([_stated(item, stated) or _written(item, finest) for item in numbers], dtype=np.float64))


def _stated(number: WrittenNumber, displays: tuple[Display, ...]) -> float:
    steps = (
        float(convert(display.step, display.unit, number.unit, frequency_hz=number.frequency_hz))
        for display in displays
        if is_convertible(display.unit, number.unit)
    )
    return max(steps, default=UNKNOWN)


def _finest_of_decades(numbers: Sequence[WrittenNumber]) -> dict[str, dict[int | None, int]]:
    """The most decimals written in each decade, by unit."""
    finest: dict[str, dict[int | None, int]] = {}
    for item in numbers:
        if item.decimals is not None:
            decades = finest.setdefault(item.unit.text, {})
            decades[item.decade] = max(item.decimals, decades.get(item.decade, item.decimals))
    return finest


def _written(number: WrittenNumber, finest: Mapping[str, Mapping[int | None, int]]) -> float:
    decades = finest.get(number.unit.text, {})
    if not decades:
        return UNKNOWN
    if number.decade in decades:
        return math.pow(10.0, -decades[number.decade])
    if number.decade is None or set(decades) == {None}:
        return math.pow(10.0, -max(decades.values()))
    return math.pow(10.0, _beside(number.decade, {d: n for d, n in decades.items() if d is not None}))


def _beside(decade: int, decades: Mapping[int, int]) -> int:
    """The power of ten of the step by the nearest decade that tells one, the lower of two; never finer than there."""
    nearest = min(decades, key=lambda other: (abs(other - decade), other))
    return max(decade - nearest, 0) - decades[nearest]
