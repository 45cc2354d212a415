"""The level at which a fitted line meets an output: inverse evaluation with everything that the line leaves out.

ISO/TS 28037:2010, 11.1, gives the part that the readings' own scatter leaves open. What all readings share (the
reference above all) is added here. Beyond the readings the line may bend as far as the channel's limit of non-linearity
permits and the readings do not exclude: it is fitted again with these bends (``bent_line``), which moves the level to
where the readings bend and widens its uncertainty. A sharper limit above the highest reading is not in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import cast

import numpy as np

from vibcal_nb.analysis.linearity.line_assessment import LineAssessment
from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.metrology.straight_line.bent_line import fit_bent_line, permitted_half_widths
from vibcal_nb.metrology.straight_line.nonlinearity import LinearityKind
from vibcal_nb.metrology.straight_line.straight_line import inverse_evaluate
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine
from vibcal_nb.model.asset import Channel

USUAL_NONLINEARITY_PCT = 1.0  # of span, where the channel states no limit: judgement, no source


@dataclass(frozen=True, kw_only=True)
class FoundLevel:
    """The level that an output stands for, in the input unit, with its uncertainty part by part.

    ``u_line``: inverse evaluation; ``u_misfit``: what the readings show of a departure from the straight line, zero
    where they follow it; ``u_bend``: what the permitted bends add beyond the readings, zero within them;
    ``common_pct``: what all readings share, in %. ``nu`` belongs to the first three; U is for ``probability``.
    ``lowest`` and ``highest`` are the levels that were driven, ``highest_output`` the largest output less the output
    zero.
    """

    level: float
    u_line: float
    u_misfit: float
    u_bend: float
    common_pct: float
    nu: float
    lowest: float
    highest: float
    highest_output: float
    probability: float

    @property
    def own(self) -> float:
        """Standard uncertainty without the common part, in the input unit."""
        return math.hypot(self.u_line, self.u_misfit, self.u_bend)

    @property
    def own_U(self) -> float:
        """Expanded uncertainty without the common part, in the input unit."""
        return combine((self.own, self.nu), probability=self.probability).U

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


def level_on_line(result: LinearityResult, item: FrequencyLinearity, output: float) -> FoundLevel | None:
    """Return the level at which the line at a frequency gives ``output`` (less the output zero, output unit).

    None where no level above zero does, or where the line bends away from it first. The set point is taken as exact:
    where the monitor puts it is not among the readings. Raises ``ValueError`` where there is no line at the frequency.
    """
    line = item.line
    if line is None:
        raise ValueError(f"There is no line at {item.frequency_hz:g} Hz: {item.undetermined.get('sensitivity')}.")
    if line.sensitivity <= 0.0:
        return None
    inverse = inverse_evaluate(line.fit, output, u_y0=0.0)
    found: tuple[float, float] | None = inverse.x0, inverse.u_x0
    lowest, highest = float(line.fit.x.min()), float(line.fit.x.max())
    within = lowest <= inverse.x0 <= highest
    if inverse.x0 > 0.0 and not within:
        found = _beyond(line, result.case.channel, output, near=inverse.x0)
    if inverse.x0 <= 0.0 or found is None:
        return None
    level, u = found
    return FoundLevel(
        level=level,
        u_line=inverse.u_x0,
        u_misfit=_misfit(line),
        u_bend=math.sqrt(max(u**2 - inverse.u_x0**2, 0.0)),
        common_pct=common_pct(result, item, output),
        nu=line.nu,
        lowest=lowest,
        highest=highest,
        highest_output=float(line.fit.y.max()),
        probability=result.uncertainty.probability,
    )


def common_pct(result: LinearityResult, item: FrequencyLinearity, output: float) -> float:
    """Return what all readings at a frequency share, in % of a level; a live zero is read with the readout's gain."""
    uncertainty = result.uncertainty
    zero_share = 1.0 + result.case.output_zero / output
    return math.hypot(
        uncertainty.u_common_pct(item.frequency_hz),
        uncertainty.u_frequency_pct(item.frequency_hz),
        uncertainty.u_readout_pct * math.sqrt(max(zero_share**2 - 1.0, 0.0)),
        100.0 * uncertainty.u_offset / abs(output),
    )


def _beyond(line: LineAssessment, channel: Channel, output: float, *, near: float) -> tuple[float, float] | None:
    """The level and its uncertainty by the line with the bends that are permitted from zero to that level."""
    limit_pct = channel.nonlinearity_pct or USUAL_NONLINEARITY_PCT
    kind = cast(LinearityKind, channel.nonlinearity_kind)
    half_widths = permitted_half_widths(kind, limit_pct / 100.0 * line.sensitivity * near)
    return fit_bent_line(line.fit, at=near, half_widths=half_widths).level(output, near=near)


def _misfit(line: LineAssessment) -> float:
    """Readings that do not follow the line: its largest residual as a rectangular half-width, as a level."""
    if not (line.widened or line.bends):
        return 0.0
    return float(np.abs(line.fit.residuals).max()) / math.sqrt(3.0) / line.sensitivity


def holds_beyond(line: LineAssessment, nonlinearity_pct: float | None) -> bool:
    """Whether the readings follow the line well enough for it to go on from them.

    They do not where they bend, or scatter more than was stated for them, and one lies farther from the line than the
    channel's limit of non-linearity, in % of span. A smaller bend goes on as the bent line does.
    """
    farthest = 100.0 * float(np.abs(line.fit.residuals).max()) / line.span
    return not ((line.bends or line.widened) and farthest > (nonlinearity_pct or USUAL_NONLINEARITY_PCT))
