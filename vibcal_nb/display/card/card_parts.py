"""What the cards of all kinds are made of: judged quantities, and how far something is off in words."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.display.writing.numbers import fixed, number, true_minus
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED, Decision


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """One judged quantity: its name, its value with U, its limit, and the decision (None: not judged, with ``why``).

    ``mark`` is the verdict where there is no decision on one number, ``state`` a word in its place that is no verdict.
    """

    name: str
    value: str
    limit: str
    decision: Decision | None
    why: str = ""
    mark: str = NOT_VERIFIED
    state: str = ""

    @property
    def verdict(self) -> str:
        """The word of the decision, or the mark in its place."""
        return self.mark if self.decision is None else self.decision.verdict


def off(deviation_pct: float) -> str:
    """Say how far and which way a reading is off: "8.2 % low"; what rounds to nothing is "as nominal"."""
    if abs(deviation_pct) < 0.05:
        return "as nominal"
    return f"{fixed(abs(deviation_pct), decimals=1)} % {'low' if deviation_pct < 0.0 else 'high'}"


def symmetric(decision: Decision, *, unit: str = "%") -> str:
    """Write the limits of a decision as short as they can be: "± 5 %", "63 to 79 %", "at most 2 %"."""
    lower, upper = decision.limits.lower, decision.limits.upper
    if lower is not None and upper is not None:
        if abs(lower + upper) <= 1e-9 * abs(upper - lower):
            return f"± {upper:g} {unit}"
        return true_minus(f"{number(lower, digits=3)} to {number(upper, digits=3)} {unit}")
    if upper is not None:
        return true_minus(f"at most {upper:g} {unit}")
    return true_minus(f"at least {lower:g} {unit}")
