"""The order of a side's filter, and its damping where it is of second order: the simplest that the readings accept.

Compared are Butterworth filters of orders about the likeliest, a second order of any damping, and the filter of any
shape by which the corner was found.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from scipy.special import chdtrc

from vibcal_nb.analysis.band_response.band_candidates import Candidates, Side
from vibcal_nb.analysis.band_response.band_search import fit_around
from vibcal_nb.analysis.band_response.filter_shape import damping_of
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.uncertainty.coverage import expand
from vibcal_nb.metrology.uncertainty.estimate import Estimate
from vibcal_nb.metrology.uncertainty.fitness import Fitness

ROUGHLY = 1e-5  # share of chi-squared: filters are compared, not measured
UNLIKELY = 1e-6  # weight of an order that is not looked at closely
REFUTES = 0.01  # significance at which a simple filter is given up
ALIKE = 3.0  # an order with a third of the best one's weight is not told from it
SECOND_ORDER: Side = (2, 1)
NO_DAMPING = "a damping ratio belongs to a second order, which the readings do not show"
OWN_SHAPE = "the filter's shape is that of no Butterworth filter and of no second order"


@dataclass(frozen=True, kw_only=True)
class OrderTold:
    """The order of a filter, None with ``why``, and the damping ratio of a second-order one."""

    order: int | None = None
    why: str | None = None
    damping: Estimate = field(default_factory=lambda: Estimate(why=NO_DAMPING))


def tell_orders(
    chosen: Candidates, butterworth: Candidates, fitness: Fitness, *, probability: float
) -> tuple[OrderTold, OrderTold]:
    """Tell the orders of the low and of the high side of a model that holds."""
    best = chosen.sides[chosen.best]
    tried = [_tried(side, best, butterworth) for side in (0, 1)]
    if not any(tried):
        return _by_weight(chosen, 0), _by_weight(chosen, 1)
    found = fit_around(chosen.swept, chosen, [*tried[0], *tried[1]], no_gain=ROUGHLY)
    rows = (range(len(tried[0])), range(len(tried[0]), len(found.sides)))
    low, high = (
        _compare(chosen, found, list(rows[side]), side, fitness, probability)
        if tried[side]
        else _by_weight(chosen, side)
        for side in (0, 1)
    )
    return low, high


def _tried(side: int, best: tuple[Side, Side], butterworth: Candidates) -> list[tuple[Side, Side]]:
    """The simple filters of one side to be tried beside the best filter of the other; none without terms."""
    if best[side][1] == 0:
        return []
    weights = _order_weights(butterworth, side)
    simple: list[Side] = [*((int(n), 0) for n in np.flatnonzero(weights > UNLIKELY) if n > 0), SECOND_ORDER]
    return [(item, best[1]) if side == 0 else (best[0], item) for item in simple]


def _by_weight(chosen: Candidates, side: int) -> OrderTold:
    """By the weights of the candidates, where no shape was fitted."""
    weights = _order_weights(chosen, side)
    order = int(chosen.degrees[chosen.best, side])
    rivals = [int(n) for n in np.flatnonzero(ALIKE * weights > weights[order]) if n != order]
    return _told(
        order, rivals, Estimate(why=NO_DAMPING if order != 2 else "the readings are too few to tell a damping")
    )


def _order_weights(found: Candidates, side: int) -> FloatArray:
    """Weight of each order of one side, summed over those of the other; by order, from 0."""
    return np.asarray(np.bincount(found.degrees[:, side], weights=found.weights), dtype=np.float64)


def _told(order: int, rivals: list[int], damping: Estimate) -> OrderTold:
    if rivals:
        orders = " and ".join(str(n) for n in sorted({*rivals, order}))
        return OrderTold(why=f"the readings do not tell the orders {orders} apart")
    return OrderTold(order=order, damping=damping)


def _compare(
    chosen: Candidates, found: Candidates, rows: list[int], side: int, fitness: Fitness, probability: float
) -> OrderTold:
    """Compare Butterworth filters, in ``rows``, and after them a second order of any damping.

    A first order is the limit of a second one, so that the second order is told only where it is the better.
    """
    *pure, damped = rows
    ranked = sorted(pure, key=lambda row: float(found.criterion[row]))
    likeliest = ranked[0] if ranked and found.criterion[ranked[0]] <= found.criterion[damped] else damped
    if _is_refuted(found, likeliest, chosen):
        return OrderTold(why=OWN_SHAPE, damping=Estimate(why=OWN_SHAPE))
    order = int(found.degrees[likeliest, side])
    close = found.criterion[likeliest] + 2.0 * math.log(ALIKE)
    rivals = {int(found.degrees[row, side]) for row in pure if found.criterion[row] < close} - {order}
    damping = _damping(found, damped, side, fitness, probability) if order == 2 else Estimate(why=NO_DAMPING)
    return _told(order, sorted(rivals), damping)


def _is_refuted(found: Candidates, i: int, chosen: Candidates) -> bool:
    """Whether the readings reject a simple filter against one of any shape (likelihood ratio)."""
    more = int(chosen.present[chosen.best].sum() - found.present[i].sum())
    gain = float(found.chi_squared[i] - chosen.chi_squared[chosen.best])
    return gain > 0.0 and float(chdtrc(max(more, 1), gain)) < REFUTES


def _damping(found: Candidates, i: int, side: int, fitness: Fitness, probability: float) -> Estimate:
    """The damping ratio of the candidate with a second order of any damping on one side."""
    most = (found.parameters.shape[1] - 3) // 2
    column = 3 + side * most
    place = int(found.present[i, :column].sum())
    term = float(found.parameters[i, column])
    u_term = math.sqrt(float(found.covariance(i)[place, place]) * fitness.widening)
    step = 1e-4 * max(abs(term), 1.0)
    if term + step >= 1.0:
        return Estimate(why="the damping ratio is too large to be told")
    slope = (damping_of(term + step) - damping_of(term - step)) / (2.0 * step)
    expanded = expand(abs(slope) * u_term, fitness.nu, probability=probability)
    value = damping_of(term)
    return Estimate(value=value, interval=(value - expanded.U, value + expanded.U), expanded=expanded)
