"""Physics of a sensor's response over frequency: mounted resonance, low-frequency droop, slow fall per decade.

S(f) = S0 / (1 - (f/fn)^2) / sqrt(1 + (f1/f)^2) x (1 - fall log10(f/f0)), f0 the geometric mean of the
frequencies. Fitted to ln S with every choice of the terms (``sensor_candidates``); a term is stated only where
the readings show it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.analysis.sensor_alone.sensor_candidates import TERMS, LogResponse, SensorCandidates, columns, fit_choices
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, coverage_factor

SHOWS = {
    "fn": ("rise", "rise towards a resonance"),
    "f1": ("droop", "droop towards low frequencies"),
    "fall_pct_per_decade": ("fall", "steady fall per decade"),
}


@dataclass(frozen=True, kw_only=True, eq=False)
class SensorFit:
    """Fitted sensor response; a quantity the readings cannot show is None, with the reason in ``undetermined``.

    ``S0`` in the sensitivity's unit; ``fn`` and ``f1`` in Hz, the fall in % per decade, each with its interval.
    ``covariance`` (k, k) is of ln S0 and the ``terms``, scaled as (fmax/fn)^2, (f1/fmin)^2, fall as a fraction.
    ``scatter`` is the relative standard deviation of the readings about the fit.
    """

    S0: float
    fn: float | None
    fn_interval: tuple[float, float] | None
    f1: float | None
    f1_interval: tuple[float, float] | None
    fall_pct_per_decade: float | None
    fall_pct_per_decade_interval: tuple[float, float] | None
    terms: tuple[str, ...]
    covariance: FloatArray
    scatter: float
    chi_squared: float
    degrees_of_freedom: int
    undetermined: Mapping[str, str]
    parameters: FloatArray
    frequency_hz: FloatArray
    sensitivity: FloatArray
    u_rel: FloatArray
    method: str = (
        "weighted least squares of ln S; terms chosen by AICc among those above 3 standard uncertainties; "
        "intervals from the covariance"
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Best:
    terms: tuple[str, ...]
    parameters: FloatArray  # (4,)
    covariance: FloatArray  # (k, k)
    rss: float

    @classmethod
    def of(cls, found: SensorCandidates) -> _Best:
        i = found.best
        own = columns(found.terms[i])
        return cls(
            terms=found.terms[i],
            parameters=found.parameters[i],
            covariance=found.covariances[i][np.ix_(own, own)],
            rss=float(found.rss[i]),
        )


def fit_sensor(
    frequency_hz: ArrayLike,
    sensitivity: ArrayLike,
    *,
    u_rel: ArrayLike,
    terms: tuple[str, ...] = TERMS,
    probability: float = PROBABILITY,
) -> SensorFit:
    """Fit the sensor's response to sensitivities (n,) at frequencies (n,) in Hz, n at least 2.

    ``u_rel`` (n,) or one value: relative standard uncertainty of each reading without what all share; where
    any is zero, all readings weigh alike. ``terms`` restricts the physics, e.g. ``("rise",)``. The intervals have
    the coverage ``probability``.
    Raises ``ValueError`` for an unknown term, fewer than 2 readings, or values that are not positive.
    """
    f, s, u = _checked(frequency_hz, sensitivity, u_rel, terms)
    wanted = [t for t in TERMS if t in terms]
    most = max(min(np.unique(f).size - 1, f.size - 2), 0)  # a degree of freedom must be left to see scatter
    found = fit_choices(tuple(wanted), most, f=f, s=s, u_rel=u)
    best = _Best.of(found)
    freedom = f.size - 1 - len(best.terms)
    residual = np.log(s) - LogResponse(f, fitted_hz=f)(best.parameters[None, :])[0][0]
    stated, reasons = _state(best, f, terms, most, coverage_factor(freedom, probability=probability))
    return SensorFit(
        S0=math.exp(best.parameters[0]),
        terms=best.terms,
        covariance=frozen(best.covariance),
        scatter=math.sqrt(float((residual**2).sum()) / freedom),
        chi_squared=best.rss,
        degrees_of_freedom=freedom,
        undetermined=reasons,
        parameters=frozen(best.parameters),
        frequency_hz=frozen(f),
        sensitivity=frozen(s),
        u_rel=frozen(u),
        **stated,  # type: ignore[arg-type]
    )


def evaluate_sensor(fit: SensorFit, f: ArrayLike) -> FloatArray | float:
    """Return the fitted sensitivity at ``f`` in Hz; infinite at and above the fitted resonance."""
    at = np.atleast_1d(np.asarray(f, float)).ravel()
    below = at < (math.inf if fit.fn is None else fit.fn)
    value = np.full(at.shape, math.inf)
    value[below] = np.exp(LogResponse(at[below], fitted_hz=fit.frequency_hz)(fit.parameters[None, :])[0][0])
    return float(value[0]) if np.ndim(f) == 0 else value.reshape(np.shape(f))


def _checked(
    f: ArrayLike, s: ArrayLike, u: ArrayLike, terms: tuple[str, ...]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    unknown = [t for t in terms if t not in TERMS]
    if unknown:
        raise ValueError(f"No term is called {unknown[0]!r}; choose from {', '.join(TERMS)}.")
    f, s = np.atleast_1d(np.asarray(f, float)), np.atleast_1d(np.asarray(s, float))
    u = np.broadcast_to(np.asarray(u, float), f.shape)
    if f.size < 2 or f.shape != s.shape:
        raise ValueError(f"{f.size} frequencies and {s.size} sensitivities; give at least 2 of each, in pairs.")
    if not (np.isfinite(f) & np.isfinite(s) & (f > 0.0) & (s > 0.0)).all():
        raise ValueError("A frequency or a sensitivity is not a positive number; leave that reading out.")
    if not (np.isfinite(u) & (u >= 0.0)).all():
        raise ValueError("A relative uncertainty is negative or not a number; give it as a fraction from 0.")
    return f, s, u if (u > 0.0).all() else np.full(f.shape, max(float(u.max()), 1e-3))


def _state(
    best: _Best, f: FloatArray, allowed: tuple[str, ...], most: int, k: float
) -> tuple[dict[str, object], dict[str, str]]:
    stated: dict[str, object] = {}
    reasons: dict[str, str] = {}
    for name, (term, words) in SHOWS.items():
        stated[name] = stated[f"{name}_interval"] = None
        if term in best.terms:
            column = columns(best.terms).index(1 + TERMS.index(term))
            half = k * math.sqrt(float(best.covariance[column, column]))
            stated |= _physical(name, float(best.parameters[1 + TERMS.index(term)]), half, f)
        elif term not in allowed:
            reasons[name] = f"a {words} was not asked for"
        elif most == 0:
            reasons[name] = f"{f.size} readings are too few to show a {words}"
        else:
            reasons[name] = f"the readings show no significant {words}"
    return stated, reasons


def _physical(name: str, estimate: float, half: float, f: FloatArray) -> dict[str, object]:
    """The quantity and its interval; corners are positive, so theirs is symmetric in the logarithm."""
    if name == "fall_pct_per_decade":
        return {name: 100.0 * estimate, f"{name}_interval": (100.0 * (estimate - half), 100.0 * (estimate + half))}
    at = float(f.max()) / math.sqrt(estimate) if name == "fn" else float(f.min()) * math.sqrt(estimate)
    spread = math.exp(0.5 * half / estimate)
    return {name: at, f"{name}_interval": (at / spread, at * spread)}
