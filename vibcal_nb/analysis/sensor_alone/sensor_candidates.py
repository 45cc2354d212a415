"""Least-squares fits of a sensor's response with every choice of its physical terms at once.

ln S = ln S0 - ln P_high/2 - ln P_low/2 + ln(1 - fall log10(f/f0)), f0 the geometric mean of the frequencies.
High end: P = (1 - p z)^2 + d p z, z = (f/fmax)^2, p = (fmax/fn)^2, d = 1/Q^2; without ``damping`` d = 0.
Low end: P = 1 + r y, y = (fmin/f)^2, r = (f1/fmin)^2, of a first order, or P = (1 - q y)^2 + g q y, q = (f0/fmin)^2,
g = 4 h^2, of a second-order sensor of natural frequency f0 and damping ratio h.

The errors of the readings are known from their budget: choices are compared by chi-squared + 2 p (H. Akaike, IEEE
Trans. Autom. Control 19 (1974) 716, for known variances).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors
from vibcal_nb.metrology.numerics.simultaneous_fits import fit_all

COLUMNS = {"rise": (1,), "damping": (2,), "droop": (3,), "second order": (4, 5), "fall": (6,)}
TERMS = tuple(COLUMNS)
RISE, DAMPING, DROOP, NATURAL, DAMPED, FALL = 1, 2, 3, 4, 5, 6
"""Columns of the parameters, ln S0 being the first."""

SIGNIFICANT = 3.0  # estimate over its standard uncertainty
SHOWN_BY_TWO = 11.83  # fall of chi-squared by two parameters that is as unlikely by chance
LOWEST = np.array([-np.inf, 0.0, 0.0, 0.0, 0.0, 0.04, 0.0])
HIGHEST = np.array([np.inf, 25.0, 4.0, 1e4, 1e4, 4.0, 0.3])  # fn at fmax/5, Q of 1/2, critical damping
UNDAMPED_HIGHEST = 0.98  # of p: without damping nothing is read at the resonance
NOTHING = 1e-12
NO_GAIN = 1e-7  # share of chi-squared by which a fit is settled; wrong models creep on for long
START = np.array([0.0, 0.0, 0.0, 0.0, 0.0, 2.0, 0.0])  # a damping ratio of 0.7

Terms = tuple[str, ...]


class LogResponse:
    """ln S of any choice of terms at frequencies ``f`` (n,), parameters scaled by ``fitted_hz``."""

    def __init__(self, f: FloatArray, *, fitted_hz: FloatArray) -> None:
        self._z = (f / fitted_hz.max()) ** 2
        self._y = (fitted_hz.min() / f) ** 2
        self._decades = np.log10(f) - np.log10(fitted_hz).mean()

    def __call__(self, parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return ln S (c, n) and its Jacobian (c, n, 7) at ``parameters`` (c, 7)."""
        z, y = self._z, self._y
        ln_s0, rise, damping, droop, natural, damped, fall = (parameters[:, i : i + 1] for i in range(7))
        high = np.maximum((1.0 - rise * z) ** 2 + damping * rise * z, NOTHING)
        first = 1.0 + droop * y
        second = np.maximum((1.0 - natural * y) ** 2 + damped * natural * y, NOTHING)
        left = np.maximum(1.0 - fall * self._decades, 1e-6)
        jacobian = np.ones((*high.shape, 7))
        jacobian[:, :, RISE] = (z * (1.0 - rise * z) - 0.5 * damping * z) / high
        jacobian[:, :, DAMPING] = -0.5 * rise * z / high
        jacobian[:, :, DROOP] = -0.5 * y / first
        jacobian[:, :, NATURAL] = (y * (1.0 - natural * y) - 0.5 * damped * y) / second
        jacobian[:, :, DAMPED] = -0.5 * natural * y / second
        jacobian[:, :, FALL] = -self._decades / left
        return ln_s0 - 0.5 * np.log(high * first * second) + np.log(left), jacobian


@dataclass(frozen=True, kw_only=True, eq=False)
class SensorCandidates:
    """Fitted choices of terms: ``parameters`` (c, 7), ``covariances`` (c, 7, 7) zero where a term is absent.

    ``criterion`` (c,) is chi-squared + 2 p. ``significant`` (c,) is True where every term is shown: one of a single
    parameter lies within its bounds and above 3 standard uncertainties, a second order takes as much off chi-squared.
    """

    terms: tuple[Terms, ...]
    parameters: FloatArray
    covariances: FloatArray
    chi_squared: FloatArray
    criterion: FloatArray
    significant: NDArray[np.bool_]

    @property
    def best(self) -> int:
        """Index of the significant choice with the least criterion; the choice of no terms always is significant."""
        return int(np.argmin(np.where(self.significant, self.criterion, np.inf)))

    def index(self, terms: Terms) -> int | None:
        """Index of a choice of terms, None where it was not fitted."""
        return self.terms.index(terms) if terms in self.terms else None


def columns(terms: Terms) -> list[int]:
    """Return the columns of the parameters that a choice of terms has: ln S0 and its terms."""
    return [0, *(column for term in TERMS if term in terms for column in COLUMNS[term])]


def choices(wanted: Sequence[str], most: int) -> list[Terms]:
    """Return every choice of the ``wanted`` terms with up to ``most`` parameters beside ln S0, the simplest first."""
    parts = itertools.product(
        ((), ("rise",), ("rise", "damping")), ((), ("droop",), ("second order",)), ((), ("fall",))
    )
    every = [tuple(term for part in chosen for term in part) for chosen in parts]
    allowed = [terms for terms in every if set(terms) <= set(wanted) and len(columns(terms)) - 1 <= most]
    return sorted(allowed, key=len)


def fit_choices(tried: Sequence[Terms], *, f: FloatArray, s: FloatArray, errors: CorrelatedErrors) -> SensorCandidates:
    """Fit each of the choices of terms to ln S (n,) with its errors."""
    present = np.zeros((len(tried), len(START)), dtype=bool)
    for row, terms in zip(present, tried, strict=True):
        row[columns(terms)] = True
    model, ln_s = LogResponse(f, fitted_hz=f), np.log(s)
    parameters, chi_squared = fit_all(
        lambda parameters, _: model(parameters),
        _start(present, f, ln_s),
        target=ln_s,
        errors=errors,
        present=present,
        lower=LOWEST,
        upper=HIGHEST,
        no_gain=NO_GAIN,
    )
    slope = errors.whiten_columns(model(parameters)[1] * present[:, None, :])
    covariances: FloatArray = np.asarray(np.linalg.pinv(slope.transpose(0, 2, 1) @ slope, hermitian=True))
    return SensorCandidates(
        terms=tuple(tried),
        parameters=parameters,
        covariances=covariances,
        chi_squared=chi_squared,
        criterion=chi_squared + 2.0 * present.sum(axis=1),
        significant=_significant(parameters, covariances, present) & _second_order_shown(tried, chi_squared),
    )


def _start(present: NDArray[np.bool_], f: FloatArray, ln_s: FloatArray) -> FloatArray:
    """The mean level; a natural frequency where the readings fall to half power, or half their lowest frequency."""
    start = np.tile(START, (len(present), 1))
    level = float(np.median(ln_s))
    start[:, 0] = level
    low = f[ln_s > level - 0.35]
    natural_hz = float(low.min()) if low.min() > f.min() else 0.5 * float(f.min())
    start[:, NATURAL] = np.where(present[:, NATURAL], (natural_hz / f.min()) ** 2, 0.0)
    start[:, DAMPING] = np.where(present[:, DAMPING], 0.05, 0.0)
    start[:, RISE] = np.where(present[:, DAMPING], 0.05, 0.0)
    return start


def _significant(parameters: FloatArray, covariances: FloatArray, present: NDArray[np.bool_]) -> NDArray[np.bool_]:
    u = np.sqrt(np.maximum(np.diagonal(covariances, axis1=1, axis2=2), 0.0))
    shown = (parameters < HIGHEST) & (parameters > SIGNIFICANT * u)
    shown[:, RISE] &= present[:, DAMPING] | (parameters[:, RISE] < UNDAMPED_HIGHEST)
    shown[:, [NATURAL, DAMPED]] = True  # they hang together, see ``_second_order_shown``
    return np.asarray((shown | ~present)[:, 1:].all(axis=1))


def _second_order_shown(tried: Sequence[Terms], chi_squared: FloatArray) -> NDArray[np.bool_]:
    """Whether a choice with a second order describes the readings far better than without it."""
    by_terms = {terms: float(value) for terms, value in zip(tried, chi_squared, strict=True)}
    without = np.array([by_terms[tuple(term for term in terms if term != "second order")] for terms in tried])
    has = np.array(["second order" in terms for terms in tried])
    return np.asarray(~has | (without - chi_squared > SHOWN_BY_TWO))
