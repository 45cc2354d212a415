"""Slips within single rows: another unit than the rest has, a known factor, two digits exchanged, or none of these."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from vibcal_nb.analysis.slips.blocks import scaled_point
from vibcal_nb.analysis.slips.expectation import CLOSE, CaseExpectation
from vibcal_nb.analysis.slips.known_factors import KnownFactor, factors_of
from vibcal_nb.analysis.slips.question import number
from vibcal_nb.analysis.slips.slip import Slip, with_number
from vibcal_nb.analysis.slips.slip_kinds import APPLIED, DIGITS, FACTOR, OUTPUT, OUTSIDE, UNIT
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import Unit

SAME_LEVEL = 0.04  # ln: a level that another row has too
BETTER = 0.15  # half widths that digits must fit better by than a factor does


def unit_slips(expected: CaseExpectation, suspects: Sequence[Reading]) -> Iterator[Slip]:
    """Ask whether the unit of a row, which differs from that of most others, was meant to be theirs."""
    rows = expected.case.readings
    for reading in suspects:
        for field in ("applied_unit", "output_unit"):
            usual, count = Counter(getattr(other, field) for other in rows).most_common(1)[0]
            meant = _with_unit(reading, field, usual)
            if meant != reading and 2 * count >= len(rows) and expected.fits(meant):
                yield Slip(kind=UNIT, written=(reading,), meant=(meant,), field=field)
                break


def _with_unit(reading: Reading, field: str, unit: Unit) -> Reading:
    return replace(reading, output_unit=unit) if field == "output_unit" else replace(reading, applied_unit=unit)


def number_slips(expected: CaseExpectation, suspects: Sequence[Reading]) -> Iterator[Slip]:
    """Ask about each row: whether a known factor, or two digits exchanged, explain it; else whether it is right."""
    for reading in suspects:
        fits = [item for item in (*_factors(reading, expected), *_digits(reading, expected)) if item[0] <= CLOSE]
        if fits:
            yield min(fits, key=lambda item: item[0])[1]
        else:
            ln_ratio, _ = expected.departure(reading)
            output = expected.expected_output(reading)
            yield Slip(kind=OUTSIDE, written=(reading,), factor=math.exp(ln_ratio), expected=output)


def factor_slip(readings: Sequence[Reading], known: KnownFactor, by: float, field: str) -> Slip:
    """Return the slip of rows whose ``field`` was multiplied by a known factor, or divided by it."""
    meant = tuple(with_number(reading, field, getattr(reading, field) / by) for reading in readings)
    return Slip(kind=FACTOR, written=tuple(readings), meant=meant, field=field, factor=by, cause=known.cause)


def _factors(reading: Reading, expected: CaseExpectation) -> Iterator[tuple[float, Slip]]:
    """The best factor on the likelier field, and on the other where that one does not fit."""
    for field in _likelier_first(reading, expected):
        unit = reading.output_unit if field == OUTPUT else reading.applied_unit
        slips = [
            factor_slip([reading], known, by, field)
            for known in factors_of(unit)
            for by in (known.value, 1.0 / known.value)
        ]
        distances = [expected.departure(slip.meant[0])[1] for slip in slips]
        best = min(range(len(slips)), key=distances.__getitem__)
        if distances[best] <= CLOSE:
            yield distances[best], slips[best]
            return


def _likelier_first(reading: Reading, expected: CaseExpectation) -> tuple[str, str]:
    """The level comes first where other rows come back to the same levels, and this one does so with a factor only."""
    own = scaled_point(expected.case, reading)[0]
    others = np.log(
        [
            float(x)
            for part in expected.parts
            for other, x in zip(part.block.readings, part.block.applied, strict=True)
            if other.row != reading.row
        ]
    )
    apart = np.abs(others[:, None] - others[None, :]) + np.eye(others.size)
    comes_back = others.size > 2 and (apart.min(axis=1) < SAME_LEVEL).mean() > 0.5
    away = np.abs(others - math.log(own))
    if not comes_back or away.min() < SAME_LEVEL:
        return (OUTPUT, APPLIED)
    factors = np.log([known.value for known in factors_of(reading.applied_unit)])
    usual = np.abs(away[:, None] - factors[None, :]).min() < SAME_LEVEL
    return (APPLIED, OUTPUT) if usual else (OUTPUT, APPLIED)


def _digits(reading: Reading, expected: CaseExpectation) -> Iterator[tuple[float, Slip]]:
    for field in (OUTPUT, APPLIED):
        for value in _exchanged(getattr(reading, field), getattr(reading, f"{field}_decimals")):
            meant = with_number(reading, field, value)
            slip = Slip(kind=DIGITS, written=(reading,), meant=(meant,), field=field)
            yield expected.departure(meant)[1] + BETTER, slip


def _exchanged(value: float, decimals: int | None) -> Iterator[float]:
    """The numbers above 0 that two neighbouring digits exchanged give, the leading ones first."""
    text = number(value, decimals)
    digits = [i for i, character in enumerate(text) if character.isdigit()]
    for i, j in pairwise(digits):
        if text[i] != text[j]:
            other = list(text)
            other[i], other[j] = other[j], other[i]
            if float("".join(other)) > 0.0:
                yield float("".join(other))
