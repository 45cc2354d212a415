"""Judged points, expanded uncertainties and joint conformity as quantities."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.analysis.readings.judged_point import JudgedPoint, conformity_of_all
from vibcal_nb.metrology.conformity.decision import Decision
from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.records.quantities.digits import plain as _plain

CHANCE_DECIMALS = 6  # of a probability: enough to act on, and the same on every platform


def point_quantities(point: JudgedPoint) -> dict[str, Any]:
    """Return what every judged reading states: row, frequency, U, limits, exclusion, verdict."""
    return {
        "row": point.reading.row,
        "frequency_hz": _plain(point.reading.frequency_hz),
        **expanded_quantities(point.expanded, "expanded_uncertainty_pct"),
        "min_pct": _plain(point.lower_pct),
        "max_pct": _plain(point.upper_pct),
        "excluded": point.reading.exclude,
        "verdict": point.verdict,
        "probability_of_conformity": _chance(point.decision),
    }


def expanded_quantities(
    expanded: Expanded | None, name: str, *, prefix: str = "", scale: float = 1.0
) -> dict[str, float | None]:
    """U under ``name``, its k and its effective degrees of freedom (null: infinitely many, or no U)."""
    return {
        name: None if expanded is None else _plain(scale * expanded.U),
        f"{prefix}k": None if expanded is None else _plain(expanded.k),
        f"{prefix}effective_degrees_of_freedom": None if expanded is None else _plain(expanded.nu),
    }


def _chance(decision: Decision | None) -> float | None:
    return None if decision is None else round(decision.probability_of_conformity, CHANCE_DECIMALS)


def together_quantities(points: Sequence[JudgedPoint]) -> dict[str, Any] | None:
    """Return how likely the judged points conform all at once, and the bounds whatever they have in common."""
    joint = conformity_of_all(points)
    if joint is None:
        return None
    numbers = {"probability": joint.joint, "no_less_than": joint.lower_bound, "no_more_than": joint.upper_bound}
    return {"points": len(joint.points)} | {name: round(value, CHANCE_DECIMALS) for name, value in numbers.items()}
