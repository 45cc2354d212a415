"""Judged points, expanded uncertainties and joint conformity as quantities."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypedDict

from vibcal_nb.analysis.readings.judged_point import JudgedPoint, conformity_of_all
from vibcal_nb.metrology.conformity.decision import Decision
from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.records.quantities.digits import plain as _plain

CHANCE_DECIMALS = 6  # of a probability: enough to act on, and the same on every platform


class PointEntry(TypedDict):
    """What every judged reading states."""

    row: int
    """Row of the reading table, as a spreadsheet counts."""
    frequency_hz: float | None
    """Frequency of the reading, Hz."""
    expanded_uncertainty_pct: float | None
    """U of the judged value, in the value's unit (%)."""
    k: float | None
    """Coverage factor of U."""
    effective_degrees_of_freedom: float | None
    """Degrees of freedom of U; null where they are infinitely many."""
    min_pct: float | None
    """Lower limit of the judged value, %."""
    max_pct: float | None
    """Upper limit of the judged value, %."""
    excluded: str | None
    """Why the reading is not used; null where it is used."""
    verdict: str | None
    """Verdict on the reading; null where it was not judged."""
    probability_of_conformity: float | None
    """Probability that the true value lies within the limits, 0 to 1."""


class TogetherEntry(TypedDict):
    """How likely all judged readings conform at once."""

    points: int
    """Number of readings judged."""
    probability: float
    """Probability with the common uncertainty that they share, 0 to 1."""
    no_less_than: float
    """Lower bound of it, whatever they have in common."""
    no_more_than: float
    """Upper bound of it, whatever they have in common."""


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


def interval_quantity(interval: tuple[float, float] | None) -> list[float | None] | None:
    """Both ends of an interval; None where there is none."""
    return None if interval is None else [_plain(value) for value in interval]


def _chance(decision: Decision | None) -> float | None:
    return None if decision is None else round(decision.probability_of_conformity, CHANCE_DECIMALS)


def together_quantities(points: Sequence[JudgedPoint]) -> TogetherEntry | None:
    """Return how likely the judged points conform all at once, and the bounds whatever they have in common."""
    joint = conformity_of_all(points)
    if joint is None:
        return None
    return TogetherEntry(
        points=len(joint.points),
        probability=round(joint.joint, CHANCE_DECIMALS),
        no_less_than=round(joint.lower_bound, CHANCE_DECIMALS),
        no_more_than=round(joint.upper_bound, CHANCE_DECIMALS),
    )
