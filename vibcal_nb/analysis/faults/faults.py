"""What explains a channel's readings: every family of faults fitted to all of them, ranked, with honest weights.

Weights are posterior probabilities of the families under equal expectation of every fault (see ``PRIOR``). Families
whose best predictions no reading of the table tells apart are said to be so. "None of these" is a free wander of
the sensitivity over level and frequency; where even the best explanation leaves too much, that is said too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import chdtrc

from vibcal_nb.analysis.faults.chain_model import Points
from vibcal_nb.analysis.faults.fault_families import (
    HEALTHY,
    NONE_OF_THESE,
    SCATTERS,
    Family,
    Variant,
    fault_families,
    healthy_expectation,
)
from vibcal_nb.analysis.faults.fault_fit import fit_families
from vibcal_nb.analysis.faults.fault_readings import FaultReadings, gather_readings, tolerance_of
from vibcal_nb.analysis.faults.fault_search import FittedVariant
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import SENSOR_ALONE, SHAKER_TESTS

PRIOR = {HEALTHY: 0.5, NONE_OF_THESE: 0.02}  # the rest is shared equally by the faults; judgement, no source
POOR_FIT = 1e-3  # probability of so large a misfit, below which an explanation is called poor
ALIKE = 1.0  # squared distance of two predictions in units of the readings' errors
WANDERS = (0.02, 0.06, 0.2)


@dataclass(frozen=True, kw_only=True, eq=False)
class Explanation:
    """One family as an explanation, with the best of its variants.

    ``weight`` is its posterior probability. ``fit_probability`` is the probability of a chi-squared at least as
    large were it true. ``support`` (n,) says for each reading how much it speaks for this explanation (positive) or
    against it, in nats against healthy. ``alike`` names other families that these readings cannot tell from it.
    """

    names: tuple[str, ...]
    weight: float
    fitted: FittedVariant
    variants: tuple[FittedVariant, ...]
    variant_weights: FloatArray
    fit_probability: float
    support: FloatArray
    alike: tuple[str, ...]

    @property
    def name(self) -> str:
        """The family, or both families of a pair."""
        return " and ".join(self.names)


@dataclass(frozen=True, kw_only=True, eq=False)
class FaultExplanations:
    """Ranked explanations of the readings of one channel in one condition, the likeliest first.

    ``poor`` is True where not even the best explanation fits the readings.
    """

    readings: FaultReadings
    explanations: tuple[Explanation, ...]
    poor: bool
    method: str = "Laplace approximation of the marginal likelihood; families expected alike, healthy with one half"

    @property
    def top(self) -> Explanation:
        """The likeliest explanation."""
        return self.explanations[0]

    def of(self, name: str) -> Explanation:
        """Return the explanation of that name; raises ``KeyError`` where there is none."""
        for item in self.explanations:
            if item.name == name:
                return item
        raise KeyError(name)


@refusing
def explain_channel(cases: Sequence[Case]) -> FaultExplanations:
    """Explain the readings of one channel in one condition. Raises ``NothingToAnalyse`` where there are none."""
    return explain_readings(gather_readings(cases))


def explain_readings(readings: FaultReadings) -> FaultExplanations:
    """Rank the explanations of gathered readings."""
    points = readings.points
    expected = healthy_expectation(points, tolerance=tolerance_of(readings.channel))
    velocity = readings.channel.input_unit.quantity == "velocity"
    families = [*fault_families(points, is_velocity=velocity), _none_of_these()]
    covariances = _covariances(readings)
    fitted = fit_families(families, expected, points, readings.ratio, covariances)
    ranked = _rank(readings, families, fitted)
    if _poor(ranked):
        pairs = _pairs(ranked, families)
        fitted += fit_families(pairs, expected, points, readings.ratio, covariances)
        ranked = _rank(readings, [*families, *pairs], fitted)
    return FaultExplanations(readings=readings, explanations=ranked, poor=_poor(ranked))


def _none_of_these() -> Family:
    variants = tuple(Variant(scatter=-wander, share=1.0 / len(WANDERS)) for wander in WANDERS)
    return Family(name=NONE_OF_THESE, part="unknown", variants=variants)


def _covariances(readings: FaultReadings) -> dict[float, FloatArray]:
    """Covariance by scatter: 0 plain, positive with scatter at low frequency, negative with a free wander."""
    points, scale = readings.points, np.abs(readings.ratio)
    # Strain and transverse motion follow the stroke, of which low frequencies need most.
    weight = np.minimum(1.0, points.reference_hz / points.frequency_hz) * scale
    plain, wander = readings.covariance, _wander(points) * np.outer(scale, scale)
    found = {0.0: plain}
    found |= {s: plain + np.diag((s * weight) ** 2) for s in SCATTERS}
    return found | {-w: plain + w**2 * wander for w in WANDERS}


def _wander(points: Points) -> FloatArray:
    """Correlation of a smooth unknown over log frequency and log level, (n, n), with some scatter of its own."""
    octaves = np.log2(points.frequency_hz)
    levels = np.log2(np.maximum(points.level, 1e-6))
    near = np.exp(-0.5 * (np.subtract.outer(octaves, octaves) / 1.0) ** 2)
    channel = points.test != SHAKER_TESTS.index(SENSOR_ALONE)
    along = np.exp(-0.5 * (np.subtract.outer(levels, levels) / 1.5) ** 2)
    near = near * np.where(np.outer(channel, channel), along, 1.0) * np.equal.outer(channel, channel)
    return 0.75 * near + 0.25 * np.eye(len(octaves))


def _rank(
    readings: FaultReadings, families: Sequence[Family], fitted: Sequence[FittedVariant]
) -> tuple[Explanation, ...]:
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
    return tuple(replace(item, alike=_alike(item, found)) for item in found)


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
    """Which other families predict the same at every reading, within a fraction of the readings' errors."""
    if item.names[0] in (HEALTHY, NONE_OF_THESE):
        return ()
    names = []
    for other in others:
        if other is item or other.names[0] in (HEALTHY, NONE_OF_THESE) or other.weight < 0.02 * item.weight:
            continue
        apart = item.fitted.prediction - other.fitted.prediction
        same_weights = item.fitted.variant.scatter == other.fitted.variant.scatter
        if same_weights and apart @ np.linalg.solve(item.fitted.reading_covariance, apart) < ALIKE:
            names.append(other.name)
    return tuple(names)


def _poor(ranked: Sequence[Explanation]) -> bool:
    singles = [item for item in ranked if item.names[0] != NONE_OF_THESE]
    return not singles or ranked[0].names[0] == NONE_OF_THESE or singles[0].fit_probability < POOR_FIT


def _pairs(ranked: Sequence[Explanation], families: Sequence[Family]) -> list[Family]:
    """Pairs of the two likeliest single faults with every other: their variants joined."""
    apart = (HEALTHY, NONE_OF_THESE, "cable strain")
    by_name = {family.name: family for family in families if family.name not in apart}
    leading = [item.name for item in ranked if item.name in by_name][:2]
    names = {frozenset((a, b)) for a in leading for b in by_name if a != b}
    return [_join(by_name[a], by_name[b]) for a, b in sorted(tuple(sorted(pair)) for pair in names)]


def _join(one: Family, two: Family) -> Family:
    variants = [
        Variant(
            expected=dict(a.expected) | dict(b.expected),
            fixed=dict(a.fixed) | dict(b.fixed),
            starts=tuple({**a.starts[i % len(a.starts)], **b.starts[i % len(b.starts)]} for i in range(2)),
            unsteady=max(a.unsteady, b.unsteady),
            share=a.share * b.share,
        )
        for a in one.variants
        for b in two.variants
    ]
    kept = tuple(sorted(variants, key=lambda v: -v.share)[:4])
    return Family(name=f"{one.name} and {two.name}", part=f"{one.part}, {two.part}", variants=kept)
