"""Random draws of the input quantities of an uncertainty budget (JCGM 101:2008, clause 6.4)."""

from __future__ import annotations

import math

import numpy as np

from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.budget_line import BudgetError, BudgetLine


def require_drawable(budget: Budget) -> None:
    """Raise ``BudgetError`` where no distribution of clause 6.4 belongs to a line of the budget.

    Correlated lines must be normal and share their degrees of freedom, to be drawn from one joint
    distribution. One degree of freedom is refused: such a t distribution has no mean.
    """
    for group in budget.correlated_groups:
        lines = [budget.lines[i] for i in group]
        for line in lines:
            if line.distribution == "normal" and line.degrees_of_freedom <= 1.0:
                raise BudgetError(
                    f"budget line '{line.name}': with {line.degrees_of_freedom:g} degrees of freedom its t "
                    "distribution has no mean to draw about; base it on three readings or more"
                )
            if len(lines) > 1 and line.distribution != "normal":
                raise BudgetError(
                    f"budget line '{line.name}': it is {line.distribution} and correlated, and only normal "
                    "lines can be drawn jointly; leave the correlation out or give a normal distribution"
                )
        if len({line.degrees_of_freedom for line in lines}) > 1:
            names = ", ".join(f"'{line.name}'" for line in lines)
            raise BudgetError(
                f"budget lines {names}: they are correlated but differ in degrees of freedom, and have no "
                "joint distribution to draw from; give them the same degrees of freedom"
            )


def draw_inputs(budget: Budget, rng: np.random.Generator, out: FloatArray) -> None:
    """Fill ``out``, shape (lines, trials), with draws of each line about zero, in the line's own unit.

    Normal lines of finite degrees of freedom are drawn from the scaled and shifted t distribution (6.4.9),
    whose standard deviation is larger than u by sqrt(nu / (nu - 2)). Correlated lines come from the
    multivariate normal (6.4.8) or t distribution (JCGM 102:2011, 5.3.2). A bounded line of finite degrees of
    freedom has inexactly known limits: its half-width is drawn too, evenly within the relative
    width 1 / sqrt(2 nu) of JCGM 100:2008, G.4.2; for a rectangle this is the curvilinear trapezoid of 6.4.3.
    """
    scratch = np.empty(out.shape[1])
    for group in budget.correlated_groups:
        if len(group) == 1:
            _draw_line(budget.lines[group[0]], rng, out[group[0]], scratch)
        else:
            out[list(group)] = _draw_jointly(budget, group, rng, out.shape[1])


def _draw_line(line: BudgetLine, rng: np.random.Generator, out: FloatArray, scratch: FloatArray) -> None:
    nu = line.degrees_of_freedom
    if line.distribution == "normal":
        rng.standard_normal(out=out)
        out *= line.standard_uncertainty
        if math.isfinite(nu):
            out /= _relative_scatter(nu, rng, len(out))
        return
    _draw_shape(line, rng, out, scratch)
    out *= line.value
    if math.isfinite(nu):
        rng.random(out=scratch)
        out *= 1.0 + (2.0 * scratch - 1.0) / math.sqrt(2.0 * nu)


def _draw_shape(line: BudgetLine, rng: np.random.Generator, out: FloatArray, scratch: FloatArray) -> None:
    """Fill ``out`` with draws of the bounded distribution between -1 and 1."""
    rng.random(out=out)
    if line.distribution == "arcsine":
        out *= 2.0 * math.pi
        np.sin(out, out=out)
        return
    out *= 2.0
    out -= 1.0
    if line.distribution == "rectangular":
        return
    # triangle and trapezoid: the sum of two rectangles, of half-widths (1 + beta)/2 and (1 - beta)/2
    beta = line.beta or 0.0
    rng.random(out=scratch)
    out *= (1.0 + beta) / 2.0
    scratch *= 1.0 - beta
    out += scratch
    out -= (1.0 - beta) / 2.0


def _draw_jointly(budget: Budget, group: tuple[int, ...], rng: np.random.Generator, trials: int) -> FloatArray:
    values, vectors = np.linalg.eigh(budget.correlation_matrix[np.ix_(group, group)])
    root = vectors * np.sqrt(np.clip(values, 0.0, None))  # unlike Cholesky's, it exists for r = 1
    draws = root @ rng.standard_normal((len(group), trials))
    draws *= np.array([[budget.lines[i].standard_uncertainty] for i in group])
    nu = budget.lines[group[0]].degrees_of_freedom
    return draws / _relative_scatter(nu, rng, trials) if math.isfinite(nu) else draws


def _relative_scatter(nu: float, rng: np.random.Generator, trials: int) -> FloatArray:
    """Draw s/sigma for a standard deviation s on ``nu`` degrees of freedom; normal over it is Student's t."""
    return np.sqrt(rng.standard_gamma(nu / 2.0, size=trials) / (nu / 2.0))
