"""The level at which a fitted line meets an output: inverse evaluation with everything that the line leaves out.

ISO/TS 28037:2010, 11.1, gives the part that the readings' own scatter leaves open. What all readings share (the
reference above all) and, beyond the readings, what a bend too small to be seen could do by then are added here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.linearity.line_assessment import LineAssessment
from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.metrology.straight_line.straight_line import LineFit, inverse_evaluate
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine


@dataclass(frozen=True, kw_only=True)
class LevelOnLine:
    """The level that an output stands for, in the input unit, with its uncertainty part by part.

    ``u_line``: inverse evaluation; ``u_misfit``: what the readings show of a departure from the straight line, zero
    where they follow it; ``u_bend``: what a bend too small for the readings to show could add beyond the highest
    level, zero within them; ``common_pct``: what all readings share, in %. ``nu`` belongs to the first three; U is for
    ``probability``.
    ``highest`` is the highest level driven, ``highest_output`` the largest output less the output zero.
    """

    level: float
    u_line: float
    u_misfit: float
    u_bend: float
    common_pct: float
    nu: float
    highest: float
    highest_output: float
    probability: float

    @property
    def own(self) -> float:
        """Standard uncertainty without the common part, in the input unit."""
        return math.hypot(self.u_line, self.u_misfit, self.u_bend)

    @property
    def expanded(self) -> Expanded:
        """Expanded uncertainty of the level, in the input unit."""
        return self._combine(self.own)

    @property
    def bend_adds(self) -> float:
        """How much of the expanded uncertainty is the extrapolation's, in the input unit."""
        within = self._combine(math.hypot(self.u_line, self.u_misfit))
        return self.expanded.U - within.U

    def _combine(self, own: float) -> Expanded:
        common = self.level * self.common_pct / 100.0
        return combine((common, math.inf), (own, self.nu), probability=self.probability)


def level_on_line(result: LinearityResult, item: FrequencyLinearity, output: float) -> LevelOnLine | None:
    """Return the level at which the line at a frequency gives ``output`` (less the output zero, output unit).

    None where no level above zero does. The set point is taken as exact: where the monitor puts it is not among
    the readings. Raises ``ValueError`` where there is no line at the frequency.
    """
    line = item.line
    if line is None:
        raise ValueError(f"There is no line at {item.frequency_hz:g} Hz: {item.undetermined.get('sensitivity')}.")
    if line.sensitivity <= 0.0:
        return None
    inverse = inverse_evaluate(line.fit, output, u_y0=0.0)
    if inverse.x0 <= 0.0:
        return None
    uncertainty = result.uncertainty
    zero_share = 1.0 + result.case.output_zero / output  # a live zero is read with the readout's gain as well
    common = math.hypot(
        uncertainty.u_common_pct(item.frequency_hz),
        uncertainty.u_frequency_pct,
        uncertainty.u_readout_pct * math.sqrt(max(zero_share**2 - 1.0, 0.0)),
        100.0 * uncertainty.u_offset / abs(output),
    )
    highest = float(line.fit.x.max())
    return LevelOnLine(
        level=inverse.x0,
        u_line=inverse.u_x0,
        u_misfit=_misfit(line),
        u_bend=bend_uncertainty(line.fit, inverse.x0) / line.sensitivity if inverse.x0 > highest else 0.0,
        common_pct=common,
        nu=line.nu,
        highest=highest,
        highest_output=float(line.fit.y.max()),
        probability=uncertainty.probability,
    )


def _misfit(line: LineAssessment) -> float:
    """Readings that do not follow the line: its largest residual as a rectangular half-width, as a level."""
    if not (line.widened or line.bends):
        return 0.0
    return float(np.abs(line.fit.residuals).max()) / math.sqrt(3.0) / line.sensitivity


def goes_on(line: LineAssessment, nonlinearity_pct: float | None) -> bool:
    """Whether the readings follow the line well enough for it to go on from them.

    They do not where they bend, nor where they scatter more than was stated for them and one lies farther from the
    line than the channel's limit of non-linearity, in % of span (1 % where it states none: judgement, no source).
    """
    farthest = 100.0 * float(np.abs(line.fit.residuals).max()) / line.span
    return not line.bends and not (line.widened and farthest > (nonlinearity_pct or 1.0))


def bend_uncertainty(fit: LineFit, x: float) -> float:
    """Return the standard uncertainty, in the unit of y, that a quadratic term adds to the line's height at ``x``.

    The variance of a parabola's height exceeds that of a line's, fitted to the same weighted readings, by this
    term squared: it is what a bend that the readings cannot show would do at ``x`` (weighted least squares,
    Gauss-Markov; the third component of R^-T (1, x, x^2) in the QR decomposition of the design). Infinite where the
    readings lie at fewer than three levels.
    """
    span = float(np.abs(fit.x).max())
    u_x = 0.0 if fit.u_x is None else fit.u_x
    weight = 1.0 / np.hypot(fit.u_y, fit.slope * u_x)
    _, triangle = np.linalg.qr(np.vander(fit.x / span, 3, increasing=True) * weight[:, None])
    if abs(triangle[2, 2]) <= 1e-9 * float(np.abs(triangle).max()):
        return math.inf
    height = np.linalg.solve(triangle.T, np.array([1.0, x / span, (x / span) ** 2]))
    return fit.scale * abs(float(height[2]))
