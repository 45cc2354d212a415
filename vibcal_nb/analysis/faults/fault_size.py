"""Whether a fitted explanation asks for something that it does not name, and whether what it names is there at all.

A fit moves what a fault moves, and within narrow expectations what every healthy channel differs by. Where a healthy
quantity ends ``PULLED`` standard deviations from healthy, the explanation leaves a second fault unnamed: it does not
fit. Where the size that makes a fault may as well be none, there is no fault to name.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc

from vibcal_nb.analysis.faults.chain_model import PARAMETERS
from vibcal_nb.analysis.faults.fault_families import Prior
from vibcal_nb.analysis.faults.fault_search import FittedVariant
from vibcal_nb.arrays import FloatArray

PULLED = 4.0  # standard deviations of what healthy channels differ by
NO_SIZE = 0.05  # probability above which a size may as well be none: about twice its standard uncertainty
CHANGES = frozenset(
    {"sensor_gain", "module_gain", "corner_low", "corner_high", "looseness", "hysteresis", "decade_slope"}
    | {"offset", "gain_drift", "gain_step", "notch"}
)
"""Parameters that are changes of either sign, none of which may be no change; the others are logarithms of sizes."""
SIZES = frozenset({"noise", "pickup", "leak"})
"""Logarithms of sizes above zero: with a standard uncertainty of a half, two of them reach down to none."""
_OPEN = 0.5
_COMES_AND_GOES = 0.2  # what is so unsteady shows by its scatter, not by its mean


@dataclass(frozen=True, kw_only=True)
class Pull:
    """A healthy quantity that a fit needs far from healthy: ``value`` and its standard uncertainty ``u`` as fitted.

    ``parameter`` is one of ``chain_model.PARAMETERS``; ``sigma`` is signed, in standard deviations of what is expected.
    """

    parameter: str
    value: float
    u: float
    sigma: float


def pulls_of(item: FittedVariant) -> tuple[Pull, ...]:
    """Return the healthy quantities that the fit needs ``PULLED`` or more from healthy, the farthest first."""
    u = item.spread * np.sqrt(np.diag(item.covariance))
    found = [
        Pull(parameter=name, value=float(item.parameters[column]), u=float(u[i]), sigma=float(item.pull[i]))
        for i, column in enumerate(item.free)
        if abs(item.pull[i]) >= PULLED and (name := PARAMETERS[column]) not in item.variant.expected
    ]
    return tuple(sorted(found, key=lambda pull: -abs(pull.sigma)))


def has_size(item: FittedVariant, expected: Mapping[str, Prior]) -> bool:
    """Whether the sizes that make this fault differ from none; a fault without a fitted size has one."""
    if item.variant.weighting:
        return True
    if any(abs(pull) > PULLED for pull in item.pull):  # nor one that is as large as none of its kind
        return False
    u = item.spread * np.sqrt(np.diag(item.covariance))
    names = [PARAMETERS[column] for column in item.free]
    if "notch" in names and item.parameters[PARAMETERS.index("notch")] < 0.0:  # a peak is no notch
        return False
    sized = [i for i, name in enumerate(names) if name in item.variant.expected and name in SIZES]
    if item.variant.unsteady < _COMES_AND_GOES and any(u[i] > _OPEN for i in sized):
        return False
    moved = [i for i, name in enumerate(names) if name in item.variant.expected and name in CHANGES]
    if not moved:
        return True
    away = np.array([item.parameters[item.free[i]] - expected.get(names[i], (0.0, 0.0))[0] for i in moved])
    return float(chdtrc(len(moved), _squared(away, item, moved))) < NO_SIZE


def _squared(away: FloatArray, item: FittedVariant, moved: list[int]) -> float:
    """Squared distance from none, in standard uncertainties."""
    scale = item.spread[moved]
    covariance = item.covariance[np.ix_(moved, moved)] * np.outer(scale, scale)
    return float(away @ np.linalg.solve(covariance, away))


@dataclass(frozen=True, kw_only=True)
class Remainder:
    """The reading that an explanation leaves the most of: its ``row`` and what is left, relative, with its ``u``."""

    row: int
    left: float
    u: float


def worst_remainder(ratio: FloatArray, rows: tuple[int, ...], item: FittedVariant) -> Remainder:
    """Return the reading that lies farthest from the explanation, in its own standard uncertainties."""
    u = np.sqrt(np.diag(item.reading_covariance))
    left = ratio - item.prediction
    at = int(np.argmax(np.abs(left) / u))
    size = max(abs(float(item.prediction[at])), 1e-12)
    return Remainder(row=rows[at], left=float(left[at]) / size, u=float(u[at]) / size)
