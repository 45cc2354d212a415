"""What an explanation of a channel's readings is, and the ranking of all of them."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.analysis.faults.fault_readings import FaultReadings
from vibcal_nb.analysis.faults.fault_search import FittedVariant
from vibcal_nb.analysis.faults.fault_size import Pull, Remainder, pulls_of, worst_remainder
from vibcal_nb.analysis.slips.slip import Slip
from vibcal_nb.arrays import FloatArray

POOR_FIT = 1e-3  # probability of so large a misfit, below which an explanation is called poor


@dataclass(frozen=True, kw_only=True, eq=False)
class Explanation:
    """One family as an explanation, with the best of its variants.

    ``weight`` is its posterior probability among the families known. ``fit_probability`` is the probability of a
    chi-squared at least as large were it true. ``support`` (n,) says for each reading how much it speaks for this
    explanation (positive) or against it, in nats against healthy. ``alike`` names other families that these readings
    cannot tell from it.
    """

    names: tuple[str, ...]
    weight: float
    fitted: FittedVariant
    variants: tuple[FittedVariant, ...]
    variant_weights: FloatArray
    fit_probability: float
    support: FloatArray
    alike: tuple[str, ...]

    @property
    def name(self) -> str:
        """The family, or both families of a pair."""
        return " and ".join(self.names)

    @property
    def pulls(self) -> tuple[Pull, ...]:
        """The healthy quantities that it needs far from healthy, the farthest first."""
        return pulls_of(self.fitted)

    @property
    def fits(self) -> bool:
        """Whether it leaves no more than the readings' errors do, and asks for nothing that it does not name."""
        return self.fit_probability >= POOR_FIT and not self.pulls


@dataclass(frozen=True, kw_only=True, eq=False)
class FaultExplanations:
    """Ranked explanations of the readings of one channel in one condition, the likeliest first.

    ``poor`` is True where not even the best explanation fits the readings. ``log_evidence`` is the logarithm of the
    readings' probability density over all families. ``slips`` are rows that a person is asked about first: they were
    probably written down wrongly, and the explanations are those of the readings as they were probably meant.
    """

    readings: FaultReadings
    explanations: tuple[Explanation, ...]
    poor: bool
    log_evidence: float
    slips: tuple[Slip, ...] = ()
    method: str = "Laplace approximation of the marginal likelihood; families expected alike, healthy with one half"

    @property
    def top(self) -> Explanation:
        """The likeliest explanation."""
        return self.explanations[0]

    def of(self, name: str) -> Explanation:
        """Return the explanation of that name; raises ``KeyError`` where there is none."""
        for item in self.explanations:
            if item.name == name:
                return item
        raise KeyError(name)

    def remainder(self, item: Explanation) -> Remainder:
        """Return the reading that an explanation leaves the most of, in its standard uncertainties."""
        rows = tuple(reading.row for reading in self.readings.readings)
        return worst_remainder(self.readings.ratio, rows, item.fitted)
