"""What explains a channel's readings: every family of faults fitted to all of them, ranked, with honest weights.

Weights are posterior probabilities of the families under equal expectation of every fault (see ``ranking.PRIOR``).
Families whose best predictions no reading of the table tells apart are said to be so. "None of these" is a free
wander of the sensitivity over level and frequency; where even the best explanation leaves too much, that is said too.
Rows that were probably written down wrongly are asked about first.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from vibcal_nb.analysis.faults.chain_model import INDEX, Points
from vibcal_nb.analysis.faults.doubted_rows import as_meant, log_rarity, slips_of_rows
from vibcal_nb.analysis.faults.explanation import Explanation, FaultExplanations
from vibcal_nb.analysis.faults.fault_families import (
    HEALTHY,
    LOSES,
    LOST,
    NONE_OF_THESE,
    SCATTERS,
    ChannelKind,
    Family,
    Prior,
    Variant,
    fault_families,
    healthy_expectation,
    searched_families,
)
from vibcal_nb.analysis.faults.fault_fit import fit_families
from vibcal_nb.analysis.faults.fault_pairs import pairs_of
from vibcal_nb.analysis.faults.fault_readings import FaultReadings, gather_readings, tolerance_of
from vibcal_nb.analysis.faults.lost_contact import SPREAD, log_rarity_of_places, lost_readings, step_places
from vibcal_nb.analysis.faults.ranking import rank
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import SENSOR_ALONE, SHAKER_TESTS

_ORDERS = (0.1, 1.1)  # ln of filters of first and of third order
WANDERS = (0.02, 0.06, 0.2, 0.5)
SCATTERED = (0.05, 0.15, 0.4)
OF_ITS_OWN = 10.0  # below it, the key of a covariance in which every reading scatters for itself
TWO_TRIED = 0.05  # probability of so large a misfit, below which pairs of faults are tried
CLEAR, CLEAR_FIT = 0.9, 0.01  # weight and fit of a healthy channel from which no other family is looked for


@refusing
def explain_channel(cases: Sequence[Case]) -> FaultExplanations:
    """Explain the readings of one channel in one condition, slips of writing first.

    Raises ``NothingToAnalyse`` where there are none.
    """
    written = explain_readings(gather_readings(cases))
    slips = slips_of_rows(written.readings.cases)
    if not slips:
        return written
    meant = explain_readings(gather_readings(as_meant(written.readings.cases, slips)))
    rarity = log_rarity(slips, len(written.readings) - len(meant.readings))
    return replace(meant, slips=slips) if meant.log_evidence + rarity > written.log_evidence else written


def explain_readings(readings: FaultReadings) -> FaultExplanations:
    """Rank the explanations of gathered readings."""
    points = readings.points
    expected = healthy_expectation(points, tolerance=tolerance_of(readings.channel))
    families = [*fault_families(points, kind_of(readings.channel)), _none_of_these()]
    covariances = _covariances(readings)
    begin = _steepness(expected, readings, covariances)
    fitted = fit_families(families, expected, points, readings.ratio, covariances, begin)
    ranked, density = rank(readings, families, fitted)
    if not _simply_healthy(ranked):
        lost = lost_readings(readings, expected)
        covariances[LOST] = readings.covariance + np.diag(np.where(lost, SPREAD**2, 0.0))
        rarity = math.exp(log_rarity_of_places(lost, readings, LOSES)) if lost.any() else None
        more = searched_families(points, rarity, step_places(readings, expected))
        families += more
        fitted += fit_families(more, expected, points, readings.ratio, covariances, begin)
        ranked, density = rank(readings, families, fitted)
    if _wants_pairs(ranked):
        pairs = pairs_of(ranked, families)
        fitted += fit_families(pairs, expected, points, readings.ratio, covariances, begin)
        ranked, density = rank(readings, [*families, *pairs], fitted)
    return FaultExplanations(readings=readings, explanations=ranked, poor=_poor(ranked), log_evidence=density)


def _steepness(
    expected: dict[str, Prior], readings: FaultReadings, covariances: dict[float, FloatArray]
) -> dict[str, float]:
    """How steep the filters are, as a healthy channel or one that wanders has them: where every search begins.

    A search that begins at the wrong steepness ends there: its corner and the resonance make up for it.
    """
    names = [name for name in expected if name.startswith("order_")]
    starts = tuple(dict(zip(names, at, strict=True)) for at in product(_ORDERS, repeat=len(names)))
    looked = Family(name="", part="", variants=tuple(Variant(starts=starts, scatter=key) for key in (0.0, -WANDERS[1])))
    fitted = fit_families([looked], expected, readings.points, readings.ratio, covariances)
    best = max(fitted, key=lambda item: item.log_evidence)
    return {name: float(best.parameters[INDEX[name]]) for name in names}


def _none_of_these() -> Family:
    keys = [*(-wander for wander in WANDERS), *(-OF_ITS_OWN - scatter for scatter in SCATTERED)]
    variants = tuple(Variant(scatter=key, share=1.0 / len(keys)) for key in keys)
    return Family(name=NONE_OF_THESE, part="unknown", variants=variants)


def _covariances(readings: FaultReadings) -> dict[float, FloatArray]:
    """Covariance by scatter: 0 plain, positive with scatter at low frequency, negative with a free wander."""
    points, scale = readings.points, np.abs(readings.ratio)
    # Strain and transverse motion follow the stroke, of which low frequencies need most.
    weight = np.minimum(1.0, points.reference_hz / points.frequency_hz) * scale
    plain, wander = readings.covariance, _wander(points) * np.outer(scale, scale)
    found = {0.0: plain}
    found |= {s: plain + np.diag((s * weight) ** 2) for s in SCATTERS}
    found |= {-OF_ITS_OWN - s: plain + np.diag((s * scale) ** 2) for s in SCATTERED}
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


def kind_of(channel: Channel) -> ChannelKind:
    """What the channel is, as far as faults hang on it."""
    is_dc = channel.output_unit.detector == "dc"
    return ChannelKind(
        is_velocity=channel.input_unit.quantity == "velocity",
        is_dc=is_dc,
        is_loop=is_dc and channel.output_unit.quantity == "current",
    )


def _simply_healthy(ranked: Sequence[Explanation]) -> bool:
    """Whether nothing is left to look for."""
    top = ranked[0]
    return top.name == HEALTHY and top.weight > CLEAR and top.fit_probability > CLEAR_FIT


def _wants_pairs(ranked: Sequence[Explanation]) -> bool:
    """Whether no single explanation leads that fits well."""
    return _poor(ranked) or ranked[0].fit_probability < TWO_TRIED


def _poor(ranked: Sequence[Explanation]) -> bool:
    """Whether no single explanation leads that fits."""
    singles = [item for item in ranked if item.names[0] != NONE_OF_THESE]
    return not singles or ranked[0].names[0] == NONE_OF_THESE or not singles[0].fits
