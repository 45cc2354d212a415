"""One reading as an analysis judges it: its deviation, the uncertainty of that, and the verdict."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from vibcal_nb.metrology.conformity.conformance_probability import ConformityError, ToleranceLimits
from vibcal_nb.metrology.conformity.decision import FAIL, Decision, DecisionRule, Verdict, decide
from vibcal_nb.metrology.conformity.joint_conformity import JointConformity, joint_conformity
from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.visit import Decision as StatedDecision


@dataclass(frozen=True, kw_only=True)
class JudgedPoint:
    """A reading with what the analysis makes of it.

    ``x`` and ``y`` are in the units of the part under test, ``y`` less the output zero. ``sensitivity`` is
    y/x. ``value_pct`` is what is judged, in %: a deviation, or a response. ``lower_pct`` and ``upper_pct`` are
    its tolerance limits (None where none applies), ``decision`` the judgement (None for a reading that is
    excluded, has no limit, or has no level to divide by). ``common_u_pct`` is the part of the standard
    uncertainty that moves all points judged together alike, in % (None where there is no uncertainty).
    ``of_span`` says that the percentages are of full scale, not of the reading (of a response: of the reading at the
    reference frequency). ``failure_signal`` says that the output signals a failure and is no measurement: that fails,
    but beyond full scale (``beyond_scale``), where it may be meant to.
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
    of_span: bool = False
    failure_signal: bool = False
    beyond_scale: bool = False

    @property
    def excluded(self) -> bool:
        """Whether a person left the reading out."""
        return self.reading.exclude is not None

    @property
    def used(self) -> bool:
        """Whether the reading takes part in the analysis."""
        return not self.excluded and not self.failure_signal

    @property
    def tells_noise(self) -> bool:
        """Whether an alternating output was read at no level: that tells the noise, and no line goes through it."""
        return self.reading.applied == 0.0 and self.reading.output_unit.detector != "dc"

    @property
    def verdict(self) -> Verdict | None:
        """The verdict's word, or None where nothing was judged."""
        if self.failure_signal and not self.excluded and not self.beyond_scale:
            return FAIL
        return None if self.decision is None else self.decision.verdict


def state_rule(stated: StatedDecision) -> DecisionRule:
    """Make the rule of what a visit's file states; under ``simple`` its r is not used."""
    if stated.rule not in ("simple", "guarded"):
        raise ConformityError(f"the decision rule '{stated.rule}' is not known; take 'simple' or 'guarded'")
    return DecisionRule(r=stated.r if stated.rule == "guarded" else 0.0)


def judge(
    value: float, uncertainty: Expanded, rule: DecisionRule, *, lower: float | None, upper: float | None
) -> Decision | None:
    """Judge a value against the limits there are; None where there are none."""
    if lower is None and upper is None:
        return None
    return decide(value, uncertainty, ToleranceLimits(lower=lower, upper=upper), rule)


def judged_points(points: Iterable[JudgedPoint]) -> Iterator[tuple[str, Decision]]:
    """Yield the decisions on the readings that were judged, by row and frequency."""
    for point in points:
        if point.decision is not None:
            yield f"reading in row {point.reading.row} at {point.reading.frequency_hz:.5g} Hz", point.decision


def conformity_of_all(points: Sequence[JudgedPoint]) -> JointConformity | None:
    """Return how likely all points that were judged lie within their limits at once; None where none was.

    What the points share is their ``common_u_pct``; the rest of each standard uncertainty is its own.
    """
    judged = [p for p in points if p.decision is not None]
    if not judged:
        return None
    decisions = [p.decision for p in judged if p.decision is not None]
    total = np.array([decision.uncertainty.u for decision in decisions])
    common = np.minimum([p.common_u_pct or 0.0 for p in judged], total)
    return joint_conformity(
        [decision.value for decision in decisions],
        [decision.limits for decision in decisions],
        common_uncertainty=common,
        independent_uncertainty=np.sqrt(total**2 - common**2),
    )
