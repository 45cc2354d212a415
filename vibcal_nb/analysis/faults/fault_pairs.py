"""Two faults at once: which pairs are tried where no single fault fits, and how their variants join.

Each leader, the likeliest of the families that the readings cannot tell from it, is joined with every other family
that moves something else, and begins where it was found alone.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from vibcal_nb.analysis.faults.chain_model import PARAMETERS
from vibcal_nb.analysis.faults.explanation import Explanation
from vibcal_nb.analysis.faults.fault_families import DEAD, HEALTHY, INTERMITTENT, NONE_OF_THESE, Family, Variant
from vibcal_nb.analysis.faults.fault_search import FittedVariant

LEADERS = 4
MOST_VARIANTS, MOST_STARTS = 5, 3  # of the other family, the likeliest
SAME = 4.0  # squared distance of two predictions, in the readings' errors, below which one of them leads for both
_ALONE = (HEALTHY, NONE_OF_THESE, "cable strain", DEAD, INTERMITTENT)


def pairs_of(ranked: Sequence[Explanation], families: Sequence[Family]) -> list[Family]:
    """Pairs of leading single faults, none of which looks like another, with every other."""
    by_name = {family.name: family for family in families if family.name not in _ALONE}
    fitted = [item.fitted for item in ranked if item.name in by_name]
    pairs: dict[str, Family] = {}
    for leader in _leaders(sorted(fitted, key=lambda item: -_raw(item))):
        for name, other in by_name.items():
            joined = None if name == leader.family.name else _join(leader, other)
            if joined is not None and joined.name not in pairs:
                pairs[joined.name] = joined
    return list(pairs.values())


def _raw(item: FittedVariant) -> float:
    """How near it comes, whether or not it may be claimed."""
    return -item.chi_squared - float((item.pull**2).sum())


def _leaders(fitted: Sequence[FittedVariant]) -> list[FittedVariant]:
    found: list[FittedVariant] = []
    for item in fitted:
        if len(found) < LEADERS and all(_apart(item, other) > SAME for other in found):
            found.append(item)
    return found


def _apart(one: FittedVariant, other: FittedVariant) -> float:
    away = one.prediction - other.prediction
    return float(away @ np.linalg.solve(other.reading_covariance, away))


def _join(leader: FittedVariant, other: Family) -> Family | None:
    """The leader's best variant, from where it ended, with each of the other's; None where both move the same."""
    own = leader.variant
    moved = {*own.expected, *own.fixed}
    at = {PARAMETERS[i]: float(leader.parameters[i]) for i in leader.free}
    begin = {parameter: at[parameter] for parameter in own.expected if parameter in at}
    variants = [
        Variant(
            expected=dict(own.expected) | dict(variant.expected),
            fixed=dict(own.fixed) | dict(variant.fixed),
            starts=tuple(begin | dict(start) for start in variant.starts[:MOST_STARTS]),
            unsteady=max(own.unsteady, variant.unsteady),
            share=own.share * variant.share,
        )
        for variant in sorted(other.variants, key=lambda item: -item.share)[:MOST_VARIANTS]
        if not moved & {*variant.expected, *variant.fixed} and not (own.weighting or variant.weighting)
    ]
    one, two = sorted((leader.family, other), key=lambda family: family.name)
    if not variants:
        return None
    return Family(name=f"{one.name} and {two.name}", part=f"{one.part}, {two.part}", variants=tuple(variants))
