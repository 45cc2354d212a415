"""Physics of a sensor's response over frequency: mounted resonance, low-frequency droop, slow fall per decade.

S(f) = S0 / (1 - (f/fn)^2) / sqrt(1 + (f1/f)^2) x (1 - fall log10(f/f0)), f0 the geometric mean of the
frequencies. Fitted to ln S in S0, 1/fn^2, f1^2 and the fall, none of which may be negative; a term is stated
only where the readings show it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from vibcal_nb.analysis.arrays import FloatArray, frozen

TERMS = ("rise", "droop", "fall")
SIGNIFICANT = 3.0  # estimate over its standard uncertainty
LEAST_RELATIVE_RESIDUAL = 1e-9  # rounding, not scatter
MOST_STEPS = 60
HIGHEST = np.array([np.inf, 0.98, 1e4, 0.3])  # of ln S0, (fmax/fn)^2, (f1/fmin)^2, fall per decade
SHOWS = {
    "fn": ("rise", "rise towards a resonance"),
    "f1": ("droop", "droop towards low frequencies"),
    "fall_pct_per_decade": ("fall", "steady fall per decade"),
}


@dataclass(frozen=True, kw_only=True, eq=False)
class SensorFit:
    """Fitted sensor response; a quantity the readings cannot show is None, with the reason in ``undetermined``.

    ``S0`` in the sensitivity's unit; ``fn`` and ``f1`` in Hz, the fall in % per decade, with 95 % intervals.
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
        "95 % intervals from the covariance"
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Trial:
    terms: tuple[str, ...]
    parameters: FloatArray  # (4,)
    covariance: FloatArray  # (k, k)
    rss: float
    criterion: float

    @property
    def significant(self) -> bool:
        estimates = self.parameters[_columns(self.terms)][1:]
        inside = estimates < HIGHEST[_columns(self.terms)][1:]
        return bool((inside & (estimates > SIGNIFICANT * np.sqrt(np.diag(self.covariance)[1:]))).all())


def fit_sensor(
    frequency_hz: ArrayLike, sensitivity: ArrayLike, *, u_rel: ArrayLike, terms: tuple[str, ...] = TERMS
) -> SensorFit:
    """Fit the sensor's response to sensitivities (n,) at frequencies (n,) in Hz, n at least 2.

    ``u_rel`` (n,) or one value: relative standard uncertainty of each reading without what all share; where
    any is zero, all readings weigh alike. ``terms`` restricts the physics, e.g. ``("rise",)``.
    Raises ``ValueError`` for an unknown term, fewer than 2 readings, or values that are not positive.
    """
    f, s, u = _checked(frequency_hz, sensitivity, u_rel, terms)
    wanted = [t for t in TERMS if t in terms]
    most = max(min(np.unique(f).size - 1, f.size - 2), 0)  # a degree of freedom must be left to see scatter
    choices = [c for k in range(min(most, len(wanted)) + 1) for c in itertools.combinations(wanted, k)]
    trials = [_try(c, f, s, u, largest=1 + min(most, len(wanted))) for c in choices]
    best = min((t for t in trials if t.significant), key=lambda t: t.criterion)
    freedom = f.size - 1 - len(best.terms)
    residual = np.log(s) - _log_model(best.parameters, f, f)[0]
    stated, reasons = _state(best, f, freedom, terms, most)
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
    value[below] = np.exp(_log_model(fit.parameters, at[below], fit.frequency_hz)[0])
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


def _columns(terms: tuple[str, ...]) -> list[int]:
    return [0, *(1 + TERMS.index(t) for t in terms)]


def _log_model(parameters: FloatArray, f: FloatArray, fitted_hz: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return ln S (n,) and its Jacobian (n, 4); ``fitted_hz`` scales the parameters."""
    rise = (f / fitted_hz.max()) ** 2
    droop = (fitted_hz.min() / f) ** 2
    decades = np.log10(f) - np.log10(fitted_hz).mean()
    left = np.maximum(1.0 - parameters[3] * decades, 1e-6)
    value = parameters[0] - np.log1p(-parameters[1] * rise) - 0.5 * np.log1p(parameters[2] * droop) + np.log(left)
    slopes = [
        np.ones_like(f),
        rise / (1.0 - parameters[1] * rise),
        -0.5 * droop / (1.0 + parameters[2] * droop),
        -decades / left,
    ]
    return value, np.stack(slopes, axis=-1)


def _try(terms: tuple[str, ...], f: FloatArray, s: FloatArray, u: FloatArray, *, largest: int) -> _Trial:
    columns = _columns(terms)
    parameters = _minimise(columns, f, s, u)
    value, jacobian = _log_model(parameters, f, f)
    rss = float((((np.log(s) - value) / u) ** 2).sum())
    slope = jacobian[:, columns] / u[:, None]
    floored = max(rss, float(((LEAST_RELATIVE_RESIDUAL / u) ** 2).sum()))
    covariance = np.linalg.pinv(slope.T @ slope, hermitian=True) * floored / (f.size - len(columns))
    criterion = rss + 2.0 * len(columns)
    if f.size - largest - 2 > 0:  # enough readings for AICc with the scatter unknown
        k = len(columns) + 1
        criterion = f.size * math.log(floored / f.size) + 2.0 * k + 2.0 * k * (k + 1) / (f.size - k - 1)
    return _Trial(terms=terms, parameters=parameters, covariance=covariance, rss=rss, criterion=criterion)


def _minimise(columns: list[int], f: FloatArray, s: FloatArray, u: FloatArray) -> FloatArray:
    """Levenberg-Marquardt within the bounds 0 and ``HIGHEST``."""
    low = np.array([-np.inf, 0.0, 0.0, 0.0])
    parameters = np.array([float(np.log(s).mean()), 0.0, 0.0, 0.0])
    value, jacobian = _log_model(parameters, f, f)
    residual, damping = (np.log(s) - value) / u, 1e-4
    for _ in range(MOST_STEPS):
        slope = jacobian[:, columns] / u[:, None]
        normal = slope.T @ slope
        normal[np.diag_indices(len(columns))] *= 1.0 + damping
        trial = parameters.copy()
        trial[columns] += np.linalg.pinv(normal, hermitian=True) @ (slope.T @ residual)
        trial = np.clip(trial, low, HIGHEST)
        value, trial_jacobian = _log_model(trial, f, f)
        trial_residual = (np.log(s) - value) / u
        settled = np.abs(trial - parameters).max() < 1e-12
        if trial_residual @ trial_residual <= residual @ residual:
            parameters, jacobian, residual, damping = trial, trial_jacobian, trial_residual, damping / 10.0
        else:
            damping = min(max(damping, 1e-9) * 10.0, 1e12)
        if settled:
            break
    return parameters


def _state(
    best: _Trial, f: FloatArray, freedom: int, allowed: tuple[str, ...], most: int
) -> tuple[dict[str, object], dict[str, str]]:
    stated: dict[str, object] = {}
    reasons: dict[str, str] = {}
    for name, (term, words) in SHOWS.items():
        stated[name] = stated[f"{name}_interval"] = None
        if term in best.terms:
            column = _columns(best.terms).index(1 + TERMS.index(term))
            half = float(stdtrit(freedom, 0.975)) * math.sqrt(float(best.covariance[column, column]))
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
