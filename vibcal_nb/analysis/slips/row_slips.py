"""Slips within single rows: a known factor, two digits exchanged, or none of these."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from vibcal_nb.analysis.slips.expected.blocks import scaled_point
from vibcal_nb.analysis.slips.expected.case_expectation import CLOSE, CaseExpectation
from vibcal_nb.analysis.slips.expected.known_factors import KnownFactor, cause_of, factors_of
from vibcal_nb.analysis.slips.question import number
from vibcal_nb.analysis.slips.slip import Slip, with_number
from vibcal_nb.analysis.slips.slip_kinds import APPLIED, DIGITS, FACTOR, OUTPUT, OUTSIDE
from vibcal_nb.model.readings import Reading

SAME_LEVEL = 0.04  # ln: a level that another row has too
UNLIKELY = 0.04  # ln by which a factor on the less likely field must fit better
UNTOLD = 0.001  # where nothing tells: of two that fit alike, the output
BETTER = 0.01  # ln by which exchanged digits must fit better than a factor


def factor_slips(expected: CaseExpectation, suspects: Sequence[Reading]) -> Iterator[Slip]:
    """Ask about the rows that a known factor explains, neighbouring rows that one factor explains as one."""
    place = {reading.row: i for i, reading in enumerate(expected.case.readings)}
    run: list[Reading] = []
    shared: _Distances = {}
    for reading in suspects:
        own = _factors(reading, expected)
        common = {key: shared[key] + own[key] for key in shared if key in own}
        if common and place[reading.row] == place[run[-1].row] + 1:
            run.append(reading)
            shared = common
            continue
        yield from _of_run(run, shared, expected)
        run, shared = [reading], own
    yield from _of_run(run, shared, expected)


_Distances = dict[tuple[KnownFactor, bool, str], float]
"""By known factor, whether it is on the number or under it, and field: what is then left of ln of the ratio."""


def _of_run(run: Sequence[Reading], shared: _Distances, expected: CaseExpectation) -> Iterator[Slip]:
    if not shared:
        return
    known, is_on, field = min(shared, key=shared.__getitem__)
    if len(run) == 1 and any(left + BETTER < min(shared.values()) for left, _ in _digits(run[0], expected)):
        return
    yield factor_slip(run, known, known.value if is_on else 1.0 / known.value, field)


def digits_slips(expected: CaseExpectation, suspects: Sequence[Reading]) -> Iterator[Slip]:
    """Ask about the rows that two exchanged digits explain."""
    for reading in suspects:
        fitting = sorted(_digits(reading, expected), key=lambda item: item[0])
        yield from (slip for _, slip in fitting[:1])


def outside_slips(expected: CaseExpectation, suspects: Sequence[Reading]) -> Iterator[Slip]:
    """Ask about rows that stand apart and that nothing explains."""
    for reading in suspects:
        ln_ratio, _ = expected.departure(reading)
        output = expected.output(reading)
        yield Slip(kind=OUTSIDE, written=(reading,), factor=math.exp(ln_ratio), expected=output)


def factor_slip(readings: Sequence[Reading], known: KnownFactor, by: float, field: str) -> Slip:
    """Return the slip of rows whose ``field`` was multiplied by a known factor, or divided by it."""
    meant = tuple(with_number(reading, field, getattr(reading, field) / by) for reading in readings)
    unit = readings[0].output_unit if field == OUTPUT else readings[0].applied_unit
    cause = cause_of(known, unit)
    return Slip(kind=FACTOR, written=tuple(readings), meant=meant, field=field, factor=by, cause=cause)


def _factors(reading: Reading, expected: CaseExpectation) -> _Distances:
    """The factors that explain a reading; on the less likely field with a handicap."""
    found: _Distances = {}
    for field, handicap in _handicaps(reading, expected).items():
        for known in factors_of(reading.output_unit if field == OUTPUT else reading.applied_unit):
            for is_on in (True, False):
                by = known.value if is_on else 1.0 / known.value
                ln_ratio, distance = expected.departure(with_number(reading, field, getattr(reading, field) / by))
                if distance <= CLOSE:
                    found[known, is_on, field] = abs(ln_ratio) + handicap
    return found


def _handicaps(reading: Reading, expected: CaseExpectation) -> dict[str, float]:
    """By field, how much better a factor must fit there.

    Where the rows that fit come back to the same levels, a row at one of these has a right level, and one that is at
    such a level but for a factor has a wrong one. Else nothing speaks for either.
    """
    own = scaled_point(expected.case, reading)[0]
    others = np.log(np.concatenate([part.block.applied[~part.suspect] for part in expected.parts]))
    apart = np.abs(others[:, None] - others[None, :]) + np.eye(others.size)
    away = np.abs(others - math.log(own))
    if others.size < 3 or (apart.min(axis=1) < SAME_LEVEL).mean() <= 0.5:
        return {OUTPUT: 0.0, APPLIED: UNTOLD}
    if away.min() < SAME_LEVEL:
        return {OUTPUT: 0.0, APPLIED: UNLIKELY}
    factors = np.log([known.value for known in factors_of(reading.applied_unit)])
    usual = np.abs(away[:, None] - factors[None, :]).min() < SAME_LEVEL
    return {OUTPUT: UNLIKELY, APPLIED: 0.0} if usual else {OUTPUT: 0.0, APPLIED: UNTOLD}


def _digits(reading: Reading, expected: CaseExpectation) -> Iterator[tuple[float, Slip]]:
    for field in (OUTPUT, APPLIED):
        for value in _exchanged(getattr(reading, field), getattr(reading, f"{field}_decimals")):
            meant = with_number(reading, field, value)
            slip = Slip(kind=DIGITS, written=(reading,), meant=(meant,), field=field)
            ln_ratio, distance = expected.departure(meant)
            if distance <= CLOSE:
                yield abs(ln_ratio), slip


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
