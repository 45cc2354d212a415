"""What a few more readings would do for the power of a plan, the most for the fewest first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from vibcal_nb.analysis.planning.beyond_reach import reach_of
from vibcal_nb.analysis.planning.channel_plan import plan_channel
from vibcal_nb.analysis.planning.expected_output import expect_linearity
from vibcal_nb.analysis.planning.plan import ChannelPlan, PlannedPoint
from vibcal_nb.analysis.planning.planned_case import Instruments
from vibcal_nb.analysis.planning.power import TRIALS, PowerFigure, find_power
from vibcal_nb.analysis.planning.simulated_faults import ChannelFault
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY, SHAKER_TESTS
from vibcal_nb.problems import NothingToPlan

BEYOND_TRIP = (1.25, 1.5, 1.75, 2.0)
LEAST_GAIN = 0.02  # of power: less is not worth a reading
ALREADY_SURE = 0.99


@dataclass(frozen=True, kw_only=True)
class MoreReadings:
    """More readings, what they are, and what they do for the fault they help most; ``plan`` holds them too."""

    what: str
    extra: tuple[PlannedPoint, ...]
    before: PowerFigure
    after: PowerFigure
    plan: ChannelPlan

    @property
    def gain_per_reading(self) -> float:
        """By how much the power rises for each reading."""
        return (self.after.probability - self.before.probability) / len(self.extra)


@dataclass(frozen=True, kw_only=True)
class PlanPower:
    """What a plan finds: false alarms first, then each fault; the smallest gain error found 19 times in 20, in %."""

    figures: tuple[PowerFigure, ...]
    smallest_gain_error_pct: float | None
    suggestions: tuple[MoreReadings, ...]


def suggest_more_readings(
    plan: ChannelPlan,
    faults: Sequence[ChannelFault],
    *,
    instruments: Instruments,
    rng: np.random.Generator,
    trials: int = TRIALS,
    most: int = 4,
) -> tuple[MoreReadings, ...]:
    """Suggest readings that raise the power for at least one of ``faults``, one suggestion a fault and kind.

    Every candidate is simulated on the same errors as the plan itself. Faults found already 99 times in 100
    get no suggestion. Raises ``AnalysisRefused`` as `find_power` does.
    """
    seed = int(rng.integers(2**62))

    def power(of: ChannelPlan) -> tuple[PowerFigure, ...]:
        return find_power(of, faults, instruments=instruments, rng=np.random.default_rng(seed), trials=trials)

    before = power(plan)
    if all(figure.probability >= ALREADY_SURE for figure in before):
        return ()
    found = []
    for what, extra in _candidates(plan):
        longer = replace(plan, points=(*plan.points, *extra))
        pairs = zip(before, power(longer), strict=True)
        old, new = max(pairs, key=lambda pair: pair[1].probability - pair[0].probability)
        if new.probability - old.probability >= LEAST_GAIN:
            found.append(MoreReadings(what=what, extra=extra, before=old, after=new, plan=longer))
    return tuple(_best(found)[:most])


def _best(found: Iterable[MoreReadings]) -> list[MoreReadings]:
    """Per fault the suggestions that no other beats with as few readings, the most for the fewest first."""
    ordered = sorted(found, key=lambda s: (-s.gain_per_reading, len(s.extra)))
    kept: list[MoreReadings] = []
    for item in ordered:
        rivals = [k for k in kept if k.before.fault == item.before.fault]
        if all(item.after.probability > k.after.probability + LEAST_GAIN for k in rivals):
            kept.append(item)
    return kept


def _candidates(plan: ChannelPlan) -> Iterator[tuple[str, tuple[PlannedPoint, ...]]]:
    yield from _higher_levels(plan)
    yield from _repeated_runs(plan)
    yield from _repeated_limits(plan)
    yield from _missing_tests(plan)


def _higher_levels(plan: ChannelPlan) -> Iterator[tuple[str, tuple[PlannedPoint, ...]]]:
    """Levels well above the trip, where a clipped output shows."""
    channel = plan.channel
    for frequency in _linearity_frequencies(plan):
        run = [p for p in plan.of_test(LINEARITY) if p.frequency_hz == frequency]
        reach, _ = reach_of(
            plan.shaker,
            frequency_hz=frequency,
            moving_mass_kg=plan.moving_mass_kg,
            unit=channel.input_unit,
            overhang_mm=plan.channel.overhang_mm or 0.0,
        )
        highest = min(reach, channel.full_scale or reach)
        for factor in BEYOND_TRIP if channel.trip else ():
            level = float(f"{factor * (channel.trip or 0.0):.3g}")
            if max(p.level for p in run) < level <= highest:
                point = replace(
                    run[-1],
                    level=level,
                    output=expect_linearity(channel).at(level),
                    purpose="above the trip",
                    reduced=False,
                )
                yield f"one more level, {level:g} {channel.input_unit} at {frequency:.5g} Hz", (point,)


def _linearity_frequencies(plan: ChannelPlan) -> list[float]:
    return list(dict.fromkeys(point.frequency_hz for point in plan.of_test(LINEARITY)))


def _repeated_runs(plan: ChannelPlan) -> Iterator[tuple[str, tuple[PlannedPoint, ...]]]:
    for frequency in _linearity_frequencies(plan):
        run = tuple(p for p in plan.of_test(LINEARITY) if p.frequency_hz == frequency)
        again = tuple(replace(p, direction="falling", repeat=2) for p in reversed(run))
        yield f"the levels at {frequency:.5g} Hz once more, falling ({len(again)} readings)", again


def _repeated_limits(plan: ChannelPlan) -> Iterator[tuple[str, tuple[PlannedPoint, ...]]]:
    """A second reading where a limit of the band hangs on a single one."""
    for point in plan.of_test(BAND_RESPONSE):
        if point.purpose in ("lower corner", "upper corner", "limit", "edge of the flat part"):
            yield f"a second reading at {point.frequency_hz:.5g} Hz ({point.purpose})", (replace(point, repeat=2),)


def _missing_tests(plan: ChannelPlan) -> Iterator[tuple[str, tuple[PlannedPoint, ...]]]:
    for test in SHAKER_TESTS:
        if plan.of_test(test):
            continue
        try:
            other = plan_channel(plan.channel, shaker=plan.shaker, moving_mass_kg=plan.moving_mass_kg, tests=[test])
        except NothingToPlan:
            continue
        yield f"the test {test} as well ({len(other.points)} readings)", other.points
