"""The error of the reference: what its certificate leaves open, by frequency, and how far it is one error.

A certificate is made frequency by frequency with one method: its error at one frequency is neither the same as at
another nor independent of it. Model: a part common to all frequencies and a part of each frequency's own, so that two
frequencies have one correlation, whatever lies between them. The default is judgement, no source; ``correlation`` in
equipment.toml replaces it. Whether frequencies that lie close share the part that is their own, no certificate tells:
in a ratio of two readings it is taken as each one's own, and what is fitted to readings over frequency is stated by
the probability that their scatter gives to either (`alike_nearby`). The drift since the calibration is taken as one
error at all frequencies. Errors of different references are independent.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from vibcal_nb.analysis.readings.chosen_reference import ChosenReference
from vibcal_nb.analysis.readings.contributions import DRIFT_PCT_PER_YEAR, drift_line
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.uncertainty.budget_line import BudgetLine
from vibcal_nb.model.equipment import Reference

CORRELATION = 0.5  # judgement, no source: half of the variance is common to all frequencies
USUAL_CORRELATION = "default: judgement, no source"
NEARBY = math.log(2.0)  # an octave: judgement, no source; how far one error may reach over frequency
OF_THE_REFERENCE = ("reference level", "reference drift")  # its budget lines


@dataclass(frozen=True, kw_only=True)
class CertificateError:
    """The reference's error at one frequency as budget lines, in % of the level: certificate, then drift since.

    ``correlation`` is that of the certificate's error here with its error at another frequency.
    """

    reference: Reference
    frequency_hz: float
    level: BudgetLine
    drift: BudgetLine
    correlation: float

    @property
    def lines(self) -> tuple[BudgetLine, ...]:
        """Both lines, in the order of a budget."""
        return self.level, self.drift

    @property
    def shared_pct(self) -> dict[str, float]:
        """Standard uncertainties in %, by source: what all frequencies share, and what belongs to this one."""
        common = math.sqrt(self.correlation) * self.level.standard_uncertainty
        sizes = {
            self.level.name: common,
            f"{self.level.name} at {self.frequency_hz:.3g} Hz": self.own_pct,
            self.drift.name: self.drift.standard_uncertainty,
        }
        return {f"{name}, {self.reference.id}": u for name, u in sizes.items()}

    @property
    def own_pct(self) -> float:
        """Standard uncertainty of the part that belongs to this frequency alone, in %."""
        return math.sqrt(1.0 - self.correlation) * self.level.standard_uncertainty

    def beside_pct(self, other: CertificateError) -> float:
        """Standard uncertainty of what this error does not share with that at another frequency, in %.

        The other's ``own_pct`` is left out, so that both together make the uncertainty of a ratio: of sizes a and b
        with correlation r, a^2 + b^2 - 2 r a b.
        """
        if other.reference != self.reference:
            return math.hypot(self.level.standard_uncertainty, self.drift.standard_uncertainty)
        sizes = self.level.standard_uncertainty - other.level.standard_uncertainty
        return math.hypot(self.own_pct, math.sqrt(self.correlation) * sizes)

    def ratio_pct(self, other: CertificateError) -> float:
        """Standard uncertainty that both errors leave in the ratio of two sensitivities, in %."""
        if other.reference != self.reference:
            return math.hypot(self.beside_pct(other), other.beside_pct(self))
        if same_frequency(self.frequency_hz, other.frequency_hz):
            return abs(self.level.standard_uncertainty - other.level.standard_uncertainty)
        return math.hypot(self.beside_pct(other), other.own_pct)


def certificate_error(chosen: ChosenReference, frequency_hz: float, *, on: date) -> CertificateError:
    """Return the error of the chosen reference at a frequency on a day."""
    reference = chosen.reference
    correlation = CORRELATION if reference.correlation is None else reference.correlation
    return CertificateError(
        reference=reference,
        frequency_hz=frequency_hz,
        level=_level_line(chosen, correlation),
        drift=drift_line(OF_THE_REFERENCE[1], reference, on, usual=DRIFT_PCT_PER_YEAR),
        correlation=correlation,
    )


def alike_nearby(errors: Sequence[CertificateError | None]) -> FloatArray:
    """Return what the covariance (n, n) gains, in %^2, where neighbours share the part that is a frequency's own.

    The part is one error over an octave that begins anywhere: two frequencies share it with the probability that both
    lie in the same one. Empty where nothing may be shared.
    """
    own = np.array([0.0 if error is None else error.own_pct for error in errors])
    if not own.any():
        return frozen(np.zeros((0, 0)))
    ln_f = np.log([1.0 if error is None else error.frequency_hz for error in errors])
    owners = [None if error is None else error.reference.id for error in errors]
    one = np.array([[a == b for b in owners] for a in owners])
    shared = np.maximum(1.0 - np.abs(ln_f[:, None] - ln_f[None, :]) / NEARBY, 0.0) * one
    return frozen(np.outer(own, own) * (shared - np.eye(own.size)))


def _level_line(chosen: ChosenReference, correlation: float) -> BudgetLine:
    band, reference = chosen.band, chosen.reference
    stated = f"{correlation:g}" if reference.correlation is not None else f"{correlation:g} ({USUAL_CORRELATION})"
    return BudgetLine(
        name=OF_THE_REFERENCE[0],
        value=band.expanded_pct,
        k=band.k,
        kind="common",
        source=f"certificate of {reference.id}, {band.from_hz:g} to {band.to_hz:g} Hz; correlation over frequency "
        + stated,
    )
