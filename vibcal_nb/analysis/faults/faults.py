"""What explains a channel's readings: every family of faults fitted to all of them, ranked, with honest weights.

Weights are posterior probabilities of the families under equal expectation of every fault (see ``ranking.PRIOR``).
Families whose best predictions no reading of the table tells apart are said to be so. "None of these" is a free
wander of the sensitivity over level and frequency; where even the best explanation leaves too much, that is said too.
Rows that were probably written down wrongly are asked about first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from vibcal_nb.analysis.faults.chain_model import Points
from vibcal_nb.analysis.faults.doubted_rows import as_meant, log_rarity, slips_of_rows
from vibcal_nb.analysis.faults.explanation import Explanation, FaultExplanations
from vibcal_nb.analysis.faults.fault_families import (
    NONE_OF_THESE,
    SCATTERS,
    Family,
    Variant,
    fault_families,
    healthy_expectation,
)
from vibcal_nb.analysis.faults.fault_fit import fit_families
from vibcal_nb.analysis.faults.fault_pairs import pairs_of
from vibcal_nb.analysis.faults.fault_readings import FaultReadings, gather_readings, tolerance_of
from vibcal_nb.analysis.faults.ranking import rank
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import SENSOR_ALONE, SHAKER_TESTS

WANDERS = (0.02, 0.06, 0.2)


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
    velocity = readings.channel.input_unit.quantity == "velocity"
    families = [*fault_families(points, is_velocity=velocity), _none_of_these()]
    covariances = _covariances(readings)
    fitted = fit_families(families, expected, points, readings.ratio, covariances)
    ranked, density = rank(readings, families, fitted)
    if _poor(ranked):
        pairs = pairs_of(ranked, families)
        fitted += fit_families(pairs, expected, points, readings.ratio, covariances)
        ranked, density = rank(readings, [*families, *pairs], fitted)
    return FaultExplanations(readings=readings, explanations=ranked, poor=_poor(ranked), log_evidence=density)


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


def _poor(ranked: Sequence[Explanation]) -> bool:
    """Whether no single explanation leads that fits."""
    singles = [item for item in ranked if item.names[0] != NONE_OF_THESE]
    return not singles or ranked[0].names[0] == NONE_OF_THESE or not singles[0].fits
