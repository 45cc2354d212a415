"""Fit every variant of every family to all readings of a channel at once, each weighted as it needs to be.

What is added to the signal may come and go; how much it does depends on its size, so that such variants are weighted
by the size they start from, and fitted again with the size that was found.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from vibcal_nb.analysis.faults.chain_model import INDEX, PARAMETERS, Points, added_ratio, parameter_row, predict_ratio
from vibcal_nb.analysis.faults.fault_families import REST, Family, Prior, Variant
from vibcal_nb.analysis.faults.fault_search import FittedVariant, Rows, Search
from vibcal_nb.analysis.faults.fault_size import has_size, pulls_of
from vibcal_nb.arrays import FloatArray

HOPELESS_FIT = 1e-6  # probability of so large a misfit, below which an explanation is none
_NO_HOPE = 250.0
NOT_CLAIMED = 300.0  # nats: whatever else fits, if only none of these, comes before it


def fit_families(
    families: Sequence[Family],
    expected: dict[str, Prior],
    points: Points,
    ratio: FloatArray,
    covariances: dict[float, FloatArray],
    begin: Mapping[str, float] | None = None,
) -> list[FittedVariant]:
    """Fit all variants of ``families``; of each family the best is returned, and whatever is not hopeless.

    ``expected`` is what a healthy channel may differ by; ``covariances`` (n, n) of the readings by the variants'
    ``weighting``, 0.0 among them; ``begin`` is where a search begins that a variant's own starts leave open. What no
    reading shows, what has no size, and what needs a healthy quantity far from healthy is not claimed.
    """
    rows = _tabulate(families, expected, begin or {})
    weighted, which = _weights_of(rows, points, covariances)
    search = Search(rows, points, ratio, weighted, which)
    search.run()
    found = _with_unsteadiness(search.collect(), expected, points, ratio, covariances)
    return [_claimed(item, expected, points, covariances[item.variant.weighting]) for item in found]


def _claimed(item: FittedVariant, expected: dict[str, Prior], points: Points, covariance: FloatArray) -> FittedVariant:
    """The variant as it may be claimed, or with next to no evidence."""
    stands = _fits(item) and _shows(item, expected, points, covariance) and has_size(item, expected)
    if item.variant.weighting < 0.0 or (stands and not pulls_of(item)):  # what none of these does, it may
        return item
    return replace(item, log_evidence=item.log_evidence - NOT_CLAIMED, claimed=False)


def _fits(item: FittedVariant) -> bool:
    return float(chdtrc(item.prediction.size, item.chi_squared)) > HOPELESS_FIT


def _shows(item: FittedVariant, expected: dict[str, Prior], points: Points, covariance: FloatArray) -> bool:
    """Whether some reading would read otherwise, by more than its standard uncertainty, without what was moved.

    A fault that no reading shows (pick-up of a mains frequency near which nothing was read, a limit above the highest
    level, a mix-up in a test that was not taken) is not told from a healthy channel, and is not claimed.
    """
    moved = {*item.variant.expected, *item.variant.fixed}
    if not moved or item.variant.weighting:
        return True
    rows = np.stack([item.parameters, item.parameters])
    for name in moved:
        rows[1, INDEX[name]] = expected[name][0] if name in expected else REST.get(name, 0.0)
    with_it, without_it = predict_ratio(rows, points)
    comes_and_goes = np.sqrt(np.diag(_unsteadiness(item.variant, item.parameters, points)))
    return bool((np.maximum(np.abs(with_it - without_it), comes_and_goes) > np.sqrt(np.diag(covariance))).any())


def _weights_of(
    rows: Rows, points: Points, covariances: dict[float, FloatArray]
) -> tuple[list[FloatArray], NDArray[np.intp]]:
    """Covariances (c, n, n) to weight with, and which of them each row has.

    Where what is added comes and goes, a row begins with the scatter that goes with the size it starts from: held
    against the plain scatter it would look hopeless.
    """
    keys = sorted(covariances)
    weighted = [covariances[key] for key in keys]
    which = []
    for start, owner in zip(rows.start, rows.owner, strict=True):
        variant = rows.owners[owner][1]
        which.append(keys.index(variant.weighting))
        if variant.unsteady:
            weighted.append(covariances[variant.weighting] + _unsteadiness(variant, start, points))
            which[-1] = len(weighted) - 1
    return weighted, np.array(which, dtype=np.intp)


def _unsteadiness(variant: Variant, parameters: FloatArray, points: Points) -> FloatArray:
    """Covariance (n, n) of what noise and pick-up of this size bring by coming and going."""
    return np.diag((variant.unsteady * added_ratio(parameters[None, :], points)[0]) ** 2)


def _with_unsteadiness(
    fitted: list[FittedVariant],
    expected: dict[str, Prior],
    points: Points,
    ratio: FloatArray,
    covariances: dict[float, FloatArray],
) -> list[FittedVariant]:
    """Fit those again that come and go, with the scatter that goes with the size found, all of them at once."""
    best = max(item.log_evidence for item in fitted)
    unsteady = [item for item in fitted if item.variant.unsteady and item.log_evidence > best - _NO_HOPE]
    kept = [item for item in fitted if item not in unsteady]
    for _ in range(2):
        if not unsteady:
            break
        starts = [{PARAMETERS[i]: float(item.parameters[i]) for i in item.free} for item in unsteady]
        families = [
            replace(item.family, name=str(number), variants=(replace(item.variant, starts=(start,)),))
            for number, (item, start) in enumerate(zip(unsteady, starts, strict=True))
        ]
        weights = [
            covariances[item.variant.weighting] + _unsteadiness(item.variant, item.parameters, points)
            for item in unsteady
        ]
        search = Search(_tabulate(families, expected, {}), points, ratio, weights, np.arange(len(unsteady)))
        search.run()
        again = {int(item.family.name): item for item in search.collect()}
        unsteady = [
            replace(again[number], family=item.family, variant=item.variant) for number, item in enumerate(unsteady)
        ]
    return [*kept, *unsteady]


def _tabulate(families: Sequence[Family], expected: dict[str, Prior], begin: Mapping[str, float]) -> Rows:
    owners: list[tuple[Family, Variant]] = []
    centres, spreads, starts, owner = [], [], [], []
    for family in families:
        for variant in family.variants:
            priors = {name: p for name, p in (expected | dict(variant.expected)).items() if name not in variant.fixed}
            centre = parameter_row(dict(REST) | {name: p[0] for name, p in priors.items()} | dict(variant.fixed))
            spread = parameter_row({name: p[1] for name, p in priors.items()})
            for start in variant.starts:
                first = centre.copy()
                for name, value in ({n: v for n, v in begin.items() if n in priors} | dict(start)).items():
                    first[INDEX[name]] = value
                centres.append(centre)
                spreads.append(spread)
                starts.append(first)
                owner.append(len(owners))
            owners.append((family, variant))
    return Rows(
        owners=tuple(owners),
        centre=np.array(centres),
        spread=np.array(spreads),
        start=np.array(starts),
        owner=np.array(owner, dtype=np.intp),
    )
