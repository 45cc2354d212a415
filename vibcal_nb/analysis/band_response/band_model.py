"""Band model of a channel's response: plateau, half-power corners, orders, and what stays open.

S(f) = S0 x |HP(f; f1)| x |LP(f; f2)|, fitted to ln S by the errors that the readings' budget states; filters in
``filter_shape``, candidates in ``band_search``. Chi-squared decides whether the model holds (``adequacy``), and so
does the corner that uses none (``half_power``). A model that does not hold decides nothing: the corner without a model
stands in its place. A corner is stated only where readings lie on both sides of it; nothing is extrapolated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtrc

from vibcal_nb.analysis.band_response.band_candidates import Candidates, Side, Swept
from vibcal_nb.analysis.band_response.band_search import fit_butterworth, fit_shapes
from vibcal_nb.analysis.band_response.corner import Corner
from vibcal_nb.analysis.band_response.corners_stated import BandEvidence, state_corners
from vibcal_nb.analysis.band_response.half_power import half_power_of
from vibcal_nb.analysis.readings.grouping import at_frequency
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY
from vibcal_nb.metrology.uncertainty.fitness import SIGNIFICANCE, Fitness

NOISE_FLOOR = 10.0 ** (-30.0 / 20.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class BandFit:
    """Fitted band model with the corners on its two sides.

    ``plateau`` in the sensitivity's unit. ``adequate`` says whether the model describes the readings, ``inadequate``
    why it does not. ``fitness`` holds chi-squared. ``scatter`` is the relative standard deviation of the readings about
    the model, None without degrees of freedom. ``found`` are the candidates that the corners rest on,
    ``butterworth`` the Butterworth filters alone; ``shape_refuted`` says that the channel states a Butterworth filter
    and the readings another. ``errors`` are those of ln S at ``frequency_hz`` (n,).
    """

    plateau: float
    low: Corner
    high: Corner
    fitness: Fitness
    inadequate: str | None
    scatter: float | None
    found: Candidates
    butterworth: Candidates
    shape_refuted: bool
    frequency_hz: FloatArray
    sensitivity: FloatArray
    errors: CorrelatedErrors
    method: str = (
        "generalised least squares of ln S by the readings' budget; all-pole filters of any shape, or Butterworth "
        "where the channel states it; intervals from the covariance in ln f, of errors alike within "
        "an octave by the probability that the residuals give them, widened where chi-squared asks for it, "
        "with other candidates' corners by their weights"
    )

    @property
    def adequate(self) -> bool:
        """Whether the model describes the readings, so that something may hang on it."""
        return self.inadequate is None

    @property
    def corners(self) -> dict[str, Corner]:
        """The corners by side, ``low`` and ``high``."""
        return {"low": self.low, "high": self.high}

    @property
    def sides(self) -> tuple[Side, Side]:
        """Degree and number of fitted terms of the model on the low and the high side."""
        return self.found.sides[self.found.best]

    @cached_property
    def covariance(self) -> FloatArray:
        """Covariance (p, p) of what is present of ln S0, ln f1, ln f2 and the terms, widened as the fitness asks."""
        return frozen(self.found.covariance(self.found.best) * self.fitness.widening)


def fit_band(
    frequency_hz: ArrayLike,
    sensitivity: ArrayLike,
    *,
    u_rel: ArrayLike | CorrelatedErrors,
    reference_hz: float,
    is_butterworth: bool = False,
    errors_nu: float = math.inf,
    probability: float = PROBABILITY,
) -> BandFit:
    """Fit the band model to sensitivities (n,) at frequencies (n,) in Hz, n at least 3.

    ``u_rel``: relative standard uncertainty of each reading, (n,) or one for all, or with what readings share; what all
    share may be left out. ``errors_nu`` are the degrees of freedom with which it is known. ``is_butterworth``: the
    channel states a Butterworth filter. Readings 30 dB below the greatest take no part in the model.
    The corners' intervals have the coverage ``probability``.
    Raises ``ValueError`` for fewer than 3 readings or values that are not positive and finite.
    """
    f, s, errors = _checked(frequency_hz, sensitivity, u_rel)
    take = s >= NOISE_FLOOR * s.max()
    swept = Swept(ln_f=np.log(f[take]), ln_s=np.log(s[take]), errors=errors.at(take))
    butterworth = fit_butterworth(swept)
    found = fit_shapes(swept, butterworth)
    refuted = is_butterworth and _is_refuted(butterworth, found)
    found = butterworth if is_butterworth and not refuted else found
    fitness = Fitness(
        chi_squared=float(found.chi_squared[found.best]),
        degrees_of_freedom=int(take.sum() - found.present[found.best].sum()),
        errors_nu=errors_nu,
    )
    value, slope = found.at(found.best, swept.ln_f)
    residual = swept.ln_s - value
    share = swept.errors.told_by(residual, slope) if fitness.holds else 1.0
    errors = errors.shared_by(share)
    found = replace(found, swept=replace(swept, errors=errors.at(take)))
    half = half_power_of(np.log(f), np.log(s), errors, reference_hz=reference_hz)
    evidence = BandEvidence(
        chosen=found,
        butterworth=butterworth,
        fitness=fitness,
        half=None if isinstance(half, str) else half,
        why_no_half=half if isinstance(half, str) else None,
        is_butterworth=is_butterworth and not refuted,
        probability=probability,
    )
    inadequate = _why_inadequate(fitness, residual, swept.errors) or evidence.corners_apart
    low, high = state_corners(evidence, inadequate)
    return BandFit(
        plateau=math.exp(float(found.parameters[found.best, 0])),
        low=low,
        high=high,
        fitness=fitness,
        inadequate=inadequate,
        scatter=_scatter(residual, fitness.degrees_of_freedom),
        found=found,
        butterworth=butterworth,
        shape_refuted=refuted,
        frequency_hz=frozen(f),
        sensitivity=frozen(s),
        errors=errors,
    )


def evaluate_band(fit: BandFit, f: ArrayLike) -> FloatArray | float:
    """Return the model's sensitivity at ``f`` in Hz, a scalar for a scalar, else the shape of ``f``."""
    value, _ = _model(fit, f)
    return float(np.exp(value)[0]) if np.ndim(f) == 0 else np.exp(value).reshape(np.shape(f))


def evaluate_band_uncertainty(fit: BandFit, f: ArrayLike) -> FloatArray | float:
    """Return the relative standard uncertainty of the model's sensitivity at ``f`` in Hz, from its covariance."""
    weights = _model(fit, f)[1] @ fit.found.weights_of_readings(fit.found.best)
    variances = np.einsum("ij,jk,ik->i", weights, fit.found.swept.errors.expected, weights)
    u = np.sqrt(np.maximum(variances, 0.0) * fit.fitness.widening)
    return float(u[0]) if np.ndim(f) == 0 else u.reshape(np.shape(f))


def response_uncertainty(fit: BandFit, f: float, *, reference_hz: float) -> float:
    """Return the relative standard uncertainty of the model at ``f`` in Hz over the readings at ``reference_hz``.

    The readings at the reference frequency are among those that the model was fitted to, and may share errors with
    them: both are in it.
    """
    swept = fit.found.swept
    near = at_frequency(np.exp(swept.ln_f), reference_hz)
    weights = _model(fit, f)[1][0] @ fit.found.weights_of_readings(fit.found.best) - near / max(int(near.sum()), 1)
    return math.sqrt(swept.errors.variance(weights) * fit.fitness.widening)


def _model(fit: BandFit, f: ArrayLike) -> tuple[FloatArray, FloatArray]:
    return fit.found.at(fit.found.best, np.log(np.atleast_1d(np.asarray(f, float))).ravel())


def _checked(
    f: ArrayLike, s: ArrayLike, u: ArrayLike | CorrelatedErrors
) -> tuple[FloatArray, FloatArray, CorrelatedErrors]:
    f, s = np.atleast_1d(np.asarray(f, float)), np.atleast_1d(np.asarray(s, float))
    errors = (
        u
        if isinstance(u, CorrelatedErrors)
        else CorrelatedErrors(own=frozen(np.broadcast_to(np.asarray(u, float), f.shape)))
    )
    if f.size < 3 or f.shape != s.shape:
        raise ValueError(f"{f.size} frequencies and {s.size} sensitivities; give at least 3 of each, in pairs.")
    if not (np.isfinite(f) & np.isfinite(s) & (f > 0.0) & (s > 0.0)).all():
        raise ValueError("A frequency or a sensitivity is not a positive number; leave that reading out.")
    if not (np.isfinite(errors.own) & (errors.own > 0.0)).all():
        raise ValueError("A relative uncertainty is not a number above 0; give it as a fraction.")
    return f, s, errors


def _is_refuted(butterworth: Candidates, shaped: Candidates) -> bool:
    """Whether the readings reject Butterworth filters against filters of any shape, at 0.1 % (likelihood ratio)."""
    more = int(shaped.present[shaped.best].sum() - butterworth.present[butterworth.best].sum())
    gain = float(butterworth.chi_squared[butterworth.best] - shaped.chi_squared[shaped.best])
    return more > 0 and float(chdtrc(more, max(gain, 0.0))) < SIGNIFICANCE


def _why_inadequate(fitness: Fitness, residual: FloatArray, errors: CorrelatedErrors) -> str | None:
    if fitness.holds:
        return None
    rms, expected = (100.0 * math.sqrt(float(np.mean(values**2))) for values in (residual, errors.u))
    return (
        f"no band model describes the readings, which lie {rms:.2g} % (rms) off the best where their uncertainty is "
        f"{expected:.2g} %"
    )


def _scatter(residual: FloatArray, freedom: int) -> float | None:
    return math.sqrt(float((residual**2).sum()) / freedom) if freedom else None
