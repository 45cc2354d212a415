"""Least-squares fits of a sensor's response with every choice of its physical terms at once.

ln S = ln S0 - ln(1 - p1 (f/fmax)^2) - ln(1 + p2 (fmin/f)^2)/2 + ln(1 - p3 log10(f/f0)), with p1 the rise, p2 the
droop, p3 the fall, none negative. Choices are compared by AICc (Burnham and Anderson, Model Selection and
Multimodel Inference, 2nd ed., section 2.4, from memory), their scatter being unknown.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors
from vibcal_nb.metrology.numerics.simultaneous_fits import fit_all

TERMS = ("rise", "droop", "fall")
SIGNIFICANT = 3.0  # estimate over its standard uncertainty
LEAST_RELATIVE_RESIDUAL = 1e-9  # rounding, not scatter
LOWEST = np.array([-np.inf, 0.0, 0.0, 0.0])
HIGHEST = np.array([np.inf, 0.98, 1e4, 0.3])  # of ln S0, (fmax/fn)^2, (f1/fmin)^2, fall per decade


class LogResponse:
    """ln S of any choice of terms at frequencies ``f`` (n,), parameters scaled by ``fitted_hz``."""

    def __init__(self, f: FloatArray, *, fitted_hz: FloatArray) -> None:
        self._rise = (f / fitted_hz.max()) ** 2
        self._droop = (fitted_hz.min() / f) ** 2
        self._decades = np.log10(f) - np.log10(fitted_hz).mean()

    def __call__(self, parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return ln S (c, n) and its Jacobian (c, n, 4) at ``parameters`` (c, 4)."""
        ln_s0, rise, droop, fall = (parameters[:, i : i + 1] for i in range(4))
        below = 1.0 - rise * self._rise
        above = 1.0 + droop * self._droop
        left = np.maximum(1.0 - fall * self._decades, 1e-6)
        jacobian = np.ones((*below.shape, 4))
        np.divide(self._rise, below, out=jacobian[:, :, 1])
        np.divide(-0.5 * self._droop, above, out=jacobian[:, :, 2])
        np.divide(-self._decades, left, out=jacobian[:, :, 3])
        return ln_s0 - np.log(below * np.sqrt(above) / left), jacobian


@dataclass(frozen=True, kw_only=True, eq=False)
class SensorCandidates:
    """Fitted choices of terms: ``parameters`` (c, 4), ``covariances`` (c, 4, 4) zero where a term is absent.

    ``rss`` (c,) weighted; ``criterion`` (c,) AICc, or chi-squared + 2p where there are too few readings for it.
    ``significant`` (c,) is True where every term lies within its bounds and above 3 standard uncertainties.
    """

    terms: tuple[tuple[str, ...], ...]
    parameters: FloatArray
    covariances: FloatArray
    rss: FloatArray
    criterion: FloatArray
    significant: NDArray[np.bool_]

    @property
    def best(self) -> int:
        """Index of the significant choice with the least criterion; the choice of no terms always is."""
        return int(np.argmin(np.where(self.significant, self.criterion, np.inf)))


def columns(terms: tuple[str, ...]) -> list[int]:
    """Return the columns of the parameters that a choice of terms has: ln S0 and its terms."""
    return [0, *(1 + TERMS.index(t) for t in terms)]


def fit_choices(
    wanted: tuple[str, ...], most: int, *, f: FloatArray, s: FloatArray, u_rel: FloatArray
) -> SensorCandidates:
    """Fit every choice of up to ``most`` of the ``wanted`` terms to ln S with weights 1/u_rel; arrays (n,)."""
    largest = min(most, len(wanted))
    choices = [c for k in range(largest + 1) for c in itertools.combinations(wanted, k)]
    present = np.zeros((len(choices), 4), dtype=bool)
    for row, terms in zip(present, choices, strict=True):
        row[columns(terms)] = True
    model, ln_s = LogResponse(f, fitted_hz=f), np.log(s)
    start = np.tile([float(ln_s.mean()), 0.0, 0.0, 0.0], (len(choices), 1))
    parameters, rss = fit_all(
        lambda parameters, _: model(parameters),
        start,
        target=ln_s,
        errors=CorrelatedErrors(own=u_rel),
        present=present,
        lower=LOWEST,
        upper=HIGHEST,
    )
    floored = np.maximum(rss, float(((LEAST_RELATIVE_RESIDUAL / u_rel) ** 2).sum()))
    count = present.sum(axis=1)
    covariances = _covariances(model(parameters)[1], present, u_rel) * (floored / (f.size - count))[:, None, None]
    return SensorCandidates(
        terms=tuple(choices),
        parameters=parameters,
        covariances=covariances,
        rss=rss,
        criterion=_criterion(rss, floored, count, f.size, largest),
        significant=_significant(parameters, covariances, present),
    )


def _covariances(jacobian: FloatArray, present: NDArray[np.bool_], u_rel: FloatArray) -> FloatArray:
    slope = jacobian * present[:, None, :] / u_rel[:, None]
    return np.asarray(np.linalg.pinv(slope.transpose(0, 2, 1) @ slope, hermitian=True))


def _criterion(rss: FloatArray, floored: FloatArray, count: NDArray[np.int64], n: int, largest: int) -> FloatArray:
    if n - largest - 3 <= 0:  # too few readings for AICc with the scatter unknown
        return rss + 2.0 * count
    k = count + 1
    return n * np.log(floored / n) + 2.0 * k + 2.0 * k * (k + 1) / (n - k - 1)


def _significant(parameters: FloatArray, covariances: FloatArray, present: NDArray[np.bool_]) -> NDArray[np.bool_]:
    u = np.sqrt(np.maximum(np.diagonal(covariances, axis1=1, axis2=2), 0.0))
    shown = (parameters < HIGHEST) & (parameters > SIGNIFICANT * u)
    return np.asarray((shown | ~present)[:, 1:].all(axis=1))
