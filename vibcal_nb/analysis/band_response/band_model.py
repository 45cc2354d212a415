"""Butterworth band model of a channel's response: plateau, half-power corners, orders, and what stays open.

S(f) = S0 x |HP_n1(f; f1)| x |LP_n2(f; f2)|, fitted to ln S; candidates in ``band_candidates``. A corner is
stated only where readings lie on both sides of it; nothing is extrapolated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from vibcal_nb.analysis.band_response.band_candidates import (
    LEAST_RELATIVE_RESIDUAL,
    Candidates,
    fit_candidates,
    log_band,
)
from vibcal_nb.analysis.band_response.corner import Corner
from vibcal_nb.analysis.band_response.half_power import HALF_POWER, interpolated_corners
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, expand

NOISE_FLOOR = 10.0 ** (-30.0 / 20.0)
ROLL_OFF_SEEN = 0.985  # of the plateau; a side that stays above it gets no filter
SIDES = ("low", "high")


@dataclass(frozen=True, kw_only=True, eq=False)
class BandFit:
    """Fitted band model with the corners on its two sides.

    ``plateau`` in the sensitivity's unit. ``covariance`` (k, k) is of ln S0,
    ln f1, ln f2, as far as present. ``scatter`` is the relative standard deviation of the readings about the
    model, None without degrees of freedom; ``chi_squared`` uses ``u_rel``. ``candidates`` holds
    ((order low, order high), AICc, weight), best first. ``model_orders`` and ``model_parameters`` (3,) describe
    the best model even where its corners are not stated.
    """

    plateau: float
    low: Corner
    high: Corner
    covariance: FloatArray
    scatter: float | None
    chi_squared: float
    degrees_of_freedom: int
    adequate: bool
    candidates: tuple[tuple[tuple[int, int], float, float], ...]
    model_orders: tuple[int, int]
    model_parameters: FloatArray
    frequency_hz: FloatArray
    sensitivity: FloatArray
    u_rel: FloatArray
    method: str = (
        "weighted least squares of ln S, Butterworth orders 0 to 4 chosen by AICc; intervals from the "
        "covariance in ln f, with the other orders' corners by their weights"
    )

    @property
    def corners(self) -> dict[str, Corner]:
        """The corners by side, ``low`` and ``high``."""
        return {"low": self.low, "high": self.high}


def fit_band(
    frequency_hz: ArrayLike,
    sensitivity: ArrayLike,
    *,
    u_rel: ArrayLike,
    reference_hz: float,
    max_order: int = 4,
    probability: float = PROBABILITY,
) -> BandFit:
    """Fit the band model to sensitivities (n,) at frequencies (n,) in Hz, n at least 3.

    ``u_rel`` (n,) or one value: relative standard uncertainty of each reading without what all share; where
    any is zero, all readings weigh alike. Readings 30 dB below the greatest take no part in the model.
    The corners' intervals have the coverage ``probability``.
    Raises ``ValueError`` for fewer than 3 readings or values that are not positive and finite.
    """
    f, s, u = _checked(frequency_hz, sensitivity, u_rel)
    take = s >= NOISE_FLOOR * s.max()
    found = _fit_orders(f[take], s[take], u[take], max_order)
    parts = _statistics(found, f[take], s[take], u[take], probability)
    low, high = (
        _state_side(side, found, parts, f[take], s[take], interpolated)
        for side, interpolated in enumerate(interpolated_corners(f, s, reference_hz=reference_hz))
    )
    ranking = np.argsort(found.criterion, kind="stable")
    return BandFit(
        plateau=math.exp(found.parameters[found.best, 0]),
        low=low,
        high=high,
        covariance=frozen(parts.covariance),
        scatter=parts.scatter,
        chi_squared=float(found.rss[found.best]),
        degrees_of_freedom=parts.degrees_of_freedom,
        adequate=parts.adequate,
        candidates=tuple(
            ((int(found.orders[i, 0]), int(found.orders[i, 1])), float(found.criterion[i]), float(found.weights[i]))
            for i in ranking
        ),
        model_orders=(int(found.orders[found.best, 0]), int(found.orders[found.best, 1])),
        model_parameters=frozen(found.parameters[found.best]),
        frequency_hz=frozen(f),
        sensitivity=frozen(s),
        u_rel=frozen(u),
    )


def evaluate_band(fit: BandFit, f: ArrayLike) -> FloatArray | float:
    """Return the model's sensitivity at ``f`` in Hz, a scalar for a scalar, else the shape of ``f``."""
    value, _ = _model(fit, f)
    return float(np.exp(value)[0]) if np.ndim(f) == 0 else np.exp(value).reshape(np.shape(f))


def evaluate_band_uncertainty(fit: BandFit, f: ArrayLike) -> FloatArray | float:
    """Return the relative standard uncertainty of the model's sensitivity at ``f`` in Hz, from its covariance."""
    _, jacobian = _model(fit, f)
    slope = jacobian[:, _present(np.array(fit.model_orders))]
    u = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", slope, fit.covariance, slope), 0.0))
    return float(u[0]) if np.ndim(f) == 0 else u.reshape(np.shape(f))


def _model(fit: BandFit, f: ArrayLike) -> tuple[FloatArray, FloatArray]:
    ln_f = np.log(np.atleast_1d(np.asarray(f, float))).ravel()
    value, jacobian = log_band(np.array([fit.model_orders]), fit.model_parameters[None, :], ln_f)
    return value[0], jacobian[0]


def _checked(f: ArrayLike, s: ArrayLike, u: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
    f, s = np.atleast_1d(np.asarray(f, float)), np.atleast_1d(np.asarray(s, float))
    u = np.broadcast_to(np.asarray(u, float), f.shape)
    if f.size < 3 or f.shape != s.shape:
        raise ValueError(f"{f.size} frequencies and {s.size} sensitivities; give at least 3 of each, in pairs.")
    if not (np.isfinite(f) & np.isfinite(s) & (f > 0.0) & (s > 0.0)).all():
        raise ValueError("A frequency or a sensitivity is not a positive number; leave that reading out.")
    if not (np.isfinite(u) & (u >= 0.0)).all():
        raise ValueError("A relative uncertainty is negative or not a number; give it as a fraction from 0.")
    return f, s, u if (u > 0.0).all() else np.full(f.shape, max(float(u.max()), 1e-3))


def _present(orders: NDArray[np.int64]) -> NDArray[np.bool_]:
    return np.array([True, orders[0] > 0, orders[1] > 0])


def _fit_orders(f: FloatArray, s: FloatArray, u: FloatArray, max_order: int) -> Candidates:
    passed = s[s >= 0.7 * s.max()]
    level = float(np.median(passed) if passed.size > 3 else s.max())  # of three, two may be at the corners
    ln_f, ln_s = np.log(f), np.log(s)
    centre = float(ln_f[s >= 0.9 * level].mean())
    start, choices = [math.log(level)], []
    for outside in (ln_f < centre, ln_f > centre):
        falls = bool((s[outside] < ROLL_OFF_SEEN * level).any())
        choices.append(range(max_order + 1) if falls else range(1))
        inside = np.abs(ln_f - centre)[outside & (s >= HALF_POWER * level)].max(initial=0.1)
        start.append(centre + math.copysign(inside, len(start) - 1.5))
    orders = np.array([(low, high) for low in choices[0] for high in choices[1]])
    orders = orders[1 + (orders > 0).sum(axis=1) <= np.unique(f).size]
    return fit_candidates(orders, np.array(start), ln_f=ln_f, ln_s=ln_s, u_rel=u)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Statistics:
    covariance: FloatArray
    scatter: float | None
    degrees_of_freedom: int
    adequate: bool
    rms: float
    spread: FloatArray  # (2,) standard uncertainty of ln f1, ln f2 over all candidates that have that filter
    probability: float


def _statistics(found: Candidates, f: FloatArray, s: FloatArray, u: FloatArray, probability: float) -> _Statistics:
    best = found.best
    value, jacobian = log_band(found.orders, found.parameters, np.log(f))
    residual = np.log(s) - value[best]
    covariances = [
        _covariance(found, i, jacobian[i], u) if i == best or found.weights[i] > 1e-4 else None
        for i in range(len(found.orders))
    ]
    freedom = f.size - int(_present(found.orders[best]).sum())
    rms = math.sqrt(float((residual**2).mean()))
    present = _present(found.orders[best])
    return _Statistics(
        covariance=covariances[best][np.ix_(present, present)],  # type: ignore[index]
        scatter=math.sqrt(float((residual**2).sum()) / freedom) if freedom else None,
        degrees_of_freedom=freedom,
        adequate=rms < max(0.03, 4.0 * float(np.median(u))),
        rms=rms,
        spread=_spread(found, covariances),
        probability=probability,
    )


def _covariance(found: Candidates, i: int, jacobian: FloatArray, u: FloatArray) -> FloatArray:
    """Covariance (3, 3) of one candidate, zero where absent, scaled by the scatter of the residuals."""
    present = _present(found.orders[i])
    freedom = u.size - int(present.sum())
    least = float(((LEAST_RELATIVE_RESIDUAL / u) ** 2).sum())
    slope = jacobian[:, present] / u[:, None]
    full = np.zeros((3, 3))
    scale = max(float(found.rss[i]), least) / freedom if freedom else 1.0
    full[np.ix_(present, present)] = np.linalg.pinv(slope.T @ slope, hermitian=True) * scale
    return full


def _spread(found: Candidates, covariances: list[FloatArray | None]) -> FloatArray:
    variance, total = np.zeros(2), np.zeros(2)
    for orders, parameters, weight, covariance in zip(
        found.orders, found.parameters, found.weights, covariances, strict=True
    ):
        if covariance is not None:
            apart = (parameters - found.parameters[found.best])[1:]
            share = weight * (orders > 0)
            variance += share * (np.diag(covariance)[1:] + apart**2)
            total += share
    return np.sqrt(variance / np.where(total > 0.0, total, 1.0))


def _state_side(
    side: int,
    found: Candidates,
    parts: _Statistics,
    f: FloatArray,
    s: FloatArray,
    interpolated: tuple[float | None, str | None],
) -> Corner:
    """What may be stated of one side, with the reasons for the rest."""
    interpolated_hz, why_not = interpolated
    reasons = {} if why_not is None else {"interpolated_hz": why_not}
    why = _why_no_corner(side, found, parts, f, s)
    if why is not None:
        unknown = dict.fromkeys(("hz", "interval_hz", "order"), why)
        return Corner(interpolated_hz=interpolated_hz, why=reasons | unknown)
    corner = math.exp(float(found.parameters[found.best, 1 + side]))
    nu = float(parts.degrees_of_freedom or math.inf)
    expanded = expand(float(parts.spread[side]), nu, probability=parts.probability)
    order, alike = _state_order(side, found)
    return Corner(
        hz=corner,
        interval_hz=(corner * math.exp(-expanded.U), corner * math.exp(expanded.U)),
        expanded=expanded,
        interpolated_hz=interpolated_hz,
        order=order,
        why=reasons if alike is None else {**reasons, "order": alike},
    )


def _state_order(side: int, found: Candidates) -> tuple[int | None, str | None]:
    """The order of one side's filter where no other has a third of its weight; else None and why."""
    order = int(found.orders[found.best, side])
    weights = found.order_weights(side)
    rivals = [n for n, weight in weights.items() if n != order and 3.0 * weight > weights[order]]
    if not rivals:
        return order, None
    orders = " and ".join(str(n) for n in sorted([*rivals, order]))
    return None, f"the readings do not tell the orders {orders} apart"


def _why_no_corner(side: int, found: Candidates, parts: _Statistics, f: FloatArray, s: FloatArray) -> str | None:
    name = SIDES[side]
    if not parts.adequate:
        return f"no band model describes the readings, which lie {100 * parts.rms:.1f} % (rms) off the best"
    if found.orders[found.best, side] == 0:
        return f"the readings show no roll-off on the {name}-frequency side"
    ln_s0 = float(found.parameters[found.best, 0])
    corner = math.exp(float(found.parameters[found.best, 1 + side]))
    beyond = f < corner if side == 0 else f > corner
    below = s < HALF_POWER * math.exp(ln_s0)
    if not (beyond & below).any():
        return f"no reading on the {name}-frequency side falls to half power (70.7 %) of the mid-band"
    if not (~beyond & ~below).any():
        return f"no reading lies above half power (70.7 %) of the mid-band beside the {name} corner"
    return None
