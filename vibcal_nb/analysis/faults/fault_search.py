"""The search for the best parameters of many variants at once, all readings and all rows in one array.

Maximum a posteriori by damped Gauss-Newton (Levenberg 1944, Marquardt 1963). A variant's evidence is Laplace's
approximation of its marginal likelihood (D. MacKay, Information Theory, Inference, and Learning Algorithms, 2003,
chapter 27): it charges a fault for the freedom that it takes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.faults.chain_model import Points, predict_ratio
from vibcal_nb.analysis.faults.fault_families import Family, Variant
from vibcal_nb.arrays import FloatArray

ITERATIONS = 20
_STEP = 1e-4  # of a spread, for the Jacobian
_SETTLED = 5e-3
_FALLING = 0.15  # of what it is above the best, by which a row must fall in a step that is to be hoped for
_SCREENED, MOST = 3, 120  # steps after which so many rows, the best, are followed
_HOPELESS = 60.0  # e^-30 of the best: no weight that anybody could see


@dataclass(frozen=True, kw_only=True, eq=False)
class FittedVariant:
    """A variant at its best: physical ``parameters`` (p,), ``prediction`` (n,), ``log_evidence``, ``chi_squared``.

    ``free`` (k,) are the parameters that were fitted, ``covariance`` (k, k) is theirs in units of the spreads
    ``spread`` (k,) that were expected, ``pull`` (k,) how far each lies from what was expected, in the same.
    ``reading_covariance`` (n, n) is what the readings were weighted with, the variant's own scatter included.
    ``claimed`` is False where no reading shows it, where it has no size, where it leaves too much, or where it needs a
    healthy quantity far from healthy.
    """

    family: Family
    variant: Variant
    parameters: FloatArray
    prediction: FloatArray
    log_evidence: float
    chi_squared: float
    free: NDArray[np.intp]
    spread: FloatArray
    pull: FloatArray
    covariance: FloatArray
    reading_covariance: FloatArray
    claimed: bool = True


@dataclass(frozen=True, kw_only=True, eq=False)
class Rows:
    """All starts of all variants: centres, spreads and starts (b, p), and whose they are (b,)."""

    owners: tuple[tuple[Family, Variant], ...]
    centre: FloatArray
    spread: FloatArray
    start: FloatArray
    owner: NDArray[np.intp]


class Search:
    """Rows on their way to their best; ``z`` (b, p) is measured from the centres in spreads."""

    def __init__(
        self,
        rows: Rows,
        points: Points,
        ratio: FloatArray,
        covariances: Sequence[FloatArray],
        which: NDArray[np.intp],
    ) -> None:
        self.rows, self.points, self.ratio = rows, points, ratio
        self.covariances, self.which = covariances, which
        self.whiten, self.log_det = _whitening(covariances)
        self.free = np.flatnonzero((rows.spread > 0.0).any(axis=0))  # columns that anything moves
        self.spread = rows.spread[:, self.free]
        safe = np.where(self.spread > 0.0, self.spread, 1.0)
        self.z = (rows.start - rows.centre)[:, self.free] / safe
        self.residual, self.cost = self._evaluate(np.arange(len(rows.owner)), self.z)

    def _theta(self, chosen: NDArray[np.intp], z: FloatArray) -> FloatArray:
        theta = self.rows.centre[chosen].copy()
        theta[:, self.free] += z * self.spread[chosen]
        return theta

    def _whitened(self, chosen: NDArray[np.intp], values: FloatArray) -> FloatArray:
        """Whiten values (b, n) of the rows ``chosen``, each by its own covariance."""
        out = np.empty_like(values)
        for key in np.unique(self.which[chosen]):
            at = self.which[chosen] == key
            out[at] = values[at] @ self.whiten[key].T
        return out

    def _evaluate(self, chosen: NDArray[np.intp], z: FloatArray) -> tuple[FloatArray, FloatArray]:
        misfit = predict_ratio(self._theta(chosen, z), self.points) - self.ratio
        residual = self._whitened(chosen, misfit)
        return residual, (residual**2).sum(axis=1) + (z**2).sum(axis=1) + self.log_det[self.which[chosen]]

    def _jacobian(self, chosen: NDArray[np.intp]) -> FloatArray:
        """Whitened change per spread, (b, k, n), by differences; columns that a row keeps fixed are 0."""
        row, column = np.nonzero(self.spread[chosen] > 0.0)
        z = self.z[chosen][row]
        z[np.arange(len(row)), column] += _STEP
        moved, _ = self._evaluate(chosen[row], z)
        jacobian = np.zeros((len(chosen), len(self.free), len(self.ratio)))
        jacobian[row, column] = (moved - self.residual[chosen][row]) / _STEP
        return jacobian

    def run(self) -> None:
        """Take damped Gauss-Newton steps until every row has settled or is hopeless."""
        active, damping = np.arange(len(self.cost)), np.full(len(self.cost), 0.01)
        for count in range(ITERATIONS):
            step = self._step(active, damping[active])
            trial = self.z[active] + step
            residual, cost = self._evaluate(active, trial)
            better = cost < self.cost[active]
            gain = np.where(better, self.cost[active] - cost, np.inf)
            taken = active[better]
            self.z[taken], self.residual[taken], self.cost[taken] = trial[better], residual[better], cost[better]
            damping[active] *= np.where(better, 0.2, 8.0)
            stuck = ~better & (damping[active] > 1e4)
            away = self.cost[active] - self.cost.min()
            hope = (away < _HOPELESS * (1.0 if count > 6 else 20.0)) | (gain > _FALLING * away)
            active = active[(gain > _SETTLED) & ~stuck & (hope | (count < 3))]
            if count == _SCREENED and len(active) > MOST:
                active = np.sort(active[np.argsort(self.cost[active], kind="stable")[:MOST]])
            if not len(active):
                break

    def _step(self, chosen: NDArray[np.intp], damping: FloatArray) -> FloatArray:
        jacobian = self._jacobian(chosen)
        normal = _normal(jacobian)
        gradient = np.einsum("bkn,bn->bk", jacobian, self.residual[chosen]) + self.z[chosen]
        diagonal = np.einsum("bkk->bk", normal)
        damped = normal + np.einsum("bk,kl->bkl", damping[:, None] * diagonal, np.eye(diagonal.shape[1]))
        step = -np.linalg.solve(damped, gradient[..., None])[..., 0]
        return np.clip(step, -2.5, 2.5)

    def collect(self) -> list[FittedVariant]:
        """Return each variant at the best of its starts."""
        chosen = self._worth_keeping()
        jacobian = self._jacobian(chosen)
        normal = _normal(jacobian)
        evidence = -0.5 * (self.cost[chosen] + np.linalg.slogdet(normal)[1])
        predictions = predict_ratio(self._theta(chosen, self.z[chosen]), self.points)
        inverse = np.linalg.inv(normal)
        fitted = []
        for number, i in enumerate(chosen):
            family, variant = self.rows.owners[self.rows.owner[i]]
            moves = np.flatnonzero(self.spread[i] > 0.0)
            fitted.append(
                FittedVariant(
                    family=family,
                    variant=variant,
                    parameters=self._theta(chosen, self.z[chosen])[number],
                    prediction=predictions[number],
                    log_evidence=float(evidence[number]) + math.log(variant.share),
                    chi_squared=float((self.residual[i] ** 2).sum()),
                    free=self.free[moves],
                    spread=self.spread[i][moves],
                    pull=self.z[i][moves],
                    covariance=inverse[number][np.ix_(moves, moves)],
                    reading_covariance=self.covariances[self.which[i]],
                )
            )
        return fitted

    def _worth_keeping(self) -> NDArray[np.intp]:
        """The best start of each variant that is not hopeless, and of each family's best variant in any case."""
        order = np.argsort(self.cost, kind="stable")
        variants: set[int] = set()
        families: set[str] = set()
        kept = []
        for i in order:
            owner = int(self.rows.owner[i])
            name = self.rows.owners[owner][0].name
            hopeful = self.cost[i] < self.cost[order[0]] + _HOPELESS
            if owner not in variants and (hopeful or name not in families):
                kept.append(i)
            variants.add(owner)
            families.add(name)
        return np.array(kept, dtype=np.intp)


def _normal(jacobian: FloatArray) -> FloatArray:
    """J J^T of each row, with the expectation's own weight of one."""
    normal: FloatArray = jacobian @ jacobian.transpose(0, 2, 1) + np.eye(jacobian.shape[1])
    return normal


def _whitening(covariances: Sequence[FloatArray]) -> tuple[FloatArray, FloatArray]:
    """Inverse Cholesky factors (c, n, n) and log determinants (c,)."""
    factors = [np.linalg.cholesky(covariance) for covariance in covariances]
    log_det = np.array([2.0 * math.fsum(np.log(np.diag(factor))) for factor in factors])
    return np.stack([np.linalg.inv(factor) for factor in factors]), log_det
