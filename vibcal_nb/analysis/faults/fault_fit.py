"""Fit every variant of every family to all readings of a channel at once, each weighted as it needs to be.

What is added to the signal may come and go; how much it does depends on its size, so that such variants are weighted
by the size they start from, and fitted again with the size that was found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.faults.chain_model import INDEX, PARAMETERS, Points, added_ratio, predict_ratio
from vibcal_nb.analysis.faults.fault_families import REST, Family, Prior, Variant
from vibcal_nb.analysis.faults.fault_search import FittedVariant, Rows, Search
from vibcal_nb.analysis.faults.fault_size import has_size, pulls_of
from vibcal_nb.arrays import FloatArray

NOT_CLAIMED = 30.0  # e^-30: no weight that anybody could see


def fit_families(
    families: Sequence[Family],
    expected: dict[str, Prior],
    points: Points,
    ratio: FloatArray,
    covariances: dict[float, FloatArray],
) -> list[FittedVariant]:
    """Fit all variants of ``families``; of each family the best is returned, and whatever is not hopeless.

    ``expected`` is what a healthy channel may differ by; ``covariances`` (n, n) of the readings by the variants'
    ``scatter``, 0.0 among them. What no reading shows, what has no size, and what needs a healthy quantity far from
    healthy is not claimed.
    """
    rows = _tabulate(families, expected)
    weighted, which = _weights_of(rows, points, covariances)
    search = Search(rows, points, ratio, weighted, which)
    search.run()
    fitted = []
    for item in search.collect():
        own = covariances[item.variant.scatter]
        settled = _with_unsteadiness(item, expected, points, ratio, own)
        stands = _shows(settled, expected, points, own) and has_size(settled, expected) and not pulls_of(settled)
        fitted.append(settled if stands else replace(settled, log_evidence=settled.log_evidence - NOT_CLAIMED))
    return fitted


def _shows(item: FittedVariant, expected: dict[str, Prior], points: Points, covariance: FloatArray) -> bool:
    """Whether some reading would read otherwise, by more than its standard uncertainty, without what was moved.

    A fault that no reading shows (pick-up of a mains frequency near which nothing was read, a limit above the highest
    level, a mix-up in a test that was not taken) is not told from a healthy channel, and is not claimed.
    """
    moved = {*item.variant.expected, *item.variant.fixed}
    if not moved or item.variant.scatter:
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
        which.append(keys.index(variant.scatter))
        if variant.unsteady:
            weighted.append(covariances[variant.scatter] + _unsteadiness(variant, start, points))
            which[-1] = len(weighted) - 1
    return weighted, np.array(which, dtype=np.intp)


def _unsteadiness(variant: Variant, parameters: FloatArray, points: Points) -> FloatArray:
    """Covariance (n, n) of what noise and pick-up of this size bring by coming and going."""
    return np.diag((variant.unsteady * added_ratio(parameters[None, :], points)[0]) ** 2)


def _with_unsteadiness(
    item: FittedVariant, expected: dict[str, Prior], points: Points, ratio: FloatArray, plain: FloatArray
) -> FittedVariant:
    """Fit again with the scatter that unsteady noise and pick-up bring, which grows with their size."""
    if item.variant.unsteady == 0.0:
        return item
    for _ in range(2):
        covariance = plain + _unsteadiness(item.variant, item.parameters, points)
        start = {PARAMETERS[i]: float(item.parameters[i]) for i in item.free}
        rows = _tabulate([replace(item.family, variants=(replace(item.variant, starts=(start,)),))], expected)
        search = Search(rows, points, ratio, [covariance], np.zeros(1, dtype=np.intp))
        search.run()
        (again,) = search.collect()
        item = replace(again, family=item.family, variant=item.variant)
    return item


def _tabulate(families: Sequence[Family], expected: dict[str, Prior]) -> Rows:
    owners: list[tuple[Family, Variant]] = []
    centres, spreads, starts, owner = [], [], [], []
    for family in families:
        for variant in family.variants:
            priors = {name: p for name, p in (expected | dict(variant.expected)).items() if name not in variant.fixed}
            centre = _row(dict(REST) | {name: p[0] for name, p in priors.items()} | dict(variant.fixed))
            spread = _row({name: p[1] for name, p in priors.items()})
            for start in variant.starts:
                begin = centre.copy()
                for name, value in start.items():
                    begin[INDEX[name]] = value
                centres.append(centre)
                spreads.append(spread)
                starts.append(begin)
                owner.append(len(owners))
            owners.append((family, variant))
    return Rows(
        owners=tuple(owners),
        centre=np.array(centres),
        spread=np.array(spreads),
        start=np.array(starts),
        owner=np.array(owner, dtype=np.intp),
    )


def _row(values: dict[str, float]) -> FloatArray:
    row = np.zeros(len(PARAMETERS))
    for name, value in values.items():
        row[INDEX[name]] = value
    return row
