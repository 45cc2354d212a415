"""What an old table has worked out already, held against what its readings give.

A deviation is from the nominal sensitivity that the channel states now; where all deviations are off alike, they were
worked out from another one, and which that was follows from them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.questions.question import Question
from vibcal_nb.model.asset import Asset, Channel
from vibcal_nb.model.layout import DEVIATION_PCT
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY, SENSOR_ALONE
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import convert

LEAST_PCT = 0.05  # that a deviation may differ by through the digits of a nominal sensitivity; judgement, no source
ALIKE = 0.002  # relative: so near are implied nominal sensitivities that are one


@dataclass(frozen=True, kw_only=True)
class StatedValue:
    """A value that stands beside a reading: by `model.layout.STATED`, with the digits behind its decimal mark."""

    reading: Reading
    quantity: str
    value: float
    decimals: int


@dataclass(frozen=True, kw_only=True)
class Compared:
    """How stated values agree: ``agree`` of ``count``; ``questions`` about the others."""

    count: int
    agree: int
    questions: tuple[Question, ...]


def compare_stated(asset: Asset, stated: Sequence[StatedValue], *, file: str) -> Compared:
    """Work the stated values out again, and ask about those that differ."""
    held = [(item, own) for item in stated if (own := _own(asset, item)) is not None]
    off = [(item, own) for item, own in held if abs(item.value - own) > _margin(item, own)]
    return Compared(count=len(held), agree=len(held) - len(off), questions=tuple(_questions(asset, off, file)))


def _own(asset: Asset, item: StatedValue) -> float | None:
    """The value that the reading gives; None where the channel does not state what is needed."""
    sensitivity, nominal = _sensitivities(asset.channels[item.reading.channel], item.reading)
    if sensitivity is None or nominal is None:
        return None
    return 100.0 * (sensitivity / nominal - 1.0) if item.quantity == DEVIATION_PCT else sensitivity


def _sensitivities(channel: Channel, reading: Reading) -> tuple[float | None, float | None]:
    part = {LINEARITY: channel, BAND_RESPONSE: channel, SENSOR_ALONE: channel.sensor}.get(reading.test)
    if part is None or reading.applied <= 0.0:
        return None, None
    zero = channel.output_zero if reading.test != SENSOR_ALONE else 0.0
    level = convert(reading.applied, reading.applied_unit, part.input_unit, frequency_hz=reading.frequency_hz)
    output = convert(reading.output, reading.output_unit, part.output_unit) - zero
    return float(output / level), part.nominal_sensitivity


def _margin(item: StatedValue, own: float) -> float:
    """What the digits of the stated value, of the level and of the output may make."""
    reading = item.reading
    digits = 0.5 * 10.0**-item.decimals
    relative = sum(
        0.5 * 10.0**-decimals / abs(value)
        for value, decimals in (
            (reading.applied, reading.applied_decimals),
            (reading.output, reading.output_decimals),
        )
        if decimals is not None and value != 0.0
    )
    if item.quantity == DEVIATION_PCT:
        return max(digits, LEAST_PCT) + 100.0 * relative
    return max(digits, LEAST_PCT / 100.0 * abs(own)) + relative * abs(own)


def _questions(asset: Asset, off: Sequence[tuple[StatedValue, float]], file: str) -> Iterator[Question]:
    groups: dict[tuple[str, str, str], list[tuple[StatedValue, float]]] = {}
    for item, own in off:
        groups.setdefault((item.reading.channel, item.reading.test, item.quantity), []).append((item, own))
    for (tag, test, quantity), found in groups.items():
        rows = tuple(item.reading.row for item, _ in found)
        nominal = _sensitivities(asset.channels[tag], found[0][0].reading)[1]
        share = _common_share(found) if quantity == DEVIATION_PCT and len(found) > 2 else None
        if share is not None and nominal is not None:
            text = f"{tag}, {test}: the deviations in the table are from a nominal sensitivity of {share * nominal:.4g}"
            asks = f"{text}, and the channel states {nominal:g}. Which of the two holds?"
            yield Question(file=file, text=asks, rows=rows)
            continue
        for item, own in found:
            unit = " %" if quantity == DEVIATION_PCT else ""
            says = f"{item.value:.{max(item.decimals, 0)}f}{unit}"
            text = f"{tag}, {test}, row {item.reading.row}: the table states {quantity} {says}; its reading gives "
            asks = f"{text}{own:.{max(item.decimals, 1)}f}{unit}. Which number is wrong?"
            yield Question(file=file, text=asks, rows=(item.reading.row,))


def _common_share(found: Sequence[tuple[StatedValue, float]]) -> float | None:
    """What the nominal sensitivity behind the stated deviations is of the channel's; None where there is no one."""
    ratios = np.array([(1.0 + own / 100.0) / (1.0 + item.value / 100.0) for item, own in found])
    if not np.all(ratios > 0.0) or float(np.ptp(np.log(ratios))) > 2.0 * ALIKE:
        return None
    return math.exp(float(np.log(ratios).mean()))
