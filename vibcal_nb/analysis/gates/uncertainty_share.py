"""How much of its tolerance an uncertainty takes, and when that is too much to call anything a pass.

Simple acceptance presupposes that U was agreed to be small enough (JCGM 106:2012, 8.2; ILAC-G8:09/2019, 4.2.1). A guard
band allows for as much of U as it is wide. U is that of 95 % at least, whatever the visit states: the ratio of both is
the test uncertainty ratio, which is defined for 95 % (ANSI/NCSL Z540.3-2006, 3.11).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from vibcal_nb.analysis.gates.gate import U_SHARE, Gate
from vibcal_nb.analysis.result import Judged
from vibcal_nb.metrology.conformity.conformance_probability import ToleranceLimits
from vibcal_nb.metrology.conformity.decision import PASSING, Decision
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, expand

STATED_FROM = 1.0 / 3.0  # the share of a tolerance from which a record states it (design of this project)
_ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True)
class UncertaintyShare:
    """The share that ``U`` takes of the ``tolerance`` it is judged by, both in ``unit``: in % of what ``name`` names.

    ``tolerance`` is half the width of two-sided limits, or the limit itself where there is one.
    """

    name: str
    decision: Decision
    U: float
    tolerance: float
    unit: str = "%"

    @property
    def share(self) -> float:
        """U over the tolerance."""
        return self.U / self.tolerance

    @property
    def left_open(self) -> float:
        """The share that no guard band allows for."""
        return max(self.U - self.decision.guard_band, 0.0) / self.tolerance

    @property
    def test_uncertainty_ratio(self) -> float | None:
        """The span of the tolerance over twice U; None of one-sided limits, which have none, and where U is 0."""
        limits = self.decision.limits
        return None if limits.lower is None or limits.upper is None or self.U == 0.0 else 1.0 / self.share

    @property
    def risk(self) -> float | None:
        """The probability that this pass is wrong; None where it is none."""
        return self.decision.specific_risk if self.decision.verdict in PASSING else None

    @property
    def is_worth_a_word(self) -> bool:
        """Whether a record states it: from a third of the tolerance on."""
        return self.share >= STATED_FROM * (1.0 - _ROUNDING)


def largest_share(judged: Iterable[Judged]) -> UncertaintyShare | None:
    """Return the largest share of all that was judged; None where no limit leaves a tolerance to compare with."""
    found = (_share(*item) for item in judged)
    return max((item for item in found if item is not None), key=lambda item: item.share, default=None)


def _share(name: str, decision: Decision, unit: str = "%") -> UncertaintyShare | None:
    tolerance = _tolerance(decision.limits)
    if tolerance is None or tolerance <= 0.0:
        return None
    own = decision.uncertainty
    wide = own if own.probability >= PROBABILITY else expand(own.u, own.nu, probability=PROBABILITY)
    return UncertaintyShare(name=name, decision=decision, U=wide.U, tolerance=tolerance, unit=unit)


def _tolerance(limits: ToleranceLimits) -> float | None:
    if limits.lower is not None and limits.upper is not None:
        return 0.5 * (limits.upper - limits.lower)
    return abs(limits.stated[0]) if limits.stated else None


def share_gate(judged: Iterable[Judged], *, largest_u_share: float) -> Gate | None:
    """Return the gate of the uncertainty that takes too much of its tolerance; None where none does."""
    shares = [found for item in judged if (found := _share(*item)) is not None]
    worst = max(shares, key=lambda item: item.left_open, default=None)
    if worst is None or worst.left_open <= largest_u_share * (1.0 + _ROUNDING):
        return None
    unit, band = f" {worst.unit}".rstrip(), worst.decision.guard_band
    guarded = f", of which the guard band allows for {band:.2g}{unit}" if band else ""
    return Gate(
        gate=U_SHARE,
        found=f"U of the {worst.name} is {worst.U:.2g}{unit}, {100.0 * worst.share:.0f} % of its tolerance of "
        f"{worst.tolerance:.3g}{unit}{guarded}, where {100.0 * largest_u_share:.0f} % is the most",
        remedy="measure with a smaller uncertainty, or agree on a guarded rule, which allows for it",
    )
