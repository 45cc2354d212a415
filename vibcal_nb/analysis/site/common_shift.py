"""Where all channels of one occasion shift alike, the reference is to be looked at, and not the channels.

Every channel's deviations, adjustments taken out, are held against its own other occasions. Faults and drift of
single channels leave the median over the channels alone; an error of the reference (or of what else an occasion's
readings share: readout, method, ambient) moves them all. The median is named where it is more than the stated
uncertainty of what the readings share explains, |E_n| > 1, and the channels moved alike. Median and median
absolute deviation: P. J. Huber, Robust Statistics (1981), from memory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.drift.normalized_error import normalized_error
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, Expanded, expand

FEWEST_CHANNELS = 5
FEWEST_OCCASIONS = 3
ALIKE_SHARE = 2.0 / 3.0
_MAD_TO_SIGMA = 1.4826  # of a normal distribution
_MEDIAN_TO_MEAN = math.sqrt(math.pi / 2.0)  # standard error of a median against that of a mean, normal distribution


@dataclass(frozen=True, kw_only=True)
class OccasionLevel:
    """One channel on one occasion: deviation in % with adjustments taken out, its own u, and what it shares."""

    channel: str
    occasion: str
    level_pct: float
    u_own_pct: float
    shared_pct: Mapping[str, float]


@dataclass(frozen=True, kw_only=True)
class CommonShift:
    """A shift that the channels of an occasion have in common, against all its other occasions.

    ``alike`` of ``channels`` moved by it within their own uncertainty.
    """

    occasion: str
    shift_pct: float
    expanded: Expanded
    E_n: float
    channels: int
    alike: int


def find_common_shifts(levels: Sequence[OccasionLevel], *, probability: float = PROBABILITY) -> tuple[CommonShift, ...]:
    """Return the occasions on which all channels shifted alike, the most significant first.

    Of two occasions alone it cannot be told which is the odd one, so that three are needed, and five channels
    on the occasion. After one is named it is left out, and the rest are looked at anew. ``probability`` is that
    of the U in E_n: where references really err as widely as their certificates state, each occasion is named
    wrongly with what is left of it, and a higher one is wanted with many occasions
    (``tests/benchmarks/truth/bench_common_shift.py`` prints what each value gives).
    """
    named: list[CommonShift] = []
    table = _tabulate(levels)
    while len(table.occasions) >= FEWEST_OCCASIONS:
        found = (_shift(table, column, probability) for column in range(len(table.occasions)))
        shifted = [shift for shift in found if shift is not None and abs(shift.E_n) > 1.0]
        alike = [shift for shift in shifted if shift.alike >= ALIKE_SHARE * shift.channels]
        if not alike:
            break
        worst = max(alike, key=lambda shift: abs(shift.E_n))
        named.append(worst)
        table = table.without(worst.occasion)
    return tuple(named)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Levels:
    """Levels and their own u, shape (channels, occasions), NaN where a channel was not read; what each shares."""

    occasions: tuple[str, ...]
    level: FloatArray
    u_own: FloatArray
    shared: tuple[Mapping[str, float], ...]

    def without(self, occasion: str) -> _Levels:
        column = self.occasions.index(occasion)
        return _Levels(
            occasions=self.occasions[:column] + self.occasions[column + 1 :],
            level=np.delete(self.level, column, axis=1),
            u_own=np.delete(self.u_own, column, axis=1),
            shared=self.shared[:column] + self.shared[column + 1 :],
        )


def _tabulate(levels: Sequence[OccasionLevel]) -> _Levels:
    channels = {name: i for i, name in enumerate(dict.fromkeys(item.channel for item in levels))}
    occasions = {name: i for i, name in enumerate(dict.fromkeys(item.occasion for item in levels))}
    level = np.full((len(channels), len(occasions)), np.nan)
    u_own = np.full_like(level, np.nan)
    shared: list[dict[str, float]] = [{} for _ in occasions]
    for item in levels:
        at = channels[item.channel], occasions[item.occasion]
        level[at], u_own[at] = item.level_pct, item.u_own_pct
        shared[at[1]].update(item.shared_pct)
    return _Levels(occasions=tuple(occasions), level=level, u_own=u_own, shared=tuple(shared))


def _shift(table: _Levels, column: int, probability: float) -> CommonShift | None:
    level, u_own = table.level, table.u_own
    present = np.isfinite(level)
    others = present.copy()
    others[:, column] = False
    usable = present[:, column] & others.any(axis=1)
    if usable.sum() < FEWEST_CHANNELS:
        return None
    count = others[usable].sum(axis=1)
    mean = np.where(others[usable], level[usable], 0.0).sum(axis=1) / count
    shift = level[usable, column] - mean
    variance = np.where(others[usable], u_own[usable] ** 2, 0.0).sum(axis=1) / count**2
    own = np.sqrt(u_own[usable, column] ** 2 + variance)
    median = _median(shift)
    scatter = max(_MAD_TO_SIGMA * _median(np.abs(shift - median)), _median(own))
    u_median = _MEDIAN_TO_MEAN * scatter / math.sqrt(len(shift))
    weight = (others[usable] / count[:, None]).mean(axis=0)
    expanded = expand(math.hypot(u_median, _shared_u(column, weight, table.shared)), probability=probability)
    alike = np.abs(shift - median) <= np.maximum(2.0 * own, 0.5 * abs(median))
    return CommonShift(
        occasion=table.occasions[column],
        shift_pct=median,
        expanded=expanded,
        E_n=normalized_error(median, expanded.U),
        channels=len(shift),
        alike=int(alike.sum()),
    )


def _median(values: FloatArray) -> float:
    """The median of values (n,), of which a large site has thousands: ``numpy.median`` takes ten times as long."""
    ordered = np.sort(values)
    return float(0.5 * (ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]))


def _shared_u(column: int, weight: FloatArray, shared: Sequence[Mapping[str, float]]) -> float:
    """Standard uncertainty of the common part of the shift: the occasion less the weighted mean of the others."""
    sources = {name for item in shared for name in item}
    parts = (
        shared[column].get(name, 0.0)
        - math.fsum(float(w) * item.get(name, 0.0) for w, item in zip(weight, shared, strict=True))
        for name in sources
    )
    return math.sqrt(math.fsum(part**2 for part in parts))
