"""The least-squares equations of a straight line, solved in centred and scaled numbers.

ISO/TS 28037:2010 writes every case as the same few sums over f, g, h: 6.2.1 with f = 1/u(y), 7.2.1 with
f from u(x), u(y) and the slope, clause 9 with f, g, h divided by the Cholesky factor of the covariance.
Here x and y are first moved to their weighted means and scaled by powers of two (which round nothing), so
that an offset of 1e8 or a unit of 1e-150 costs no digits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from vibcal_nb.arrays import FloatArray

MAX_ITERATIONS = 200
TOO_WIDE = "x, y and their uncertainties differ too widely in size: check their units."


@dataclass(frozen=True, kw_only=True, eq=False)
class LineSolution:
    """A least-squares line through its centroid, where its height and its slope are uncorrelated.

    In the units of x and y: ``x_centroid``, ``y_centroid`` (a point on the line), its standard uncertainty
    ``u_centroid``, ``slope``, ``u_slope``; ``residuals`` y - a - b x, shape (n,); ``chi_squared`` (no unit).
    """

    x_centroid: float
    y_centroid: float
    u_centroid: float
    slope: float
    u_slope: float
    residuals: FloatArray
    chi_squared: float


class _Equations:
    """The sums F^2, g_0, G^2 of ISO/TS 28037:2010, 6.2.1 steps 2 to 4, for given f and g."""

    def __init__(self, f: FloatArray, g: FloatArray) -> None:
        self.F2 = float(f @ f)
        self.g0 = float(f @ g) / self.F2
        self.f, self.g = f, g
        self.g_centred = g - self.g0 * f
        self.G2 = float(self.g_centred @ self.g_centred)
        if not (0 < self.G2 < math.inf and math.isfinite(self.F2)):
            raise ValueError(TOO_WIDE)

    def solve(self, h: FloatArray) -> tuple[float, float]:
        """Intercept and slope that minimise the sum of (h - a f - b g)^2 (6.2.1 steps 5 to 7)."""
        b = float(self.g_centred @ h) / self.G2
        return float(self.f @ h) / self.F2 - b * self.g0, b

    def refined(self, h: FloatArray) -> tuple[float, float]:
        """Solve, then solve for what is left, which removes the rounding of the centring."""
        a, b = self.solve(h)
        da, db = self.solve(h - a * self.f - b * self.g)
        return a + da, b + db

    def length(self, da: float, db: float) -> float:
        """Length of a step in units of its own standard uncertainty."""
        return math.hypot(math.sqrt(self.F2) * (da + db * self.g0), math.sqrt(self.G2) * db)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Scaled:
    """Points about their weighted means, in powers of two of their units."""

    X: FloatArray
    Y: FloatArray
    x_origin: float
    y_origin: float
    x_unit: float
    y_unit: float

    def solution(self, equations: _Equations, a: float, b: float, chi_squared: float) -> LineSolution:
        """Return line ``a``, ``b`` of the scaled points in the units of x and y."""
        return LineSolution(
            x_centroid=self.x_origin + self.x_unit * equations.g0,
            y_centroid=self.y_origin + self.y_unit * (a + b * equations.g0),
            u_centroid=self.y_unit / math.sqrt(equations.F2),
            slope=b * self.y_unit / self.x_unit,
            u_slope=self.y_unit / self.x_unit / math.sqrt(equations.G2),
            residuals=(self.Y - a - b * self.X) * self.y_unit,
            chi_squared=chi_squared,
        )


def _power_of_two(size: float) -> float:
    return math.ldexp(1.0, math.frexp(size)[1] - 1)


def _scaled(x: FloatArray, y: FloatArray, *, u_y: FloatArray) -> _Scaled:
    """Move points to their weighted mean, so that one reading far surer than the rest costs no digits."""
    y_unit = _power_of_two(float(u_y.max()))
    w = (y_unit / u_y) ** 2
    x_origin, y_origin = float(w @ x) / float(w.sum()), float(w @ y) / float(w.sum())
    x_unit = _power_of_two(float(np.abs(x - x_origin).max()))
    X, Y = (x - x_origin) / x_unit, (y - y_origin) / y_unit
    return _Scaled(X=X, Y=Y, x_origin=x_origin, y_origin=y_origin, x_unit=x_unit, y_unit=y_unit)


def solve_weighted(x: FloatArray, y: FloatArray, *, u_y: FloatArray) -> LineSolution:
    """Weighted least squares, ISO/TS 28037:2010, 6.2.1; arrays of shape (n,), ``u_y`` > 0."""
    with np.errstate(all="ignore"):  # what overflows is refused afterwards, in one sentence
        points = _scaled(x, y, u_y=u_y)
        f = points.y_unit / u_y
        equations = _Equations(f, f * points.X)
        a, b = equations.refined(f * points.Y)
        h = f * (points.Y - a - b * points.X)
        return points.solution(equations, a, b, float(h @ h))


def solve_through_zero(x: FloatArray, y: FloatArray, *, u_y: FloatArray) -> LineSolution:
    """Weighted least squares for y = b x; arrays of shape (n,), ``u_y`` > 0, some x not zero."""
    with np.errstate(all="ignore"):
        x_unit, y_unit = _power_of_two(float(np.abs(x).max())), _power_of_two(float(u_y.max()))
        f = y_unit / u_y
        g, h = f * (x / x_unit), f * (y / y_unit)
        G2 = float(g @ g)
        if not 0 < G2 < math.inf:
            raise ValueError(TOO_WIDE)
        b = float(g @ h) / G2
        b += float(g @ (h - b * g)) / G2
        left = h - b * g
        return LineSolution(
            x_centroid=0.0,
            y_centroid=0.0,
            u_centroid=0.0,
            slope=b * y_unit / x_unit,
            u_slope=y_unit / x_unit / math.sqrt(G2),
            residuals=left / f * y_unit,
            chi_squared=float(left @ left),
        )


def solve_correlated(x: FloatArray, y: FloatArray, *, u_y: FloatArray, U_y: FloatArray) -> LineSolution:
    """Gauss-Markov least squares, ISO/TS 28037:2010, clause 9.

    ``U_y`` of shape (n, n), ``u_y`` the square roots of its diagonal. Raises ValueError where
    ``U_y`` is not positive definite.
    """
    with np.errstate(all="ignore"):
        points = _scaled(x, y, u_y=u_y)
        try:
            L = np.linalg.cholesky(U_y / points.y_unit**2)
        except np.linalg.LinAlgError:
            raise ValueError("U_y is not positive definite: no set of readings can have it.") from None
        f, g, h = np.linalg.solve(L, np.stack([np.ones_like(x), points.X, points.Y], axis=1)).T
        equations = _Equations(f, g)
        a, b = equations.refined(h)
        left = h - a * f - b * g
        return points.solution(equations, a, b, float(left @ left))


def solve_both_uncertain(x: FloatArray, y: FloatArray, *, u_x: FloatArray, u_y: FloatArray) -> LineSolution:
    """Uncertainty in x and y, ISO/TS 28037:2010, 7.2.1: Gauss-Newton from the line of clause 6.

    The steps of 7.2.1 alone can take hundreds of rounds on readings that scatter, so that from the second on
    each is lengthened by the secant rule. A step that would raise chi-squared is halved: its direction always
    descends, so some fraction of it lowers chi-squared. Raises ValueError where the line does not settle.
    """
    with np.errstate(all="ignore"):
        points = _scaled(x, y, u_y=u_y)
        ux2, uy2 = (u_x / points.x_unit) ** 2, (u_y / points.y_unit) ** 2
        f = 1 / np.sqrt(uy2)
        now = _Weighing(points, ux2, uy2, b=_Equations(f, f * points.X).solve(f * points.Y)[1])
        last_db, moved = 0.0, 0.0
        for _ in range(MAX_ITERATIONS):
            equations = now.equations()
            da, db = equations.solve(now.h)
            size = math.sqrt(now.chi_squared) + equations.length(now.a, now.b)
            if equations.length(da, db) <= 1e-13 * (1 + size):  # what the rounding of the points can cause
                return points.solution(equations, now.a + da, now.b + db, now.chi_squared)
            rounding = 1e-14 * size * math.sqrt(now.chi_squared)
            after = now.descend(_lengthened(db, last_db=last_db, moved=moved), rounding=rounding)
            last_db, moved, now = db, after.b - now.b, after
    raise ValueError("The line with uncertainty in x and y does not settle: u_x is too large beside the range of x.")


def _lengthened(db: float, *, last_db: float, moved: float) -> float:
    """Step in slope to where db, which fell from ``last_db`` as the slope ``moved``, would reach zero."""
    step = moved * db / (last_db - db) if last_db != db else db
    return step if step * db > 0 and abs(step) < 100 * abs(db) else db


class _Weighing:
    """Weights f and weighted residuals h about the best line of slope ``b`` (7.2.1 steps 2 and 3)."""

    def __init__(self, points: _Scaled, ux2: FloatArray, uy2: FloatArray, *, b: float) -> None:
        self.points, self.ux2, self.uy2, self.b = points, ux2, uy2, b
        self.f = 1 / np.sqrt(uy2 + b * b * ux2)
        h = self.f * (points.Y - b * points.X)
        self.a = float(self.f @ h) / float(self.f @ self.f)
        self.h = h - self.a * self.f
        self.chi_squared = float(self.h @ self.h)

    def equations(self) -> _Equations:
        """The equations at the points adjusted in x, x* = x + b u(x)^2 (y - a - b x) f^2."""
        adjusted = self.points.X + self.b * self.ux2 * self.f * self.h
        return _Equations(self.f, self.f * adjusted)

    def descend(self, step: float, *, rounding: float) -> _Weighing:
        """Return the weighing after the largest of 1, 1/2, 1/4 ... of the step that lowers chi-squared.

        ``rounding`` is what rounding can do to chi-squared: of readings that lie on a line all but exactly,
        chi-squared no longer tells a good step from a bad one, and the full step is taken.
        """
        part = 1.0
        while True:
            after = _Weighing(self.points, self.ux2, self.uy2, b=self.b + part * step)
            if after.chi_squared <= self.chi_squared * (1 + 1e-12) + rounding or part < 1e-9:
                return after
            part /= 2
