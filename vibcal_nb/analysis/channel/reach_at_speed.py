"""What the readings at one frequency say of an output that the channel has to come to there.

*Does not act*: it was driven beyond, farther than its tolerance and the uncertainty of the level explain, and did not
come to it. *Demonstrated*: levels were driven on both sides of it, neither farther than twice or half of it, and the
output came to it. *Inferred*: a line that the readings follow comes to it, not farther from them than half as far
again. The factors are judgement, no source. Where no line holds, the level is read off the readings around it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vibcal_nb.analysis.channel.level_on_line import FoundLevel, common_pct, holds_beyond, level_on_line
from vibcal_nb.analysis.channel.reach_point import DEMONSTRATED, DOES_NOT_ACT, INFERRED, Status
from vibcal_nb.analysis.channel.shown_levels import (
    Bracket,
    ShownLevel,
    find_bracket,
    just_beyond,
    read_off,
    shown_levels,
    silent_beyond,
)
from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED

MOST_EXTRAPOLATION = 1.5  # times the highest level driven, or a part of the lowest
WIDEST_BRACKET = 2.0  # times the level, and a part of it


@dataclass(frozen=True, kw_only=True)
class SpeedAnswer:
    """What the readings at one frequency say of an output.

    ``found`` is the level at which the output is reached, None where it cannot be said; where the status is ``not
    verified`` or ``does not act`` it is where a line would come to it. ``silent`` is the level at which the channel
    does not act. ``reason`` says why it is not verified. ``levels`` are those that were driven; ``off_the_line`` says
    that the level was read off them, because no line holds.
    """

    status: Status
    found: FoundLevel | None = None
    silent: ShownLevel | None = None
    reason: str | None = None
    levels: tuple[ShownLevel, ...] = ()
    off_the_line: bool = False


def reach_at_speed(result: LinearityResult, item: FrequencyLinearity, output: float) -> SpeedAnswer:
    """Say at which level the channel gives ``output`` (less its zero) at a frequency, and how that is known.

    ``output`` is what the channel gives at the set level if its sensitivity is nominal.
    """
    channel = result.case.channel
    levels = shown_levels(result, item)
    silent = silent_beyond(
        levels,
        output=output,
        set_level=output / result.case.nominal_sensitivity,
        allowed=lambda x: channel.tolerance.allowed(x, full_scale=channel.full_scale),
    )
    holds = item.line is not None and holds_beyond(item.line, channel.nonlinearity_pct)
    if silent is not None:
        found = level_on_line(result, item, output) if holds else None
        return SpeedAnswer(status=DOES_NOT_ACT, found=found, silent=silent, levels=levels)
    bracket = find_bracket(levels, output)
    if bracket is not None and not holds:
        return _off_the_readings(result, item, levels, bracket, output)
    near = just_beyond(levels, output)
    if near is not None and not holds:
        found = _read(result, item, levels, near, output)
        return SpeedAnswer(status=INFERRED, found=found, levels=levels, off_the_line=True)
    return _by_the_line(result, item, levels, bracket, output, holds=holds)


def _off_the_readings(
    result: LinearityResult,
    item: FrequencyLinearity,
    levels: tuple[ShownLevel, ...],
    bracket: Bracket,
    output: float,
) -> SpeedAnswer:
    found = _read(result, item, levels, read_off(bracket, output), output)
    if _leaves_too_much_open(found, result):
        unit = result.case.input_unit.shown
        reason = (
            f"no line holds, and the readings around it, at {bracket.below.x:.3g} and {bracket.above.x:.3g} {unit}, "
            f"leave {100.0 * found.own_U / found.level:.0f} % of it open"
        )
        return SpeedAnswer(status=NOT_VERIFIED, found=found, reason=reason, levels=levels)
    return SpeedAnswer(status=DEMONSTRATED, found=found, levels=levels, off_the_line=True)


def _read(
    result: LinearityResult,
    item: FrequencyLinearity,
    levels: tuple[ShownLevel, ...],
    level_and_u: tuple[float, float],
    output: float,
) -> FoundLevel:
    """A level that was read off, with its own standard uncertainty."""
    level, own = level_and_u
    return FoundLevel(
        level=level,
        u_line=own,
        u_misfit=0.0,
        u_bend=0.0,
        common_pct=common_pct(result, item, output),
        nu=result.uncertainty.degrees_of_freedom,
        lowest=levels[0].x,
        highest=levels[-1].top,
        highest_output=max(shown.y for shown in levels),
        probability=result.uncertainty.probability,
    )


def _by_the_line(
    result: LinearityResult,
    item: FrequencyLinearity,
    levels: tuple[ShownLevel, ...],
    bracket: Bracket | None,
    output: float,
    *,
    holds: bool,
) -> SpeedAnswer:
    if item.line is None:
        reason = item.undetermined["sensitivity"]
        return SpeedAnswer(status=NOT_VERIFIED, reason=reason, levels=levels)
    found = level_on_line(result, item, output)
    if found is None:
        reason = "the fitted line does not come to the set point"
        return SpeedAnswer(status=NOT_VERIFIED, reason=reason, levels=levels)
    gap = None if bracket is not None else _gap(found, item, result, holds=holds)
    if gap is not None:
        return SpeedAnswer(status=NOT_VERIFIED, found=found, reason=gap, levels=levels)
    near = bracket is not None and _is_near(bracket, found.level)
    return SpeedAnswer(status=DEMONSTRATED if near else INFERRED, found=found, levels=levels)


def _is_near(bracket: Bracket, level: float) -> bool:
    return level <= WIDEST_BRACKET * bracket.below.x and bracket.above.x <= WIDEST_BRACKET * level


def _gap(found: FoundLevel, item: FrequencyLinearity, result: LinearityResult, *, holds: bool) -> str | None:
    """Why a line does not go on from its readings to a level; None where it does."""
    at, unit = f"at {item.frequency_hz:.5g} Hz", result.case.input_unit.shown
    beyond = found.level > found.highest
    end = f"the readings {at} {'end' if beyond else 'begin'} at {found.highest if beyond else found.lowest:.3g} {unit}"
    if not holds:
        how = "bend" if item.line is not None and item.line.bends else "scatter"
        return f"{end} and {how} by more than the limit of non-linearity, so that no line goes on"
    if found.level > MOST_EXTRAPOLATION * found.highest or found.lowest > MOST_EXTRAPOLATION * found.level:
        return f"{end}, {100.0 * (found.highest if beyond else found.lowest) / found.level:.0f} % of it"
    if _leaves_too_much_open(found, result):
        return f"{end}, and the bend that they may have leaves {100.0 * found.own_U / found.level:.0f} % of it open"
    return None


def _leaves_too_much_open(found: FoundLevel, result: LinearityResult) -> bool:
    """Whether what is not common to all readings takes more of the tolerance than a pass may leave open."""
    channel = result.case.channel
    allowed = channel.tolerance.allowed(found.level, full_scale=channel.full_scale)
    return found.own_U > result.case.visit.decision.largest_u_share * allowed


def highest_of(levels: Sequence[ShownLevel]) -> float | None:
    """Return the highest level that was driven; None where none was."""
    return max((shown.top for shown in levels), default=None)
