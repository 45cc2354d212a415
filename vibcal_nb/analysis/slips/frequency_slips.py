"""Slips in the frequency: a decimal mark, rpm for Hz, two digits exchanged, the frequency of the row before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, runs_at, same_frequency
from vibcal_nb.analysis.slips.expected.case_expectation import CaseExpectation
from vibcal_nb.analysis.slips.slip import Slip
from vibcal_nb.analysis.slips.slip_kinds import FREQUENCY
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.readings import Reading

FACTORS = {
    10.0: "the decimal mark is off",
    0.1: "the decimal mark is off",
    60.0: "rpm for Hz",
    1.0 / 60.0: "Hz for rpm",
}
FAR = 4.0  # a sweep does not step further


def frequencies_out_of_place(expected: CaseExpectation, suspects: Sequence[Reading]) -> Iterator[Slip]:
    """Yield rows of a sweep out of its order, and rows of a line at no rotor's speed, where a slip explains them."""
    rows = [reading for reading in expected.case.readings if reading.exclude is None and reading.applied > 0.0]
    if expected.parts[0].block.is_sweep:
        yield from _out_of_order(expected, rows, {reading.row for reading in suspects})
    else:
        yield from _in_lines(expected, rows)


def frequencies_that_fit(expected: CaseExpectation, suspects: Sequence[Reading]) -> Iterator[Slip]:
    """Yield rows of a sweep that stand apart, and would not at a frequency that a slip makes of another."""
    if not expected.parts[0].block.is_sweep:
        return
    rows = [reading for reading in expected.case.readings if reading.exclude is None and reading.applied > 0.0]
    for reading in suspects:
        yield from _explained(expected, reading, [_neighbours(reading, rows)])


def _candidates(reading: Reading) -> Iterator[tuple[float, str]]:
    """What may have been meant in place of a frequency, and what went wrong then."""
    hz = reading.frequency_hz
    for factor, cause in FACTORS.items():
        yield hz / factor, cause
    text = f"{hz:.6g}"
    for i in range(len(text) - 1):
        if text[i].isdigit() and text[i + 1].isdigit() and text[i] != text[i + 1]:
            yield float(text[:i] + text[i + 1] + text[i] + text[i + 2 :]), "two digits exchanged"


def _out_of_order(expected: CaseExpectation, rows: Sequence[Reading], left: set[int]) -> Iterator[Slip]:
    """Frequencies that one comes back to (the reference, a rotor's speed) may stand anywhere.

    The order is looked at with them and without them.
    """
    steady = [row for row in rows if not _is_special(row, expected.case.channel)]
    for reading in rows:
        if reading.row in left or not _is_special(reading, expected.case.channel):
            around = [_neighbours(reading, rows), _neighbours(reading, steady)]
            broken = [item for item in around if _breaks_order(reading.frequency_hz, *item)]
            if broken:
                yield from _explained(expected, reading, broken)


def _explained(
    expected: CaseExpectation, reading: Reading, around: Sequence[tuple[list[float], int]]
) -> Iterator[Slip]:
    for hz, cause in _candidates(reading):
        meant = replace(reading, frequency_hz=hz)
        if all(_lies_in_order(hz, *item) for item in around) and expected.fits(meant):
            yield _slip([reading], [meant], cause)
            return


def _neighbours(reading: Reading, rows: Sequence[Reading]) -> tuple[list[float], int]:
    """Frequencies of up to two rows above and two below, and how many stand above."""
    above = [row.frequency_hz for row in rows if row.row < reading.row][-2:]
    below = [row.frequency_hz for row in rows if row.row > reading.row][:2]
    return [*above, *below], len(above)


def _is_special(reading: Reading, channel: Channel) -> bool:
    """Whether this is a frequency that one comes back to: the reference frequency or a rotor's speed."""
    bands = (channel.band, channel.sensor)
    references = [part.reference_hz for part in bands if part is not None]
    hz = reading.frequency_hz
    return any(same_frequency(hz, other) for other in references) or any(runs_at(rotor, hz) for rotor in channel.rotors)


def _breaks_order(hz: float, neighbours: Sequence[float], before: int) -> bool:
    """Whether the neighbours rise or fall steadily without the row, and not with it; three are needed to say so."""
    return (
        len(neighbours) >= 3 and _steady(neighbours) and not _steady([*neighbours[:before], hz, *neighbours[before:]])
    )


def _lies_in_order(hz: float, neighbours: Sequence[float], before: int) -> bool:
    if len(neighbours) < 2 or not _steady(neighbours):
        return True
    return _steady([*neighbours[:before], hz, *neighbours[before:]]) and any(
        1.0 / FAR < hz / other < FAR for other in neighbours[max(before - 1, 0) : before + 1]
    )


def _steady(values: Sequence[float]) -> bool:
    pairs = list(pairwise(values))
    return all(a < b for a, b in pairs) or all(a > b for a, b in pairs)


def _in_lines(expected: CaseExpectation, rows: Sequence[Reading]) -> Iterator[Slip]:
    """Rows at a frequency that is no rotor's and no other's, where a slip would make it one."""
    channel = expected.case.channel
    sizes = {round(part.block.frequency_hz[0], 9): len(part.block) for part in expected.parts}
    largest = max(sizes.values(), default=0)
    for part in expected.parts:
        hz = float(part.block.frequency_hz[0])
        if any(runs_at(rotor, hz) for rotor in channel.rotors):
            continue
        if channel.band is not None and same_frequency(hz, channel.band.reference_hz):
            continue
        known = [rotor.speed_hz for rotor in channel.rotors]
        known += [other for other, size in sizes.items() if size > len(part.block)]
        for meant_hz, cause in _candidates(part.block.readings[0]):
            target = next(
                (other for other in known if abs(meant_hz / other - 1.0) <= 2.0 * SAME_FREQUENCY_PCT / 100.0), None
            )
            if target is not None and (len(part.block) < largest or len(expected.parts) == 1):
                readings = list(part.block.readings)
                meant = [replace(r, frequency_hz=r.frequency_hz * meant_hz / hz) for r in readings]
                yield _slip(readings, meant, cause)
                break


def _slip(readings: Sequence[Reading], meant: Sequence[Reading], cause: str) -> Slip:
    factor = readings[0].frequency_hz / meant[0].frequency_hz
    return Slip(
        kind=FREQUENCY, written=tuple(readings), meant=tuple(meant), field="frequency_hz", factor=factor, cause=cause
    )
