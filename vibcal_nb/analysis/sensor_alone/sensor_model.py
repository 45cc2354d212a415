"""Physics of a sensor's response over frequency: mounted resonance, low end, slow fall per decade.

Fitted to ln S with every choice of the terms (``sensor_candidates``) by the errors that the readings' budget states.
Chi-squared decides whether any of them describes the readings; a quantity is stated only where they show it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.analysis.sensor_alone.low_end import SECOND_ORDER, tell_low_end
from vibcal_nb.analysis.sensor_alone.sensor_candidates import (
    TERMS,
    LogResponse,
    SensorCandidates,
    Terms,
    choices,
    columns,
    fit_choices,
)
from vibcal_nb.analysis.sensor_alone.sensor_physics import Physics, SensorEvidence, state_physics
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY
from vibcal_nb.metrology.uncertainty.fitness import Fitness

RC_ALONE = ("rise", "damping", "droop", "fall")
SEISMIC = ("rise", "damping", "second order", "fall")


@dataclass(frozen=True, kw_only=True, eq=False)
class SensorFit:
    """Fitted sensor response.

    ``S0`` in the sensitivity's unit. ``physics`` is what it shows; ``low_end`` is one of ``low_end``'s kinds.
    ``inadequate`` says why no choice of terms describes the readings, None where one does. ``covariance`` (k, k) is of
    ln S0 and the columns of the ``terms``, as ``sensor_candidates`` scales them, widened as the ``fitness`` asks.
    ``scatter`` is the relative standard deviation of the readings about the fit.
    """

    S0: float
    physics: Physics
    low_end: str
    terms: Terms
    covariance: FloatArray
    scatter: float
    fitness: Fitness
    inadequate: str | None
    parameters: FloatArray
    frequency_hz: FloatArray
    sensitivity: FloatArray
    errors: CorrelatedErrors
    method: str = (
        "generalised least squares of ln S by the readings' budget; terms chosen by chi-squared + 2 p among those "
        "above 3 standard uncertainties; intervals from the covariance"
    )


def fit_sensor(
    frequency_hz: ArrayLike,
    sensitivity: ArrayLike,
    *,
    u_rel: ArrayLike | CorrelatedErrors,
    terms: Sequence[str] = TERMS,
    low_end: str | None = None,
    errors_nu: float = math.inf,
    probability: float = PROBABILITY,
) -> SensorFit:
    """Fit the sensor's response to sensitivities (n,) at frequencies (n,) in Hz, n at least 2.

    ``u_rel``: relative standard uncertainty of each reading, (n,) or one for all, or with what readings share; what all
    share may be left out. ``errors_nu`` are the degrees of freedom with which it is known. ``terms`` restricts the
    physics, e.g. ``("rise",)``. ``low_end`` is the kind that the sensor is known to have, ``first order`` or ``second
    order``: the other is tried only where that does not describe the readings. The intervals have the coverage
    ``probability``.
    Raises ``ValueError`` for an unknown term, fewer than 2 readings, or values that are not positive.
    """
    f, s, errors = _checked(frequency_hz, sensitivity, u_rel, terms)
    most = max(min(np.unique(f).size - 1, f.size - 2), 0)  # a degree of freedom must be left to see scatter
    known = {None: TERMS, SECOND_ORDER: SEISMIC}.get(low_end, RC_ALONE)
    wanted = [term for term in terms if term in known]
    found, fitness = _fit(wanted, most, f, s, errors, errors_nu)
    if not fitness.holds and set(wanted) != set(terms):
        found, fitness = _fit(terms, most, f, s, errors, errors_nu)
    best = found.best
    residual = np.log(s) - LogResponse(f, fitted_hz=f)(found.parameters[best][None, :])[0][0]
    evidence = SensorEvidence(
        found=found,
        f=f,
        asked=terms,
        most=most,
        low_end=tell_low_end(found, best),
        inadequate=_why_inadequate(fitness, residual, errors),
        fitness=fitness,
        probability=probability,
    )
    own = columns(found.terms[best])
    return SensorFit(
        S0=math.exp(found.parameters[best, 0]),
        physics=state_physics(evidence),
        low_end=evidence.low_end,
        terms=found.terms[best],
        covariance=frozen(found.covariances[best][np.ix_(own, own)] * fitness.widening),
        scatter=math.sqrt(float((residual**2).sum()) / fitness.degrees_of_freedom),
        fitness=fitness,
        inadequate=evidence.inadequate,
        parameters=frozen(found.parameters[best]),
        frequency_hz=frozen(f),
        sensitivity=frozen(s),
        errors=errors,
    )


def evaluate_sensor(fit: SensorFit, f: ArrayLike) -> FloatArray | float:
    """Return the fitted sensitivity at ``f`` in Hz; infinite at and above a fitted resonance without damping."""
    at = np.atleast_1d(np.asarray(f, float)).ravel()
    undamped = "rise" in fit.terms and "damping" not in fit.terms
    end = float(fit.frequency_hz.max()) / math.sqrt(fit.parameters[1]) if undamped else math.inf
    value = np.full(at.shape, math.inf)
    below = at < end
    value[below] = np.exp(LogResponse(at[below], fitted_hz=fit.frequency_hz)(fit.parameters[None, :])[0][0])
    return float(value[0]) if np.ndim(f) == 0 else value.reshape(np.shape(f))


def _fit(
    wanted: Sequence[str], most: int, f: FloatArray, s: FloatArray, errors: CorrelatedErrors, errors_nu: float
) -> tuple[SensorCandidates, Fitness]:
    found = fit_choices(choices(wanted, most), f=f, s=s, errors=errors)
    best = found.best
    fitness = Fitness(
        chi_squared=float(found.chi_squared[best]),
        degrees_of_freedom=f.size - len(columns(found.terms[best])),
        errors_nu=errors_nu,
    )
    return found, fitness


def _why_inadequate(fitness: Fitness, residual: FloatArray, errors: CorrelatedErrors) -> str | None:
    if fitness.holds:
        return None
    rms, expected = (100.0 * math.sqrt(float(np.mean(values**2))) for values in (residual, errors.u))
    return (
        f"no model of a sensor describes the readings, which lie {rms:.2g} % (rms) off the best where their "
        f"uncertainty is {expected:.2g} %"
    )


def _checked(
    f: ArrayLike, s: ArrayLike, u: ArrayLike | CorrelatedErrors, terms: Sequence[str]
) -> tuple[FloatArray, FloatArray, CorrelatedErrors]:
    unknown = [t for t in terms if t not in TERMS]
    if unknown:
        raise ValueError(f"No term is called {unknown[0]!r}; choose from {', '.join(TERMS)}.")
    f, s = np.atleast_1d(np.asarray(f, float)), np.atleast_1d(np.asarray(s, float))
    errors = (
        u
        if isinstance(u, CorrelatedErrors)
        else CorrelatedErrors(own=frozen(np.broadcast_to(np.asarray(u, float), f.shape)))
    )
    if f.size < 2 or f.shape != s.shape:
        raise ValueError(f"{f.size} frequencies and {s.size} sensitivities; give at least 2 of each, in pairs.")
    if not (np.isfinite(f) & np.isfinite(s) & (f > 0.0) & (s > 0.0)).all():
        raise ValueError("A frequency or a sensitivity is not a positive number; leave that reading out.")
    if not (np.isfinite(errors.own) & (errors.own > 0.0)).all():
        raise ValueError("A relative uncertainty is not a number above 0; give it as a fraction.")
    return f, s, errors
