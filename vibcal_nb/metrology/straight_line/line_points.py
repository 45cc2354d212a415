"""Points (x, y) and their standard uncertainties, checked before a line is drawn through them."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.arrays import FloatArray


def checked_points(x: ArrayLike, y: ArrayLike, *, at_least: int = 2) -> tuple[FloatArray, FloatArray]:
    """Return ``x`` and ``y`` as float64 arrays of the same shape (n,), n >= ``at_least``.

    Raises ValueError, naming what was found, for unlike lengths, too few points, or a value that is
    not a finite number.
    """
    x, y = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if x.ndim != 1 or x.shape != y.shape:
        raise ValueError(f"x has shape {x.shape} and y has shape {y.shape}: give two lists of the same length.")
    if x.size < at_least:
        raise ValueError(f"{x.size} point(s) given: this line needs at least {at_least}.")
    finite = np.isfinite(x) & np.isfinite(y)
    if not finite.all():
        at = int(np.argmin(finite))
        raise ValueError(f"Point {at + 1} is x = {x[at]}, y = {y[at]}: correct it or leave it out.")
    return x, y


def require_two_levels(x: FloatArray) -> None:
    """Raise ValueError where every ``x`` is the same, which leaves a slope undetermined."""
    if x.min() == x.max():
        raise ValueError(f"All {x.size} points lie at x = {x[0]:g}: a slope needs readings at two or more different x.")


def checked_uncertainty(name: str, u: ArrayLike, *, points: int, zero_allowed: bool = False) -> FloatArray:
    """Return standard uncertainties ``u`` with shape (points,); one number stands for every point.

    Raises ValueError, naming ``name`` and the point, for a wrong length or for a value that is not
    finite and positive (not negative, where ``zero_allowed``).
    """
    u = np.asarray(u, dtype=np.float64)
    if u.ndim == 0:
        u = np.full(points, float(u))
    if u.shape != (points,):
        raise ValueError(f"{name} has shape {u.shape} for {points} points: give one value, or one per point.")
    good = (u >= 0 if zero_allowed else u > 0) & np.isfinite(u)
    if not good.all():
        at = int(np.argmin(good))
        wanted = "zero or a positive number" if zero_allowed else "a positive number"
        raise ValueError(f"{name} of point {at + 1} is {u[at]}: a standard uncertainty is {wanted}.")
    return u


def checked_covariance(U_y: ArrayLike, *, points: int) -> FloatArray:
    """Return the covariance matrix ``U_y`` of y with shape (points, points).

    Raises ValueError for a wrong shape, for values that are not finite, for a variance that
    is not positive, or for a matrix that is not symmetric. Whether it is positive definite shows when it
    is factored.
    """
    U_y = np.asarray(U_y, dtype=np.float64)
    if U_y.shape != (points, points):
        raise ValueError(f"U_y has shape {U_y.shape} for {points} points: give a {points} by {points} matrix.")
    if not np.isfinite(U_y).all():
        raise ValueError("U_y holds a value that is not a finite number: correct the covariance matrix.")
    if not (U_y.diagonal() > 0).all():
        raise ValueError("U_y has a variance on its diagonal that is not positive: correct the covariance matrix.")
    if not np.allclose(U_y, U_y.T, rtol=1e-10, atol=0.0):
        raise ValueError("U_y is not symmetric: a covariance matrix has u(y_i, y_j) = u(y_j, y_i).")
    return U_y
