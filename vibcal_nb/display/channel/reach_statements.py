"""Where a channel's set points stand in true vibration, in words: one by one, in short, and which do not act."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.analysis.channel.reach_point import DEMONSTRATED, DOES_NOT_ACT, INFERRED, PROVED, ReachPoint
from vibcal_nb.display.writing.names import capital, listed
from vibcal_nb.display.writing.numbers import frequency, number, percent, with_uncertainty


def at_rotor(point: ReachPoint) -> str:
    """Write the speed of a set point, with its rotor."""
    return f" at {frequency(point.frequency_hz)}" + (f" ({point.rotor.name})" if point.rotor else "")


def silent_clause(point: ReachPoint, unit: str) -> str:
    """Say of a set point that the channel does not act on it: how far it was driven, and what it indicated there."""
    if point.silent_pct is None:
        return (
            f"{point.set_point} {point.set_level:g} {unit}{at_rotor(point)} does not act: driven to "
            f"{number(point.highest_level or 0.0, digits=3)} {unit}, its relay did not come"
        )
    driven, share = point.highest_level or 0.0, 100.0 * (point.highest_level or 0.0) / point.set_level
    return (
        f"{point.set_point} {point.set_level:g} {unit}{at_rotor(point)} does not act: driven to "
        f"{number(driven, digits=3)} {unit}, {share:.0f} % of it, the channel indicated {point.silent_pct or 0.0:.0f} %"
    )


def stand_in_short(result: ChannelVerdict) -> str:
    """Say where the set points stand in true vibration, as far as they are known; empty where none is."""
    known = [point for point in result.reach if point.true_level is not None]
    unit = result.case.input_unit.shown
    parts = []
    for speed in dict.fromkeys(point.frequency_hz for point in known):
        here = [point for point in known if point.frequency_hz == speed]
        parts.append(f"{listed([_in_short(point) for point in here])} {unit}{at_rotor(here[0])}")
    return "; ".join(parts)


def _in_short(point: ReachPoint) -> str:
    inferred = " (inferred)" if point.status == INFERRED else ""
    return f"{point.set_point}, set at {point.set_level:g}, comes at a true {number(point.true_level or 0.0)}{inferred}"


def reach_sentence(point: ReachPoint, result: ChannelVerdict) -> str:
    """Say where a set point is indicated, how well that is known, and how far it was shown."""
    unit = result.case.input_unit.shown
    name = f"{capital(point.set_point)} {point.set_level:g} {unit}{at_rotor(point)}"
    on = ""
    if point.extrapolated_level is not None:
        on = f"; if the line went on straight, it would be indicated at {number(point.extrapolated_level)} {unit}"
    if point.status == DOES_NOT_ACT:
        return f"{capital(silent_clause(point, unit))}{on}"
    if point.true_level is None or point.expanded is None or point.reading_error_pct is None:
        return f"{name}: not verified: {point.reason}{on}"
    value = f"{with_uncertainty(point.true_level, point.expanded)} {unit} of true vibration"
    if point.status == PROVED:
        error = percent(point.reading_error_pct, decimals=1)
        return f"{name} acts at {value} (reading error {error}): proved through its relay"
    text = (
        f"{name} is indicated at {value} (reading error {percent(point.reading_error_pct, decimals=1)}): {point.status}"
    )
    if point.status == DEMONSTRATED:
        return f"{text}, driven to {number(point.highest_level or 0.0, digits=3)} {unit}"
    return f"{text} from {point.basis}{_beyond(point, unit)}"


def _beyond(point: ReachPoint, unit: str) -> str:
    if point.extrapolation_adds is None or point.reached_pct is None:
        return ""
    text = f"; the readings came to {min(point.reached_pct, 100.0):.0f} % of it"
    if point.extrapolation_adds > 0.0:
        text += f", and what a bend may do beyond them adds {number(point.extrapolation_adds, digits=2)} {unit} to U"
    return text


def stood_sentences(reach: tuple[ReachPoint, ...], unit: str) -> Iterator[str]:
    """Say where the set points stood that a channel was found with: those that moved, and those that did not."""
    known = [p for p in reach if p.true_level is not None and p.expanded is not None]
    moved = [p for p in known if p.expanded and abs((p.true_level or 0.0) - p.set_level) > p.expanded.U]
    if moved:
        yield f"So these set points stood elsewhere in true vibration: {listed([_true_place(p, unit) for p in moved])}"
    kept = [p for p in known if p not in moved]
    if kept:
        named = listed([f"{p.set_point}{at_rotor(p)}" for p in kept])
        yield (
            f"Within its uncertainty {named} stood where it was set"
            if len(kept) == 1
            else (f"Within their uncertainties {named} stood where they were set")
        )
    for point in reach:
        if point.status == DOES_NOT_ACT:
            yield capital(silent_clause(point, unit)).replace("does not act", "did not act")
    unknown = [f"{p.set_point}{at_rotor(p)}" for p in reach if p.true_level is None and p.status != DOES_NOT_ACT]
    if unknown:
        yield f"Where {listed(unknown)} stood was not verified"


def _true_place(point: ReachPoint, unit: str) -> str:
    assert point.true_level is not None  # chosen so
    assert point.expanded is not None
    value = f"{with_uncertainty(point.true_level, point.expanded)} {unit}"
    return f"{point.set_point}{at_rotor(point)} at {value} in place of {point.set_level:g}"
