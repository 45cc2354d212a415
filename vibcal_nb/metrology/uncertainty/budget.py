"""Uncertainty budgets: lines, their combination, effective degrees of freedom (JCGM 100:2008)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.uncertainty.budget_line import BudgetError, BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, Expanded, Rounded, expand, rounded

__all__ = ["Budget", "BudgetError", "BudgetLine", "Expanded", "Rounded", "expand", "rounded"]


@dataclass(frozen=True, kw_only=True)
class Budget:
    """An uncertainty budget for one result.

    ``correlations`` maps pairs of line names to correlation coefficients r(x_i, x_j); pairs that are not
    named are uncorrelated. Correlated lines must be of one kind, so that the common and the independent part
    of the uncertainty can be told apart. ``estimate`` is the value the budget belongs to, where it has one.

    Raises ``BudgetError``.
    """

    lines: tuple[BudgetLine, ...]
    correlations: Mapping[tuple[str, str], float] = field(default_factory=dict)
    estimate: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "lines", tuple(self.lines))
        object.__setattr__(self, "correlations", dict(self.correlations))
        _require_unique_names(self)
        for pair, r in self.correlations.items():
            _require_usable_correlation(self, pair, r)
        if self.correlations and np.linalg.eigvalsh(self.correlation_matrix)[0] < -1e-8:
            raise BudgetError(
                "the correlation coefficients of the budget contradict one another (their matrix has a "
                "negative eigenvalue); check the coefficients of the lines that occur in several pairs"
            )

    @cached_property
    def correlation_matrix(self) -> FloatArray:
        """Correlation coefficients of the lines, shape (lines, lines), in the lines' order."""
        index = {line.name: i for i, line in enumerate(self.lines)}
        matrix = np.eye(len(self.lines))
        for (first, second), r in self.correlations.items():
            matrix[index[first], index[second]] = matrix[index[second], index[first]] = r
        return frozen(matrix)

    @cached_property
    def correlated_groups(self) -> tuple[tuple[int, ...], ...]:
        """Indices of the lines, those that are correlated with one another in one group."""
        linked = (self.correlation_matrix != 0.0).astype(float)
        for _ in self.lines:  # a chain of correlated lines is one group
            linked = (linked @ linked > 0.0).astype(float)
        return tuple(dict.fromkeys(tuple(int(i) for i in np.flatnonzero(row)) for row in linked))

    @property
    def combined_standard_uncertainty(self) -> float:
        """u_c(y), in the unit of the result (JCGM 100:2008, 5.1.2, and 5.2.2 with correlations)."""
        return self._combine(range(len(self.lines)))

    @property
    def common_uncertainty(self) -> float:
        """Standard uncertainty of the lines of kind ``common``; u_c is the root sum of squares of both."""
        return self._combine(i for i, line in enumerate(self.lines) if line.kind == "common")

    @property
    def independent_uncertainty(self) -> float:
        """Standard uncertainty of the lines of kind ``independent``."""
        return self._combine(i for i, line in enumerate(self.lines) if line.kind == "independent")

    @property
    def effective_degrees_of_freedom(self) -> float:
        """Effective degrees of freedom, by the Welch-Satterthwaite formula; infinite where no line has fewer.

        Source: JCGM 100:2008, G.4.1, equation (G.2b), which asks for independent lines. Lines that are
        correlated enter as one line, with the smallest degrees of freedom among them: exact where they share
        one estimate of scatter, such as the intercept and slope of one fitted line (R. Willink, Metrologia
        44 (2007) 340), and a convention of this project, no published rule, where they do not.
        """
        total = self.combined_standard_uncertainty
        if total == 0.0:
            return math.inf
        inverse = 0.0
        for group in self.correlated_groups:
            nu = min(self.lines[i].degrees_of_freedom for i in group)
            inverse += (self._combine(group) / total) ** 4 / nu
        return 1.0 / inverse if inverse > 0.0 else math.inf

    def expanded(self, *, probability: float = PROBABILITY) -> Expanded:
        """Return U = k u_c with k from Student's t for the effective degrees of freedom (see ``expand``)."""
        return expand(self.combined_standard_uncertainty, self.effective_degrees_of_freedom, probability=probability)

    def coverage_factor(self, *, probability: float = PROBABILITY) -> float:
        """Return k for the effective degrees of freedom."""
        return self.expanded(probability=probability).k

    def expanded_uncertainty(self, *, probability: float = PROBABILITY) -> float:
        """Return U, in the unit of the result."""
        return self.expanded(probability=probability).U

    def _combine(self, indices: Iterable[int]) -> float:
        chosen = list(indices)
        signed = [self.lines[i].sensitivity_coefficient * self.lines[i].standard_uncertainty for i in chosen]
        variance = np.array(signed) @ self.correlation_matrix[np.ix_(chosen, chosen)] @ np.array(signed)
        return math.sqrt(max(float(variance), 0.0))  # rounding alone can make it negative


def _require_unique_names(budget: Budget) -> None:
    names = [line.name for line in budget.lines]
    if not names:
        raise BudgetError("the budget has no lines; give at least one")
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise BudgetError(f"the budget has more than one line named '{twice[0]}'; give each line its own name")


def _require_usable_correlation(budget: Budget, pair: tuple[str, str], r: float) -> None:
    kinds = {line.name: line.kind for line in budget.lines}
    first, second = pair
    what = f"the correlation of '{first}' with '{second}'"
    for name in pair:
        if name not in kinds:
            raise BudgetError(f"{what}: the budget has no line '{name}'; its lines are {', '.join(kinds)}")
    if first == second or (second, first) in budget.correlations:
        raise BudgetError(f"{what} is given twice or of a line with itself; name each pair of lines once")
    if not -1.0 <= r <= 1.0:
        raise BudgetError(f"{what} is {r}; give a number from -1 to 1")
    if r != 0.0 and kinds[first] != kinds[second]:
        raise BudgetError(
            f"{what}: one is common and the other independent, and what correlates them cannot be both; "
            "give both lines the same kind"
        )
