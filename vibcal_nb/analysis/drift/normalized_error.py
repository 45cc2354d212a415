"""E_n tells whether the difference of two results is more than their uncertainties explain.

E_n = (x1 - x2) / sqrt(U1^2 + U2^2), with expanded uncertainties U for about 95 % (ISO 13528:2015, 9.7;
ISO/IEC 17043, B.3.1.3, clauses from memory). The denominator is the expanded uncertainty of the difference: where
the two share an error (the same certificate of the same reference), its part in the difference cancels and must
not be counted, or a real change hides behind it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from vibcal_nb.analysis.drift.observations import Break, Observation, break_between
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine
from vibcal_nb.units import DAYS_PER_YEAR


@dataclass(frozen=True, kw_only=True)
class Change:
    """What changed from one observation to a later one, in % of nominal, with the U of the change alone.

    ``removed`` names what the two share, whose equal part has cancelled; ``E_n`` has the change's sign. ``why_broken``
    says why the two are not of the same thing, so that the change is no drift; None where they are.
    """

    before: Observation
    after: Observation
    change_pct: float
    expanded: Expanded
    E_n: float
    removed: tuple[str, ...]
    why_broken: Break | None = None

    @property
    def significant(self) -> bool:
        """Whether the change is more than its uncertainty explains."""
        return abs(self.E_n) > 1.0

    @property
    def years(self) -> float:
        """Time between the two, in years of 365.25 days."""
        return (self.after.date - self.before.date).days / DAYS_PER_YEAR


def normalized_error(difference: float, U: float) -> float:
    """Return E_n of a difference with its expanded uncertainty ``U``, in the same unit.

    Source: ISO 13528:2015, 9.7. Raises ``ValueError`` where U is not above zero.
    """
    if not (U > 0.0 and math.isfinite(U) and math.isfinite(difference)):
        raise ValueError(f"E_n of {difference} with U = {U}: give a finite difference and an uncertainty above zero.")
    return difference / U


def compare(before: Observation, after: Observation) -> Change:
    """Compare two observations of one quantity, with what they share removed.

    A shared source counts with the difference of the two sizes that are stated for it (a certificate's error
    is one error; its drift since calibration grows with time). U is for the coverage that the later visit states, as
    every other U of its record. Raises ``ValueError`` where nothing but shared
    errors of equal size is stated, so that the difference has no uncertainty.
    """
    sources = sorted({*before.shared_pct, *after.shared_pct})
    left = [(abs(after.shared_pct.get(s, 0.0) - before.shared_pct.get(s, 0.0)), math.inf) for s in sources]
    expanded = combine(
        (before.u_own_pct, before.nu_own), (after.u_own_pct, after.nu_own), *left, probability=after.probability
    )
    change = after.deviation_pct - before.deviation_pct
    return Change(
        before=before,
        after=after,
        change_pct=change,
        expanded=expanded,
        E_n=normalized_error(change, expanded.U),
        removed=tuple(s for s in sources if s in before.shared_pct and s in after.shared_pct),
        why_broken=break_between(before, after),
    )
