"""Explanations of a channel's readings as sentences: what to ask first, how likely, how well it fits, what they do."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.faults.behaviour import Tendency, TestBehaviour, describe_behaviour
from vibcal_nb.analysis.faults.explanation import Explanation, FaultExplanations
from vibcal_nb.analysis.faults.fault_families import HEALTHY, NONE_OF_THESE
from vibcal_nb.analysis.faults.ranking import MOST_WEIGHT
from vibcal_nb.display.faults.fault_sizes import K, pull_in_words, sizes
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import fixed, frequency
from vibcal_nb.model.names import SHAKER_TESTS

KNOWN = "among the faults known here"
_DESCRIBED = 2  # tests of which the clearest are described


def share(weight: float) -> str:
    """Write a weight in %, never above what simulated channels bore out."""
    if weight > MOST_WEIGHT:
        return f"> {100.0 * MOST_WEIGHT:g} %"
    return "< 0.1 %" if weight < 0.001 else f"{100.0 * weight:.1f} %"


def leaves(found: FaultExplanations, item: Explanation) -> str:
    """Say what an explanation leaves of the reading that it fits worst, and that reading's U."""
    worst = found.remainder(item)
    return f"{fixed(100.0 * worst.left, decimals=1, signed=True)} %, its U {100.0 * K * worst.u:.1f} %"


def top_sentence(found: FaultExplanations) -> str:
    """Say what to ask first, the likeliest explanation, how well it fits and what cannot be told from it."""
    top = found.top
    if top.name == NONE_OF_THESE:
        return _capital(_asked_first(found), f"{_none(found)} {behaviour_sentence(found)}")
    size = sizes(found, top)
    said = f"likeliest explanation {KNOWN}: {top.name} ({share(top.weight)}; worst remainder {leaves(found, top)})"
    said += f", {size}" if size else ""
    if top.alike:
        said += f"; these readings cannot tell it from {', '.join(top.alike)}"
    if top.pulls:
        said += f"; yet it needs {'; '.join(pull_in_words(found, pull) for pull in top.pulls)}, which it does not name"
    elif found.poor:
        said += "; yet it does not fit the readings"
    return _capital(_asked_first(found), f"{said}.")


def explanation_step(found: FaultExplanations) -> str:
    """Name what explains the readings of a channel that fails, or say that nothing known does, and where to go on."""
    top = found.top
    if top.name == HEALTHY:
        fit = f"{share(top.weight)} {KNOWN}; worst remainder {leaves(found, top)}"
        said = _capital(
            _asked_first(found), f"no fault explains the readings better than a channel without one ({fit})"
        )
    elif found.poor:
        nearest = _nearest(found)
        left = f"the nearest, {nearest.name}, leaves {leaves(found, nearest)}"
        said = _capital(_asked_first(found), f"none of the faults known here explains the readings; {left}")
    else:
        said = top_sentence(found).removesuffix(".")
    return f"{said}. A finding and not a verdict: fault_finding.ipynb draws it and says what to measure to be sure"


def _capital(first: str, said: str) -> str:
    return f"{first}{said}" if first else said[0].upper() + said[1:]


def _asked_first(found: FaultExplanations) -> str:
    """The rows that a person is asked about before any fault, and on what the rest then rests."""
    if not found.slips:
        return ""
    asked = " ".join(f"{_rows(slip.rows)}: {slip.question}" for slip in found.slips)
    return f"Ask first about {asked} As they were probably meant: "


def _rows(rows: tuple[int, ...]) -> str:
    if len(rows) == 1:
        return f"row {rows[0]}"
    return (
        f"rows {rows[0]} to {rows[-1]}" if rows[-1] - rows[0] == len(rows) - 1 else f"rows {', '.join(map(str, rows))}"
    )


def _none(found: FaultExplanations) -> str:
    """None explains it; the nearest, with what it leaves."""
    nearest = _nearest(found)
    pulled = "".join(f"; it needs {pull_in_words(found, pull)}" for pull in nearest.pulls[:1])
    left = f"worst remainder {leaves(found, nearest)}{pulled}"
    return f"none of the faults known here explains the readings; the nearest is {nearest.name} ({left})."


def _nearest(found: FaultExplanations) -> Explanation:
    return next(item for item in found.explanations if item.name not in (HEALTHY, NONE_OF_THESE))


def behaviour_sentence(found: FaultExplanations) -> str:
    """Say what the readings do, whether or not anything explains it."""
    tests = describe_behaviour(found.readings)[:_DESCRIBED]
    return f"What they do: {'; '.join(_of_test(found, item) for item in tests)}."


def _of_test(found: FaultExplanations, item: TestBehaviour) -> str:
    parts = [f"{_percent(item.mean)} in the mean", *_trends(item.trends)]
    unit = found.readings.channel.input_unit.shown
    level = f"{item.level * found.readings.full_scale:.3g} {unit}"
    parts.append(
        f"most in row {item.row} at {frequency(item.frequency_hz)} and {level}, {_percent(item.worst)}"
        f" ({abs(item.sigma):.0f} σ)"
    )
    if item.readings > 2:
        parts.append(f"scatter {100.0 * item.scatter:.1f} %")
    return f"{spoken(SHAKER_TESTS[item.test])} {', '.join(parts)}"


def _trends(trends: tuple[Tendency, ...]) -> Iterator[str]:
    for trend in trends:
        yield f"{_percent(trend.change)} along the {trend.along}"


def _percent(value: float) -> str:
    return f"{fixed(100.0 * value, decimals=1, signed=True)} %"
