"""Whether a model describes readings whose errors are known: chi-squared decides, and says what a covariance lacks."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import chdtrc, fdtrc

SIGNIFICANCE = 0.001  # at which a model is rejected
WIDENS = 0.05  # below it the readings scatter more than their budget states, and the covariance is widened


@dataclass(frozen=True, kw_only=True)
class Fitness:
    """Chi-squared of a fit against what the errors of the readings let expect.

    ``errors_nu`` are the degrees of freedom with which the errors themselves are known.
    """

    chi_squared: float
    degrees_of_freedom: int
    errors_nu: float = math.inf

    @property
    def p_value(self) -> float:
        """Probability of a chi-squared as large or larger, 1 without degrees of freedom.

        Errors that were estimated from repeats make it Fisher's F (any textbook on regression).
        """
        nu = self.degrees_of_freedom
        if nu == 0:
            return 1.0
        if math.isinf(self.errors_nu):
            return float(chdtrc(nu, self.chi_squared))
        return float(fdtrc(nu, self.errors_nu, self.chi_squared / nu))

    @property
    def holds(self) -> bool:
        """Whether the model stands at 0.1 %."""
        return self.p_value >= SIGNIFICANCE

    @property
    def widening(self) -> float:
        """Factor of the covariance: never below 1, chi-squared over its degrees of freedom where 5 % rejects.

        R. T. Birge, Phys. Rev. 40 (1932) 207, external consistency.
        """
        return self.chi_squared / self.degrees_of_freedom if self.p_value < WIDENS else 1.0

    @property
    def nu(self) -> float:
        """Degrees of freedom of uncertainties that follow from the fit."""
        return float(self.degrees_of_freedom) if self.p_value < WIDENS else self.errors_nu
