"""Propagation of an uncertainty budget by Monte Carlo, the independent check of it (JCGM 101:2008)."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.budget_line import BudgetError
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, last_place
from vibcal_nb.metrology.uncertainty.draws import draw_inputs, require_drawable

#: A measurement model: takes one array of draws per budget line, in the lines' order, returns the outputs.
Model = Callable[..., FloatArray]
Interval = tuple[float, float]

_CHUNK = 1 << 14  # trials drawn at a time: twelve lines of them stay in a core's cache


@dataclass(frozen=True, kw_only=True)
class MonteCarloResult:
    """What the draws of the output say; estimate, uncertainty and intervals in the unit of the result.

    ``standard_uncertainty`` is None, with the reason in ``undetermined``, where a line has so few degrees of
    freedom that the output has no finite variance; the intervals hold all the same. ``tolerance`` and
    ``stable`` belong to an adaptive number of trials: whether mean, standard deviation and both ends of the
    interval settled within the numerical tolerance.
    """

    budget: Budget
    method: str
    trials: int
    probability: float
    estimate: float
    standard_uncertainty: float | None
    undetermined: str | None
    shortest_interval: Interval
    symmetric_interval: Interval
    tolerance: float | None = None
    stable: bool | None = None


def propagate(
    budget: Budget,
    *,
    rng: np.random.Generator,
    trials: int = 1_000_000,
    probability: float = PROBABILITY,
    model: Model | None = None,
    estimates: Mapping[str, float] | None = None,
) -> MonteCarloResult:
    """Propagate the distributions of the budget's lines through its linear sum, or through ``model``.

    Without a model the output is the budget's estimate (zero if it has none) plus the sum of c_i x_i. With
    one, each line's draws are centred on its entry in ``estimates`` (by line name; zero if not named), the
    sensitivity coefficients are not used, and ``model(*inputs)`` gets one array of trials per line.

    Source: JCGM 101:2008, clauses 5.9, 6.4 and 7.2 to 7.7. Raises ``BudgetError`` for lines that cannot be
    drawn, for fewer than 100 / (1 - probability) trials and for a model that returns what is not finite.
    """
    _require_trials(trials, probability)
    outputs = _draw_outputs(budget, rng, trials, model=model, estimates=estimates)
    return _summarize(budget, outputs, probability, "JCGM 101:2008, clause 7, fixed number of trials")


def propagate_adaptively(
    budget: Budget,
    *,
    rng: np.random.Generator,
    digits: int = 2,
    tolerance: float | None = None,
    max_trials: int = 10_000_000,
    probability: float = PROBABILITY,
    model: Model | None = None,
    estimates: Mapping[str, float] | None = None,
) -> MonteCarloResult:
    """Propagate with as many trials as make the result stable, at most ``max_trials``.

    Blocks of M = max(100 / (1 - p), 10 000) trials are added until twice the standard deviation of the mean
    over the blocks is below the numerical tolerance for the estimate, u(y) and both ends of the shortest and
    of the symmetric interval. The tolerance is that of ``digits`` significant digits of u(y) unless given.
    Where ``max_trials`` comes first, ``stable`` is False.

    Source: JCGM 101:2008, clause 7.9. Raises as ``propagate`` does, and where u(y) is undetermined.
    """
    _require_trials(max_trials, probability)
    reason = _no_variance(budget)
    if reason:
        raise BudgetError(f"no number of trials makes the result stable: {reason}; use a fixed number of trials")
    block = max(minimum_trials(probability), 10_000)
    blocks: list[FloatArray] = []
    statistics: list[list[float]] = []
    reached, stable = tolerance, False
    while not stable and (not blocks or (len(blocks) + 1) * block <= max_trials):
        blocks.append(_draw_outputs(budget, rng, block, model=model, estimates=estimates))
        statistics.append(_block_statistics(blocks[-1], probability))
        reached, stable = _settled(np.array(statistics), block, tolerance, digits)
    method = "JCGM 101:2008, clause 7.9, adaptive number of trials"
    return _summarize(budget, np.concatenate(blocks), probability, method, tolerance=reached, stable=stable)


def shortest_interval(ordered: FloatArray, *, probability: float = PROBABILITY) -> Interval:
    """Return the shortest interval that holds this share of the ascending values (JCGM 101:2008, 7.7)."""
    q = _covered(ordered, probability)
    first = int(np.argmin(ordered[q:] - ordered[:-q]))
    return float(ordered[first]), float(ordered[first + q])


def symmetric_interval(ordered: FloatArray, *, probability: float = PROBABILITY) -> Interval:
    """Return the interval with as many of the ascending values below as above it (JCGM 101:2008, 7.7)."""
    q = _covered(ordered, probability)
    r = (len(ordered) - q + 1) // 2  # counted from 1, as in the clause
    return float(ordered[r - 1]), float(ordered[r - 1 + q])


def numerical_tolerance(u: float, *, digits: int = 2) -> float:
    """Return half a unit in the last of ``digits`` significant digits of ``u`` (JCGM 101:2008, 7.9.2)."""
    return 0.5 * 10.0 ** last_place(u, digits=digits)


def minimum_trials(probability: float) -> int:
    """Return the least number of trials, 100 / (1 - p) (JCGM 101:2008, 7.9.4)."""
    return math.ceil(round(100.0 / (1.0 - probability), 6))


def _covered(ordered: FloatArray, probability: float) -> int:
    return int(probability * len(ordered) + 0.5)


def _require_trials(trials: int, probability: float) -> None:
    if not 0.0 < probability < 1.0:
        raise BudgetError(f"coverage probability is {probability}; give a number between 0 and 1, as 0.95")
    if trials < minimum_trials(probability):
        raise BudgetError(
            f"{trials} trials are too few for a {100 * probability:g} % interval; "
            f"give at least {minimum_trials(probability)}, better a million"
        )


def _draw_outputs(
    budget: Budget,
    rng: np.random.Generator,
    trials: int,
    *,
    model: Model | None,
    estimates: Mapping[str, float] | None,
) -> FloatArray:
    require_drawable(budget)
    centres = _centres(budget, estimates)
    coefficients = np.array([line.sensitivity_coefficient for line in budget.lines])
    outputs = np.empty(trials)
    for start in range(0, trials, _CHUNK):
        part = outputs[start : start + _CHUNK]
        inputs = np.empty((len(budget.lines), len(part)))
        draw_inputs(budget, rng, inputs)
        if model is None:
            np.matmul(coefficients, inputs, out=part)
        else:
            part[:] = model(*(inputs + centres[:, np.newaxis]))
    if model is None:
        return outputs + (budget.estimate or 0.0)
    if not np.isfinite(outputs).all():
        raise BudgetError("the measurement model returned a value that is not finite; restrict its inputs")
    return outputs


def _centres(budget: Budget, estimates: Mapping[str, float] | None) -> FloatArray:
    estimates = estimates or {}
    names = [line.name for line in budget.lines]
    unknown = sorted(set(estimates) - set(names))
    if unknown:
        raise BudgetError(f"there is an estimate for '{unknown[0]}' but no such line; lines are {', '.join(names)}")
    return np.array([float(estimates.get(name, 0.0)) for name in names])


def _summarize(
    budget: Budget,
    outputs: FloatArray,
    probability: float,
    method: str,
    *,
    tolerance: float | None = None,
    stable: bool | None = None,
) -> MonteCarloResult:
    reason = _no_variance(budget)
    outputs.sort()
    return MonteCarloResult(
        budget=budget,
        method=method,
        trials=len(outputs),
        probability=probability,
        estimate=float(outputs.mean()),
        standard_uncertainty=None if reason else float(outputs.std(ddof=1)),
        undetermined=reason,
        shortest_interval=shortest_interval(outputs, probability=probability),
        symmetric_interval=symmetric_interval(outputs, probability=probability),
        tolerance=tolerance,
        stable=stable,
    )


def _no_variance(budget: Budget) -> str | None:
    for line in budget.lines:
        if line.distribution == "normal" and line.degrees_of_freedom <= 2.0:
            return (
                f"the t distribution of line '{line.name}' on {line.degrees_of_freedom:g} degrees of freedom "
                "has no finite variance"
            )
    return None


def _block_statistics(outputs: FloatArray, probability: float) -> list[float]:
    outputs.sort()
    ends = shortest_interval(outputs, probability=probability) + symmetric_interval(outputs, probability=probability)
    return [float(outputs.mean()), float(outputs.std(ddof=1)), *ends]


def _settled(statistics: FloatArray, block: int, tolerance: float | None, digits: int) -> tuple[float | None, bool]:
    """Return the tolerance in force and whether all averages over the blocks lie within it (7.9.4)."""
    count = len(statistics)
    if count < 2:
        return tolerance, False
    if tolerance is None:
        means, deviations = statistics[:, 0], statistics[:, 1]
        squares = (block - 1) * np.sum(deviations**2) + block * np.sum((means - means.mean()) ** 2)
        u = math.sqrt(squares / (count * block - 1))  # of all trials so far
        tolerance = numerical_tolerance(u, digits=digits) if u > 0.0 else math.inf
    spread = np.std(statistics, axis=0, ddof=1) / math.sqrt(count)
    return tolerance, bool((2.0 * spread < tolerance).all())
