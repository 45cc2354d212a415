"""Global risks of wrong decisions, test uncertainty ratio, managed guard band, measurement capability."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.conformity.conformance_probability import (
    ConformityError,
    ToleranceLimits,
    probability_of_conformity,
    probability_of_nonconformity,
)
from vibcal_nb.metrology.numerics.quadrature import normal_expectation


@dataclass(frozen=True, kw_only=True)
class GlobalRisk:
    """Probabilities over a population of items, before any of them is measured.

    ``consumer``: the item does not conform and is accepted. ``producer``: it conforms and is rejected.
    ``nonconforming``: it does not conform. Shares of all items, not of the accepted or rejected ones.
    """

    consumer: float
    producer: float
    nonconforming: float


@dataclass(frozen=True, kw_only=True)
class ManagedGuardBand:
    """The guard band of ANSI/NCSL Z540.3 Method 6: ``guard_band = max(multiplier, 0) U``."""

    tur: float
    multiplier: float
    guard_band: float
    acceptance_limits: ToleranceLimits


@dataclass(frozen=True, kw_only=True)
class MeasurementCapability:
    """What a measurement of capability index C_m = T / (4 u) can state about a two-sided tolerance T.

    ``probability_at_centre`` and ``probability_at_limit`` are conformance probabilities of a value measured
    there; ``acceptance_fraction`` is the part of T, about its middle, where that probability is at least
    ``probability``; None where it is nowhere so large.
    """

    index: float
    probability: float
    probability_at_centre: float
    probability_at_limit: float
    acceptance_fraction: float | None


def global_risk(
    limits: ToleranceLimits,
    acceptance_limits: ToleranceLimits | None,
    *,
    process_mean: float,
    process_sd: float,
    measurement_uncertainty: float,
) -> GlobalRisk:
    """Return consumer's and producer's risk for a normal population and normal measurement.

    ``process_mean`` and ``process_sd`` describe the items, ``measurement_uncertainty`` is the standard
    uncertainty of measuring one, all in the unit of the limits. ``acceptance_limits`` are the tolerance
    limits themselves for simple acceptance; None accepts nothing.

    Source: JCGM 106:2012, 9.5. Raises ``ConformityError`` for a standard deviation that is not above zero.
    """
    _require_positive(process_sd, "standard deviation of the process")
    _require_positive(measurement_uncertainty, "standard uncertainty of the measurement")
    nonconforming = float(probability_of_nonconformity(process_mean, process_sd, limits))
    if acceptance_limits is None:
        return GlobalRisk(consumer=0.0, producer=1.0 - nonconforming, nonconforming=nonconforming)
    accepting = acceptance_limits

    def wrongly_accepted(z: FloatArray) -> FloatArray:
        item = process_mean + process_sd * z
        accepted = probability_of_conformity(item, measurement_uncertainty, accepting)
        return np.where(probability_of_conformity(item, 0.0, limits) > 0.0, 0.0, accepted)

    def wrongly_rejected(z: FloatArray) -> FloatArray:
        item = process_mean + process_sd * z
        rejected = probability_of_nonconformity(item, measurement_uncertainty, accepting)
        return np.where(probability_of_conformity(item, 0.0, limits) > 0.0, rejected, 0.0)

    width = measurement_uncertainty / process_sd
    transitions = [((limit - process_mean) / process_sd, 0.0) for limit in limits.stated]
    transitions += [((limit - process_mean) / process_sd, width) for limit in accepting.stated]
    return GlobalRisk(
        consumer=normal_expectation(wrongly_accepted, transitions=transitions),
        producer=normal_expectation(wrongly_rejected, transitions=transitions),
        nonconforming=nonconforming,
    )


def worst_consumer_risk(
    limits: ToleranceLimits, acceptance_limits: ToleranceLimits, *, measurement_uncertainty: float
) -> float:
    """Return the largest global consumer's risk that any population centred in the tolerance can cause.

    It is what can be promised where nothing is known about the population. Two-sided limits only.
    Raises ``ConformityError``.
    """
    from scipy.optimize import minimize_scalar

    width = _require_width(limits)

    def negative_risk(log_sd: float) -> float:
        risk = global_risk(
            limits,
            acceptance_limits,
            process_mean=sum(limits.stated) / 2.0,
            process_sd=math.exp(log_sd),
            measurement_uncertainty=measurement_uncertainty,
        )
        return -risk.consumer

    bounds = (math.log(width / 50.0), math.log(width * 50.0))
    return float(-minimize_scalar(negative_risk, bounds=bounds, method="bounded").fun)


def tur(limits: ToleranceLimits, expanded_uncertainty: float) -> float:
    """Return the test uncertainty ratio: the span of the tolerance over twice the 95 % expanded uncertainty.

    Source: ANSI/NCSL Z540.3-2006, 3.11. Raises ``ConformityError`` for one-sided limits, which have none.
    """
    _require_positive(expanded_uncertainty, "expanded uncertainty")
    return _require_width(limits) / (2.0 * expanded_uncertainty)


def managed_guard_band(limits: ToleranceLimits, expanded_uncertainty: float) -> ManagedGuardBand:
    """Return the guard band that keeps the global consumer's risk at 2 % whatever the population.

    The multiplier of U is M = 1.04 - exp(0.38 ln TUR - 0.54); above a TUR of about 4.6 it is below zero and
    no guard band is needed.

    Source: ANSI/NCSL Z540.3-2006 Handbook, Method 6. Raises ``ConformityError`` for one-sided limits and
    for a TUR so small that no acceptance zone is left.
    """
    ratio = tur(limits, expanded_uncertainty)
    multiplier = 1.04 - math.exp(0.38 * math.log(ratio) - 0.54)
    guard_band = max(multiplier, 0.0) * expanded_uncertainty
    if guard_band > _require_width(limits) / 2.0:
        raise ConformityError(
            f"the test uncertainty ratio is {ratio:.2g} and its guard bands leave no acceptance zone; "
            "measure with a smaller uncertainty"
        )
    lower, upper = limits.stated
    acceptance = ToleranceLimits(lower=lower + guard_band, upper=upper - guard_band)
    return ManagedGuardBand(tur=ratio, multiplier=multiplier, guard_band=guard_band, acceptance_limits=acceptance)


def guard_ratio(specific_risk: float, *, k: float = 2.0) -> float:
    """Return r, so that a guard band w = r U with U = k u keeps the one-sided specific risk.

    A risk of 5 % with k = 2 needs r = 0.82. Source: JCGM 106:2012, 8.3.2. Raises ``ConformityError``.
    """
    if not 0.0 < specific_risk <= 0.5:
        raise ConformityError(f"the specific risk is {specific_risk}; give a number above 0 and up to 0.5")
    _require_positive(k, "coverage factor k")
    return float(-ndtri(specific_risk)) / k


def measurement_capability(limits: ToleranceLimits, u: float, *, probability: float = 0.95) -> MeasurementCapability:
    """Return the capability index C_m = T / (4 u) and what can be stated at it.

    Source: JCGM 106:2012, 7.6. Raises ``ConformityError`` for one-sided limits or u of zero or less.
    """
    from scipy.optimize import brentq

    _require_positive(u, "standard uncertainty")
    index = _require_width(limits) / (4.0 * u)

    def conforms(y: float) -> float:
        """Return the conformance probability at y = (value - lower limit) / T."""
        return float(ndtr(4.0 * index * (1.0 - y)) - ndtr(-4.0 * index * y))

    fraction = None
    if conforms(0.5) >= probability:
        edge = brentq(lambda y: conforms(y) - probability, 0.5, 1.5, xtol=1e-14)
        fraction = 2.0 * edge - 1.0
    return MeasurementCapability(
        index=index,
        probability=probability,
        probability_at_centre=conforms(0.5),
        probability_at_limit=conforms(1.0),
        acceptance_fraction=fraction,
    )


def _require_positive(value: float, what: str) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise ConformityError(f"the {what} is {value}; give a finite number above zero")


def _require_width(limits: ToleranceLimits) -> float:
    if not limits.width:
        raise ConformityError(
            f"the limits are {limits.lower} and {limits.upper}; give a lower and a higher upper limit"
        )
    return limits.width
