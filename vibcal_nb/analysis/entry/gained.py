"""What further readings would add: the chance that a fault is found without them and with them, by simulation."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from vibcal_nb.analysis.entry.steps import Step
from vibcal_nb.analysis.planning.plan import ChannelPlan, PlannedPoint
from vibcal_nb.analysis.planning.planned_case import Instruments
from vibcal_nb.analysis.planning.power import PowerFigure, find_power
from vibcal_nb.analysis.planning.simulated_faults import ChannelFault

TRIALS = 300
LEAST_GAIN = 0.05  # of power; fewer trials than a plan's own tell no smaller one apart
MOST = 8
MOST_SINGLE = 12


@dataclass(frozen=True, kw_only=True)
class Gained:
    """What so many further readings add for the fault that they help most; ``points`` are the readings."""

    points: tuple[PlannedPoint, ...]
    fault: ChannelFault
    before: float
    after: float


def gained_by(
    plan: ChannelPlan,
    left: Sequence[Step],
    faults: Sequence[ChannelFault],
    *,
    instruments: Instruments,
    rng: np.random.Generator,
) -> tuple[Gained, ...]:
    """Return what each single reading that is ``left`` would add, and all that are left of a test, most first.

    All are simulated with the same errors. Raises ``AnalysisRefused`` as `find_power` does.
    """
    missing = [point for point in plan.points if any(_is(point, step) for step in left)]
    done = tuple(point for point in plan.points if point not in missing)
    seed = int(rng.integers(2**62))

    def power(points: tuple[PlannedPoint, ...]) -> tuple[PowerFigure, ...]:
        of = replace(plan, points=points)
        return find_power(of, faults, instruments=instruments, rng=np.random.default_rng(seed), trials=TRIALS)

    before = [figure.probability for figure in power(done)] if done else [0.0] * len(faults)
    found = []
    for extra in _candidates(missing):
        after = power((*done, *extra))
        best = max(range(len(faults)), key=lambda place: after[place].probability - before[place])
        if after[best].probability - before[best] >= LEAST_GAIN:
            figure = after[best]
            found.append(Gained(points=extra, fault=figure.fault, before=before[best], after=figure.probability))
    return tuple(sorted(found, key=lambda item: (item.before - item.after, len(item.points)))[:MOST])


def _candidates(missing: Sequence[PlannedPoint]) -> Iterable[tuple[PlannedPoint, ...]]:
    yield from _tests(missing)
    if len(missing) <= MOST_SINGLE:
        yield from ((point,) for point in missing)


def _tests(missing: Sequence[PlannedPoint]) -> Iterator[tuple[PlannedPoint, ...]]:
    for test in dict.fromkeys(point.test for point in missing):
        points = tuple(point for point in missing if point.test == test)
        if len(points) > 1 or len(missing) > MOST_SINGLE:
            yield points


def _is(point: PlannedPoint, step: Step) -> bool:
    """Whether a step is a point of the plan."""
    same = (point.test, point.direction, point.repeat or 1) == (step.test, step.direction, step.repeat or 1)
    near = abs(point.frequency_hz - step.frequency_hz) <= 1e-4 * max(point.frequency_hz, 1.0)
    return same and near and step.level is not None and abs(point.level / step.level - 1.0) < 0.01
