"""One reading as an analysis judges it: its deviation, the uncertainty of that, and the verdict."""

from __future__ import annotations

import math
from dataclasses import dataclass

from vibcal_nb.analysis.conformance_probability import ToleranceLimits
from vibcal_nb.analysis.conformity import Decision, DecisionRule, decide
from vibcal_nb.analysis.coverage import PROBABILITY, Expanded, expand
from vibcal_nb.inputs.readings import Reading


@dataclass(frozen=True, kw_only=True)
class JudgedPoint:
    """A reading with what the analysis makes of it.

    ``x`` and ``y`` are in the units of the part under test, ``y`` less the output zero. ``sensitivity`` is
    y/x. ``value_pct`` is what is judged, in %: a deviation, or a response. ``lower_pct`` and ``upper_pct`` are
    its tolerance limits (None where none applies), ``decision`` the judgement (None for a reading that is
    excluded, has no limit, or has no level to divide by). ``common_u_pct`` is the part of the standard
    uncertainty that moves all points judged together alike, in % (None where there is no uncertainty).
    """

    reading: Reading
    x: float
    y: float
    sensitivity: float | None
    value_pct: float | None
    expanded: Expanded | None
    lower_pct: float | None
    upper_pct: float | None
    decision: Decision | None
    common_u_pct: float | None = None

    @property
    def used(self) -> bool:
        """Whether the reading takes part in the analysis."""
        return self.reading.exclude is None

    @property
    def verdict(self) -> str | None:
        """The verdict's word, or None where nothing was judged."""
        return None if self.decision is None else self.decision.verdict


def combine(*parts: tuple[float, float], probability: float = PROBABILITY) -> Expanded:
    """Combine (standard uncertainty, degrees of freedom) of independent parts and expand (JCGM 100:2008, G.4)."""
    u = math.sqrt(math.fsum(part**2 for part, _ in parts))
    if u == 0.0:
        return expand(0.0, probability=probability)
    inverse = math.fsum((part / u) ** 4 / nu for part, nu in parts)
    return expand(u, 1.0 / inverse if inverse > 0.0 else math.inf, probability=probability)


def judge(
    value: float, uncertainty: Expanded, rule: DecisionRule, *, lower: float | None, upper: float | None
) -> Decision | None:
    """Judge a value against the limits there are; None where there are none."""
    if lower is None and upper is None:
        return None
    return decide(value, uncertainty, ToleranceLimits(lower=lower, upper=upper), rule)
