"""What to measure next: the reading, or the check, that is expected to separate the explanations best.

Expected information is the mutual information, in nats, between which explanation is true and what would be read: 0
where all explanations predict the same, at most ln 2 for telling two of equal weight apart. Source: D. Lindley,
Ann. Math. Statist. 27 (1956) 986. A reading is predicted by every explanation with the uncertainty that its fitted
parameters leave, and read with the errors of a reading of this visit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from vibcal_nb.analysis.faults.chain_model import Points, added_ratio, predict_ratio
from vibcal_nb.analysis.faults.fault_families import HEALTHY, NONE_OF_THESE
from vibcal_nb.analysis.faults.fault_search import FittedVariant
from vibcal_nb.analysis.faults.faults import FaultExplanations
from vibcal_nb.analysis.readings.grouping import at_frequency
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.numerics.quadrature import OFFSETS, over_panels
from vibcal_nb.model.names import SENSOR_ALONE, SHAKER_TESTS

LEAST_WEIGHT = 0.003
READING_ERROR = 0.004  # settling, mounting and transverse motion of one more reading; judgement, no source
CHECK_ERROR = 0.07  # how often a check misleads; judgement, no source

# what each check would set right or show, by where the fault sits and what it is
CHECKS = {
    "put in a module known to be good and repeat one level": {"module": 1.0, "settings": 0.7},
    "put on a sensor known to be good and repeat one level": {"sensor": 1.0},
    "measure the insulation resistance of sensor and cable, connectors open": {"leak": 1.0, "mains pick-up": 0.3},
    "switch the shaker off and read what the channel puts out": {
        "mains pick-up": 1.0,
        "noise floor": 1.0,
        "zero shift": 1.0,
        "dead or stuck output": 0.7,
    },
    "compare type and serial number of the sensor that is installed with the channel's data": {"another sensor": 1.0},
    "move cable and connectors while one level is held": {"intermittent contact": 1.0, "gain that moves": 0.3},
    "repeat the first reading of the visit": {"gain that moves": 1.0},
    "look at the output's waveform at the highest level": {
        "saturation": 1.0,
        "mains pick-up": 0.5,
        "loose mounting": 0.3,
    },
    "clean and tighten the joint and repeat the highest frequency": {"loose mounting": 1.0},
    "turn the cable by 180 degrees, support it, and repeat the lowest frequency three times": {"cable strain": 1.0},
    "compare the unit and detector written in the table with the reference's display": {
        "detector mix-up": 1.0,
        "unit mix-up": 1.0,
    },
    "compare the module's filter and integration settings with the channel's data": {
        "wrong filter": 1.0,
        "wrong integration": 1.0,
        "range step": 1.0,
        "notch": 1.0,
        "module gain": 0.5,
    },
    "measure both legs of the pair for continuity": {"open leg": 1.0},
}


@dataclass(frozen=True, kw_only=True)
class Suggestion:
    """One further reading (``test``, ``frequency_hz``, ``level`` in the unit of that test) or one check.

    ``information`` is what it is expected to tell, in nats; ``would_read`` the output over nominal that each of the
    leading explanations predicts, by name, empty for a check. ``check`` is None for a reading.
    """

    information: float
    check: str | None = None
    test: str | None = None
    frequency_hz: float | None = None
    level: float | None = None
    falling: bool = False
    would_read: tuple[tuple[str, float], ...] = ()


def suggest_readings(found: FaultExplanations, candidates: Points, *, count: int = 2) -> tuple[Suggestion, ...]:
    """Return the ``count`` most telling of the ``candidates``, points where a reading could be taken."""
    weights, mean, spread, names = _predicted(found, candidates)
    information = mixture_information(weights, mean, np.hypot(spread, READING_ERROR * np.abs(mean)))
    order = np.argsort(-information, kind="stable")[:count]
    return tuple(_reading(found, candidates, int(i), float(information[i]), mean[:, i], names) for i in order)


def suggest_checks(found: FaultExplanations, *, count: int = 2) -> tuple[Suggestion, ...]:
    """Return the ``count`` checks without a shaker reading that are expected to tell most."""
    made = [Suggestion(check=text, information=_check_information(found, CHECKS[text])) for text in CHECKS]
    return tuple(sorted(made, key=lambda item: -item.information)[:count])


def candidate_points(found: FaultExplanations) -> Points:
    """Where one more reading could be taken: levels and frequencies of the tests, and between them.

    No level above the highest and no frequency outside those already taken: the shaker has shown that it reaches them.
    The sensor alone is among them where the channel states what it should do.
    """
    readings = found.readings
    taken = readings.points
    alone = taken.test == SHAKER_TESTS.index(SENSOR_ALONE)
    in_channel = np.flatnonzero(~alone)
    rows: list[tuple[float, float, float, float]] = []
    if in_channel.size:
        rows += _level_rows(taken, in_channel)
        level = float(np.median(taken.level[taken.test == 1])) if (taken.test == 1).any() else 0.1
        rows += [(1.0, hz, level, 0.0) for hz in _between(taken.frequency_hz[in_channel])]
    if readings.channel.sensor is not None:
        span = taken.frequency_hz[alone] if alone.any() else taken.frequency_hz
        level = float(np.median(taken.level[alone])) if alone.any() else 10.0 / readings.full_scale
        rows += [(2.0, hz, level, 0.0) for hz in _between(span)]
    table = np.array(sorted(set(rows)))
    return replace(
        taken,
        test=table[:, 0].astype(np.intp),
        frequency_hz=table[:, 1],
        level=table[:, 2],
        falling=table[:, 3],
        order=None,
    )


def _level_rows(taken: Points, chosen: np.ndarray) -> Iterable[tuple[float, float, float, float]]:
    """Levels at the frequencies of the linearity test, and at the band's own, up to the highest taken near each."""
    linear = chosen[taken.test[chosen] == 0]
    for hz in np.unique(np.round(taken.frequency_hz[linear], 1)):
        near = at_frequency(taken.frequency_hz[linear], float(hz))
        top = float(taken.level[linear][near].max(initial=0.0))
        for part in (0.03, 0.1, 0.25, 0.5, 0.75, 1.0):
            for falling in (0.0, 1.0):
                yield (0.0, float(hz), part * top, falling)


def _between(frequency_hz: FloatArray) -> list[float]:
    low, high = float(frequency_hz.min()), float(frequency_hz.max())
    return [float(f"{hz:.3g}") for hz in np.geomspace(low, high, 14)]


def _predicted(
    found: FaultExplanations, candidates: Points
) -> tuple[FloatArray, FloatArray, FloatArray, tuple[str, ...]]:
    """Weights (m,), means and standard deviations (m, c) of every explanation that counts, and their names."""
    kept = [item for item in found.explanations if item.weight >= LEAST_WEIGHT and item.name != NONE_OF_THESE]
    kept = kept or [found.of(HEALTHY)]
    weights = np.array([item.weight for item in kept])
    pairs = [_with_spread(item.fitted, candidates) for item in kept]
    mean, spread = np.stack([p[0] for p in pairs]), np.stack([p[1] for p in pairs])
    return weights / weights.sum(), mean, spread, tuple(item.name for item in kept)


def _with_spread(fitted: FittedVariant, candidates: Points) -> tuple[FloatArray, FloatArray]:
    """Prediction (c,) and what the fitted parameters leave open of it (c,), by differences."""
    rows = np.repeat(fitted.parameters[None, :], len(fitted.free) + 1, axis=0)
    step = 1e-4 * fitted.spread
    rows[np.arange(1, len(fitted.free) + 1), fitted.free] += step
    predicted = predict_ratio(rows, candidates)
    slope = (predicted[1:] - predicted[0]) / 1e-4
    variance = np.einsum("kc,kl,lc->c", slope, fitted.covariance, slope)
    weight = np.minimum(1.0, candidates.reference_hz / candidates.frequency_hz)
    scatter = max(fitted.variant.scatter, 0.0) * weight * predicted[0]
    unsteady = fitted.variant.unsteady * added_ratio(fitted.parameters[None, :], candidates)[0]
    return predicted[0], np.sqrt(np.maximum(variance, 0.0) + scatter**2 + unsteady**2)


def mixture_information(weights: FloatArray, mean: FloatArray, sd: FloatArray) -> FloatArray:
    """Mutual information (c,), in nats, between a label of ``weights`` (m,) and a normal reading.

    ``mean`` and ``sd`` (m, c) are those of the reading under each label. Each label's density over that of all is
    weighed by Gauss-Legendre quadrature over panels that are narrow where any label's density is; never below 0 nor
    above the entropy of the weights.
    """
    ends = (mean[:, None, :] + sd[:, None, :] * np.array(OFFSETS)[:, None]).reshape(-1, mean.shape[1])
    values, share = over_panels(np.sort(ends, axis=0), nodes=8)  # (p, q, c)
    apart = (values[None] - mean[:, None, None, :]) / sd[:, None, None, :]  # (m, p, q, c)
    log_density = -0.5 * apart**2 - np.log(sd * math.sqrt(2.0 * math.pi))[:, None, None, :]
    log_shares = log_density + np.log(weights)[:, None, None, None]
    mixed = np.logaddexp.reduce(log_shares, axis=0)
    told = (np.exp(log_shares) * (log_density - mixed)).sum(axis=0)
    entropy = -float((weights * np.log(weights)).sum())
    information: FloatArray = np.clip((share * told).sum(axis=(0, 1)), 0.0, entropy)
    return information


def _check_information(found: FaultExplanations, shows: dict[str, float]) -> float:
    """Information of a yes-or-no check that a fault answers with yes as often as ``shows`` says."""
    weights, yes = [], []
    for item in found.explanations:
        if item.name == NONE_OF_THESE or item.weight < LEAST_WEIGHT:
            continue
        keys = [*item.names, *item.fitted.family.part.split(", ")]
        hit = max((shows.get(key, 0.0) for key in keys), default=0.0)
        weights.append(item.weight)
        yes.append(CHECK_ERROR + (1.0 - 2.0 * CHECK_ERROR) * hit)
    w, p = np.array(weights) / sum(weights), np.array(yes)
    return max(_entropy(float(w @ p)) - float(w @ np.array([_entropy(v) for v in p])), 0.0) if len(w) else 0.0


def _entropy(p: float) -> float:
    return 0.0 if p in (0.0, 1.0) else -(p * math.log(p) + (1.0 - p) * math.log(1.0 - p))


def _reading(
    found: FaultExplanations, at: Points, i: int, information: float, mean: FloatArray, names: Sequence[str]
) -> Suggestion:
    return Suggestion(
        information=information,
        test=SHAKER_TESTS[at.test[i]],
        frequency_hz=float(at.frequency_hz[i]),
        level=float(at.level[i]) * found.readings.full_scale,
        falling=bool(at.falling[i]),
        would_read=tuple((name, float(value)) for name, value in list(zip(names, mean, strict=True))[:3]),
    )
