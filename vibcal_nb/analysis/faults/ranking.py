"""Weights of the explanations: prior times evidence, summed over a family's variants, and which are alike."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.special import chdtrc

from vibcal_nb.analysis.faults.explanation import Explanation
from vibcal_nb.analysis.faults.fault_families import HEALTHY, NONE_OF_THESE, Family
from vibcal_nb.analysis.faults.fault_readings import FaultReadings
from vibcal_nb.analysis.faults.fault_search import FittedVariant
from vibcal_nb.arrays import FloatArray, frozen

PRIOR = {HEALTHY: 0.5, NONE_OF_THESE: 0.02}  # the rest is shared equally by the faults; judgement, no source
MOST_WEIGHT = 0.8  # no weight is said to be above: what simulated channels bore out, see tests/benchmarks/FIGURES.md
ALIKE = 2.0  # nats
LOOKED_AT = 1e-3  # weight from which it is looked for what is alike


def rank(
    readings: FaultReadings, families: Sequence[Family], fitted: Sequence[FittedVariant]
) -> tuple[tuple[Explanation, ...], float]:
    """Return the explanations, the likeliest first, and the logarithm of the readings' density over all of them."""
    faults = sum(1 for family in families if family.name not in PRIOR and " and " not in family.name)
    each = (1.0 - sum(PRIOR.values())) / faults
    best = max(item.log_evidence for item in fitted)
    groups: dict[str, list[FittedVariant]] = {}
    for item in fitted:
        groups.setdefault(item.family.name, []).append(item)
    sums = {
        name: _prior(name, each) * math.fsum(math.exp(item.log_evidence - best) for item in group)
        for name, group in groups.items()
    }
    total = math.fsum(sums.values())
    base = _leave_one_out(readings.ratio, groups[HEALTHY][0])
    found = [_explanation(readings, group, sums[name] / total, base) for name, group in groups.items()]
    found.sort(key=lambda item: -item.weight)
    density = best + math.log(total) - 0.5 * len(readings) * math.log(2.0 * math.pi)
    return tuple(replace(item, alike=_alike(item, found)) for item in found), density


def _prior(name: str, each: float) -> float:
    """Two faults at once are as likely as two draws; a pair is tried only where no single fault fits."""
    return PRIOR.get(name, each**2 if " and " in name else each)


def _explanation(
    readings: FaultReadings, group: Sequence[FittedVariant], weight: float, base: FloatArray
) -> Explanation:
    ordered = sorted(group, key=lambda item: -item.log_evidence)
    shares = np.exp(np.array([item.log_evidence for item in ordered]) - ordered[0].log_evidence)
    own = _leave_one_out(readings.ratio, ordered[0])
    return Explanation(
        names=tuple(ordered[0].family.name.split(" and ")),
        weight=weight,
        fitted=ordered[0],
        variants=tuple(ordered),
        variant_weights=frozen(shares / shares.sum()),
        fit_probability=float(chdtrc(max(len(readings), 1), ordered[0].chi_squared)),
        support=frozen(0.5 * (base - own)),
        alike=(),
    )


def _leave_one_out(ratio: FloatArray, item: FittedVariant) -> FloatArray:
    """Square of each reading's misfit from what all others predict, in standard deviations, (n,)."""
    precision = np.linalg.inv(item.reading_covariance)
    squared: FloatArray = (precision @ (ratio - item.prediction)) ** 2 / np.diag(precision)
    return squared


def _alike(item: Explanation, others: Sequence[Explanation]) -> tuple[str, ...]:
    """Which other families these readings cannot tell from it, whatever weight they have beforehand.

    Two that may be claimed are alike where the readings are expected to favour the true one by less than e to one:
    the divergence of their distributions in both directions (Kullback and Leibler 1951) is below ``ALIKE``.
    """
    if item.names[0] in (HEALTHY, NONE_OF_THESE) or item.weight < LOOKED_AT:
        return ()
    names = []
    for other in others:
        if other is item or other.names[0] in (HEALTHY, NONE_OF_THESE) or not other.fitted.claimed:
            continue
        if divergence(item.fitted, other.fitted) < ALIKE:
            names.append(other.name)
    return tuple(names)


def divergence(one: FittedVariant, other: FittedVariant) -> float:
    """Divergence of two normal distributions of the readings in both directions, in nats."""
    a, b, away = one.reading_covariance, other.reading_covariance, one.prediction - other.prediction
    if a is b:
        return float(away @ np.linalg.solve(a, away))
    in_a, in_b = np.linalg.inv(a), np.linalg.inv(b)
    spread = float((in_a * b).sum() + (in_b * a).sum()) - 2.0 * len(away)
    return 0.5 * (spread + float(away @ (in_a + in_b) @ away))
