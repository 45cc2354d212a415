"""Statements of conformity: tolerance limits, decision rules, verdicts (ILAC-G8:09/2019, JCGM 106:2012)."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Final, Literal

from vibcal_nb.metrology.conformity.conformance_probability import ConformityError, ToleranceLimits, conformity_of
from vibcal_nb.metrology.uncertainty.coverage import Expanded

Verdict = Literal["pass", "conditional pass", "not verified", "conditional fail", "fail"]
PASS: Final = "pass"
CONDITIONAL_PASS: Final = "conditional pass"
NOT_VERIFIED: Final = "not verified"
CONDITIONAL_FAIL: Final = "conditional fail"
FAIL: Final = "fail"

#: From best to worst, as ``worst_verdict`` orders them.
PASSING: tuple[Verdict, ...] = (PASS, CONDITIONAL_PASS)
FAILING: tuple[Verdict, ...] = (CONDITIONAL_FAIL, FAIL)
VERDICTS: tuple[Verdict, ...] = (*PASSING, NOT_VERIFIED, *FAILING)

_ROUNDING = 1e-12  # relative: arithmetic on a reading typed exactly at a limit must not decide the verdict


@dataclass(frozen=True, kw_only=True)
class DecisionRule:
    """How a measured value is judged: the guard band is ``w = r U``.

    ``r`` = 0 is simple acceptance with the words pass and fail (ILAC-G8:09/2019, 4.2.1); ``r`` above 0 is the
    four-word statement with a guard band (4.2.3). Raises ``ConformityError`` for a negative ``r``, which
    would pass values outside their tolerance.
    """

    r: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.r) and self.r >= 0.0):
            raise ConformityError(
                f"the decision rule has r = {self.r}; give 0 for simple acceptance or a number above 0 "
                "for a guard band of r times the expanded uncertainty"
            )


@dataclass(frozen=True, kw_only=True)
class Decision:
    """The verdict on one measured value, with all it was made from, in the unit of the value.

    ``acceptance_limits`` is None where the guard bands leave no acceptance zone; ``note`` then says so.
    ``specific_risk`` is the probability that this very verdict is wrong: of nonconformity after pass or
    conditional pass, of conformity after fail or conditional fail (JCGM 106:2012, 9.3).
    """

    verdict: Verdict
    value: float
    uncertainty: Expanded
    limits: ToleranceLimits
    rule: DecisionRule
    guard_band: float
    acceptance_limits: ToleranceLimits | None
    probability_of_conformity: float
    specific_risk: float
    note: str | None


def decide(value: float, uncertainty: Expanded, limits: ToleranceLimits, rule: DecisionRule) -> Decision:
    """Judge ``value`` +- ``uncertainty.U`` against ``limits`` under ``rule``.

    A value on a limit belongs to the better verdict, and counts as on it within 1e-12 of its size. The
    probabilities come from the normal distribution of JCGM 106:2012, 7, or from Student's t where
    ``uncertainty.nu`` is finite, as U does.

    Source: ILAC-G8:09/2019, 4.2; JCGM 106:2012, 7 and 8.3. Raises ``ConformityError`` for a value that is
    not finite.
    """
    if not math.isfinite(value):
        raise ConformityError(f"the value to be judged is {value}; give a finite number, or state not verified")
    guard_band = rule.r * uncertainty.U
    acceptance = _acceptance_limits(limits, guard_band)
    verdict = _verdict(value, limits, guard_band)
    conforms, violates = conformity_of(float(value), uncertainty.u, limits, nu=uncertainty.nu)
    return Decision(
        verdict=verdict,
        value=float(value),
        uncertainty=uncertainty,
        limits=limits,
        rule=rule,
        guard_band=guard_band,
        acceptance_limits=acceptance,
        probability_of_conformity=conforms,
        specific_risk=violates if verdict.endswith("pass") else conforms,
        note=_no_zone_note(limits, guard_band) if acceptance is None else None,
    )


def most_risk_of_a_pass(decision: Decision) -> float | None:
    """Return the probability, at most, that a value which passes lies outside its limits: on an acceptance limit.

    With r U taken off a wide tolerance it is Phi(-r k), 50 % under simple acceptance; where the
    tolerance is not wide against u, what lies beyond the other limit adds to it. None where the guard bands leave
    nothing that passes. Source: JCGM 106:2012, 9.3, for the value at which it is greatest.
    """
    zone = decision.acceptance_limits
    if zone is None:
        return None
    own = decision.uncertainty
    return max(conformity_of(edge, own.u, decision.limits, nu=own.nu)[1] for edge in zone.stated)


def worst_verdict(verdicts: Iterable[Verdict]) -> Verdict:
    """Combine verdicts on parts into one on the whole: the worst of them.

    The order is pass, conditional pass, not verified, conditional fail, fail: a shown failure stays one
    however much was left out, and what was left out is never a pass. Of no verdicts at all the whole is
    ``not verified``. The order is a convention of this project; ILAC-G8 orders only its own four words.
    """
    found = list(verdicts)
    for verdict in found:
        if verdict not in VERDICTS:
            raise ConformityError(f"the verdict '{verdict}' is not known; take one of {', '.join(VERDICTS)}")
    return max(found, key=VERDICTS.index, default=NOT_VERIFIED)


def decision_rule_sentence(rule: DecisionRule) -> str:
    """Say the rule in one plain sentence, for every record that carries a verdict."""
    if rule.r == 0.0:
        return (
            "Decision rule: simple acceptance (ILAC-G8:09/2019, 4.2.1): pass where the measured value lies "
            "within the tolerance limits and fail where it does not, the uncertainty being stated but not "
            "subtracted, so that a value just within a limit has a risk of up to 50 % of being outside."
        )
    width = "the expanded uncertainty U" if rule.r == 1.0 else f"{rule.r:g} times the expanded uncertainty U"
    return (
        f"Decision rule: guarded acceptance (ILAC-G8:09/2019, 4.2.3) with a guard band of {width}: pass "
        "where the measured value lies within the tolerance limits by the guard band or more, conditional "
        "pass where it lies within by less, conditional fail where it lies outside by no more than the guard "
        "band, fail where it lies farther outside."
    )


def _verdict(value: float, limits: ToleranceLimits, guard_band: float) -> Verdict:
    outside = limits.distance_outside(value)  # negative within
    slack = _ROUNDING * max(abs(value), guard_band, *map(abs, limits.stated))
    if outside <= -guard_band + slack:
        return PASS
    if outside <= slack:
        return CONDITIONAL_PASS
    return CONDITIONAL_FAIL if outside <= guard_band + slack else FAIL


def _acceptance_limits(limits: ToleranceLimits, guard_band: float) -> ToleranceLimits | None:
    lower = None if limits.lower is None else limits.lower + guard_band
    upper = None if limits.upper is None else limits.upper - guard_band
    if lower is None or upper is None or lower <= upper:
        return ToleranceLimits(lower=lower, upper=upper)
    if lower - upper > _ROUNDING * max(guard_band, *map(abs, limits.stated)):
        return None
    return ToleranceLimits(lower=upper, upper=upper)  # one point is left, but for rounding


def _no_zone_note(limits: ToleranceLimits, guard_band: float) -> str:
    return (
        f"No value can pass: the guard bands of {guard_band:.3g} at both limits are together wider than the "
        f"tolerance from {limits.lower:g} to {limits.upper:g}; a smaller uncertainty, a wider tolerance or "
        "another decision rule is needed."
    )


def whole_verdict(verdicts: Iterable[Verdict | None], gaps: Collection[str]) -> Verdict:
    """Return the worst verdict of parts, of which None judged nothing; not verified where gaps are or none judged."""
    judged = [verdict for verdict in verdicts if verdict is not None]
    return worst_verdict([*judged, NOT_VERIFIED] if gaps else judged)
