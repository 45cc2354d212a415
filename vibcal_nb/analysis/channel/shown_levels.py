"""What the readings at one frequency show by themselves: level by level what the channel indicated.

A set point is read off them where no line holds: the output comes to it between two levels that were driven.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.readings.grouping import REACHED, SAME_LEVEL_PCT, group_close
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.model.case import Case

_ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True)
class ShownLevel:
    """A level that was driven: ``x`` in the input unit, ``y`` the output less zero, means of its readings.

    ``top`` is the highest of them. ``u_x`` is the standard uncertainty of the level that gives ``y`` without what is
    common to all, ``U`` the expanded uncertainty with all that is; both in the input unit.
    """

    x: float
    top: float
    y: float
    u_x: float
    U: float


def shown_levels(result: LinearityResult, item: FrequencyLinearity) -> tuple[ShownLevel, ...]:
    """Return the levels that were driven at a frequency, ascending; readings within 3 % are one level."""
    points = [p for p in item.points if p.used and not p.failure_signal and p.x > 0.0 and p.expanded is not None]
    groups = group_close(np.array([p.x for p in points]), within_pct=SAME_LEVEL_PCT)
    return tuple(_shown([points[int(i)] for i in group], result.case) for group in groups)


def _shown(points: Sequence[JudgedPoint], case: Case) -> ShownLevel:
    """One level; where its readings scatter more than was stated for them, the scatter counts."""
    x, y = (float(np.mean([getattr(p, name) for p in points])) for name in ("x", "y"))
    stated = [_own(p, case) for p in points]
    scatter = 0.0
    if len(points) > 1 and y > 0.0:
        scatter = x * float(np.std([p.y / p.x for p in points], ddof=1)) / (y / x) / math.sqrt(len(points))
    u_x = max(math.sqrt(math.fsum(u**2 for u in stated)) / len(points), scatter)
    U = max(_scale(p, case) * p.expanded.U / 100.0 for p in points if p.expanded)
    return ShownLevel(x=x, top=max(p.x for p in points), y=y, u_x=u_x, U=U)


def _own(point: JudgedPoint, case: Case) -> float:
    assert point.expanded is not None  # chosen so
    own_pct = math.sqrt(max(point.expanded.u**2 - (point.common_u_pct or 0.0) ** 2, 0.0))
    return _scale(point, case) * own_pct / 100.0


def _scale(point: JudgedPoint, case: Case) -> float:
    """What the percentages of a reading are of, in the input unit."""
    return float(case.channel.full_scale or point.x) if point.of_span else point.x


@dataclass(frozen=True, kw_only=True)
class Bracket:
    """The two neighbouring levels between which the output first comes to what is looked for."""

    below: ShownLevel
    above: ShownLevel
    outer_below: ShownLevel | None
    outer_above: ShownLevel | None


def find_bracket(levels: Sequence[ShownLevel], output: float) -> Bracket | None:
    """Return the levels around an ``output`` less zero; None where all lie on one side of it."""
    for i, (below, above) in enumerate(pairwise(levels)):
        if below.y < output * (1.0 - _ROUNDING) <= above.y:
            outer = levels[i - 1] if i else None, levels[i + 2] if i + 2 < len(levels) else None
            return Bracket(below=below, above=above, outer_below=outer[0], outer_above=outer[1])
    return None


def read_off(bracket: Bracket, output: float) -> tuple[float, float]:
    """Return the level at which the output is reached, read off between the two, and its own standard uncertainty.

    Straight between the two. What a curve could do between them is bounded by the straight lines through each and its
    outer neighbour (a curve that bends one way all along lies between those and the straight line); of a rectangle of
    that half-width, or of the whole bracket where there are no neighbours (JCGM 100:2008, 4.3.7).
    """
    low, high = bracket.below, bracket.above
    share = (output - low.y) / (high.y - low.y)
    level = low.x + share * (high.x - low.x)
    return level, math.hypot((1.0 - share) * low.u_x, share * high.u_x, _bend(bracket, output, level) / math.sqrt(3.0))


def _bend(bracket: Bracket, output: float, level: float) -> float:
    """The half-width that a curve between the two leaves, in the input unit."""
    low, high = bracket.below, bracket.above
    outside = ((bracket.outer_below, low), (bracket.outer_above, high))
    found = [_aside(outer, inner, bracket, output, level) for outer, inner in outside if outer is not None]
    if not found:
        return 0.5 * (high.x - low.x)
    aside = [0.0 if abs(d) <= 2.0 * noise else d for d, noise in found]
    one_way = all(d >= 0.0 for d in aside) or all(d <= 0.0 for d in aside)
    return (min if one_way else max)(abs(d) for d, _ in found)


def _aside(outer: ShownLevel, inner: ShownLevel, bracket: Bracket, output: float, level: float) -> tuple[float, float]:
    """How far from ``level`` the line through two neighbours comes to the output, within the bracket; and its noise."""
    slope = (inner.y - outer.y) / (inner.x - outer.x)
    at = inner.x + (output - inner.y) / slope if slope > 0.0 else math.copysign(math.inf, output - inner.y)
    share = abs((level - inner.x) / (inner.x - outer.x))
    noise = math.hypot((1.0 + share) * inner.u_x, share * outer.u_x)
    return min(max(at, bracket.below.x), bracket.above.x) - level, noise


def just_beyond(levels: Sequence[ShownLevel], output: float) -> tuple[float, float] | None:
    """Return the level at which the output would be reached a little beyond the highest, and its own u; else None.

    Within 3 % of the highest level, which is as near as levels are told apart. Half the way between the line through
    the last two levels and the one from zero through the last; of a rectangle that reaches both.
    """
    if len(levels) < 2:
        return None
    before, last = levels[-2], levels[-1]
    slope = (last.y - before.y) / (last.x - before.x)
    if slope <= 0.0 or not 0.0 < last.y < output:
        return None
    ends = last.x + (output - last.y) / slope, last.x * output / last.y
    if max(ends) > last.x / REACHED:
        return None
    share = (output - last.y) / (last.y - before.y)
    noise = math.hypot((1.0 + share) * last.u_x, share * before.u_x)
    return 0.5 * (ends[0] + ends[1]), math.hypot(noise, 0.5 * abs(ends[0] - ends[1]) / math.sqrt(3.0))


def silent_beyond(
    levels: Sequence[ShownLevel], *, output: float, set_level: float, allowed: Callable[[float], float]
) -> ShownLevel | None:
    """Return the highest level where ``output`` was not reached there although any good channel reaches it; else None.

    That is beyond ``set_level`` by more than what is ``allowed`` at the level, and by its U; both in the input unit.
    """
    top = max(levels, key=lambda s: s.x, default=None)
    if top is None or top.y >= output * (1.0 - _ROUNDING) or top.x - top.U - allowed(top.x) <= set_level:
        return None
    return top
