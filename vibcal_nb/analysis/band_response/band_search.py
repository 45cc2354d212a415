"""Which band models are tried: Butterworth filters of every order, then filters of any shape that readings can carry.

Nothing tells that a channel's filter is exactly Butterworth's: a damping of 0.70 in place of 0.707 moves a corner by
more than readings leave open. So the lower terms of each side's polynomial are fitted with its corner, as many as the
readings on that side can carry, unless the channel states the filter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.band_response.band_candidates import Candidates, Side, Swept, fit_candidates
from vibcal_nb.analysis.band_response.half_power import HALF_POWER
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.numerics.simultaneous_fits import NO_GAIN

HIGHEST_ORDER = 8
MOST_TERMS = 3  # of one side, beside its corner; more are not told apart
ROLL_OFF_SEEN = 0.985  # of the plateau; a side that stays above it gets no filter
NEIGHBOURS = 1  # orders on either side of the likeliest that are looked at closely


@dataclass(frozen=True, kw_only=True)
class SideSeen:
    """What the readings show of one side: whether they fall, how many tell its shape, where its corner may lie."""

    falls: bool
    telling: int
    ln_start: float


def look_at_sides(swept: Swept) -> tuple[float, SideSeen, SideSeen]:
    """Return ln of the plateau's rough level and what is seen of the low and of the high side."""
    s, ln_f = np.exp(swept.ln_s), swept.ln_f
    passed = s[s >= 0.7 * s.max()]
    level = float(np.median(passed) if passed.size > 3 else s.max())  # of three, two may be at the corners
    centre = float(ln_f[s >= 0.9 * level].mean())
    low, high = (_look_at(s / level, ln_f, centre, outside) for outside in (ln_f < centre, ln_f > centre))
    return math.log(level), low, high


def _look_at(ratio: FloatArray, ln_f: FloatArray, centre: float, outside: NDArray[np.bool_]) -> SideSeen:
    telling = outside & (np.abs(ratio - 1.0) > 1.0 - ROLL_OFF_SEEN)
    inside = ln_f[outside & (ratio >= HALF_POWER)] - centre
    reach = float(inside[np.abs(inside).argmax()]) if inside.size else (0.1 if (ln_f[outside] > centre).any() else -0.1)
    return SideSeen(
        falls=bool((ratio[outside] < ROLL_OFF_SEEN).any()),
        telling=int(np.unique(ln_f[telling]).size),
        ln_start=centre + reach,
    )


def fit_butterworth(swept: Swept, highest_order: int = HIGHEST_ORDER) -> Candidates:
    """Fit Butterworth filters of every pair of orders; order 0 alone on a side that does not fall."""
    level, low, high = look_at_sides(swept)
    choices = [range(highest_order + 1) if side.falls else range(1) for side in (low, high)]
    frequencies = np.unique(swept.ln_f).size
    sides = [((a, 0), (b, 0)) for a in choices[0] for b in choices[1] if 1 + (a > 0) + (b > 0) <= frequencies]
    start = np.tile([level, low.ln_start, high.ln_start], (len(sides), 1))
    return fit_candidates(sides, start, swept)


def fit_shapes(swept: Swept, butterworth: Candidates) -> Candidates:
    """Fit filters with as many terms on each side as its readings carry, around the best Butterworth filters.

    Where they carry none on either side, the Butterworth candidates themselves.
    """
    _, low, high = look_at_sides(swept)
    orders = butterworth.sides[butterworth.best]
    terms = [
        min(MOST_TERMS, max(seen.telling - 2, 0)) if n else 0 for seen, (n, _) in zip((low, high), orders, strict=True)
    ]
    spare = np.unique(swept.ln_f).size - 2 - int(sum(n > 0 for n, _ in orders))
    while sum(terms) > max(spare, 0):  # a degree of freedom must be left to see whether the model holds
        terms[int(np.argmax(terms))] -= 1
    if not any(terms):
        return butterworth
    families = [_families(n, m) for (n, _), m in zip(orders, terms, strict=True)]
    return fit_around(swept, butterworth, [(a, b) for a in families[0] for b in families[1]])


def _families(order: int, terms: int) -> list[Side]:
    """The degrees that may describe a side of about this Butterworth order with so many lower terms."""
    if order == 0:
        return [(0, 0)]
    if terms == 0:
        return [(n, 0) for n in range(1, HIGHEST_ORDER + 1)]
    last = min(max(terms + 1, order + NEIGHBOURS), HIGHEST_ORDER)
    return [(n, terms) for n in range(terms + 1, last + 1)]


def fit_around(
    swept: Swept, found: Candidates, sides: list[tuple[Side, Side]], *, no_gain: float = NO_GAIN
) -> Candidates:
    """Fit candidates starting from the best of those that were found; ``no_gain`` as in ``fit_candidates``."""
    most = max(max(low[1], high[1]) for low, high in sides)
    start = np.zeros((len(sides), 3 + 2 * most))
    best = found.parameters[found.best]
    start[:, :3] = best[:3]
    had = (best.size - 3) // 2
    for row, pair in zip(start, sides, strict=True):
        for side in (0, 1):
            kept = _powers(found.sides[found.best][side], best[3 + side * had : 3 + (side + 1) * had])
            degree, terms = pair[side]
            row[3 + side * most : 3 + side * most + terms] = [kept.get(degree - 1 - j, 0.0) for j in range(terms)]
    return fit_candidates(sides, start, swept, no_gain=no_gain)


def _powers(side: Side, terms: FloatArray) -> dict[int, float]:
    """The coefficients of a side's polynomial by their power."""
    degree, fitted = side
    lower = {degree - 1 - j: float(terms[j]) for j in range(fitted)}
    return lower | {degree: 1.0 - sum(lower.values())}
