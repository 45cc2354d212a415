"""A gap curve as records know it: its quantities."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypedDict, cast

from vibcal_nb.analysis.gap_curve.gap_curve import GapCurveResult, GapSensitivity, analyse_gap_curve
from vibcal_nb.analysis.gap_curve.increments import Increment
from vibcal_nb.metrology.straight_line.stated_slope import LEAST_SQUARES, MINIMAX
from vibcal_nb.model.names import GAP_CURVE
from vibcal_nb.records.quantities.analysis import analysis_of_test
from vibcal_nb.records.quantities.digits import plain
from vibcal_nb.records.quantities.judged_points import CHANCE_DECIMALS, expanded_quantities
from vibcal_nb.units import convert, parse_gap_unit

_UM = parse_gap_unit("um")

_Ends = TypedDict("_Ends", {"from": float | None, "to": float | None})


class IncrementEntry(_Ends):
    """The sensitivity over an increment of gap: ``from`` and ``to`` are its gaps in the input unit."""

    direction: str | None
    """``rising`` or ``falling``; null where it was not told."""
    repeat: int | None
    """Which pass over the gaps; null where it was not told."""
    sensitivity: float | None
    """Output per gap, with its sign."""
    deviation_pct: float | None
    """Deviation from nominal, %."""
    expanded_uncertainty_pct: float | None
    """U of it, %."""
    k: float | None
    """Coverage factor of U."""
    effective_degrees_of_freedom: float | None
    """Degrees of freedom of U; null where infinitely many."""
    verdict: str | None
    """Verdict; null where no limit holds."""
    probability_of_conformity: float | None
    """Probability that the true value lies within its limits, 0 to 1."""


class GapCurveEntry(TypedDict):
    """A gap curve; gaps in its input unit, sensitivities in output unit per input unit, with their sign."""

    incremental: list[IncrementEntry]
    """The increments, gaps ascending, run by run."""
    worst_incremental_pct: float | None
    """Deviation of the increment farthest from nominal, %."""
    average_sensitivity: float | None
    """From the lowest to the highest gap of the range."""
    average_expanded_uncertainty: float | None
    """U of it."""
    average_deviation_pct: float | None
    """Its deviation from nominal, %."""
    least_squares_sensitivity: float | None
    """Slope of the least-squares line."""
    least_squares_expanded_uncertainty: float | None
    """U of it."""
    deviation_from_line_um: dict[str, float] | None
    """Largest deviation from the best line of the nominal slope, um, by kind: ``minimax``, ``least-squares``."""
    deviation_from_line_expanded_uncertainty_um: dict[str, float] | None
    """U of each, um."""
    linear_range: list[float] | None
    """The lowest and the highest gap of the longest stretch in which all limits hold."""
    rest_gap: float | None
    """The gap at rest, as stated."""
    rest_voltage: float | None
    """Output there."""
    rest_voltage_expanded_uncertainty: float | None
    """U of it."""
    rest_gap_verdict: str | None
    """Whether the rest gap lies in the linear range."""
    rest_voltage_verdict: str | None
    """Whether its voltage keeps its limits."""
    backlash_um: float | None
    """Falling less rising, um."""
    backlash_expanded_uncertainty_um: float | None
    """U of it, um."""
    target: str | None
    """Material of the target, as stated."""
    verdict: str
    """Verdict of the test."""


def _quantities(result: GapCurveResult) -> GapCurveEntry:
    worst, lines, found = result.worst_increment, result.from_line, result.specification
    kinds = [kind for kind in (MINIMAX, LEAST_SQUARES) if kind in lines]
    entry = {
        "incremental": [_increment(item) for item in result.increments],
        "worst_incremental_pct": None if worst is None else plain(worst.deviation_pct),
        **_sensitivity("average", result.average, found.nominal_sensitivity),
        "average_deviation_pct": None if result.average is None else plain(result.average.deviation_pct),
        **_sensitivity("least_squares", result.least_squares, found.nominal_sensitivity),
        "deviation_from_line_um": {kind: plain(lines[kind].value_um) for kind in kinds} or None,
        "deviation_from_line_expanded_uncertainty_um": {kind: plain(lines[kind].expanded.U) for kind in kinds} or None,
        "linear_range": None if result.linear_range is None else [plain(value) for value in result.linear_range],
        **_rest(result),
        **_backlash(result),
        "target": found.target or None,
        "verdict": result.verdict,
    }
    return cast(GapCurveEntry, entry)


def _increment(item: Increment) -> dict[str, Any]:
    decision = item.decision
    return {
        "from": plain(item.low),
        "to": plain(item.high),
        "direction": item.direction,
        "repeat": item.repeat,
        "sensitivity": plain(item.sensitivity),
        "deviation_pct": plain(item.deviation_pct),
        **expanded_quantities(item.expanded, "expanded_uncertainty_pct"),
        "verdict": item.verdict,
        "probability_of_conformity": None
        if decision is None
        else round(decision.probability_of_conformity, CHANCE_DECIMALS),
    }


def _sensitivity(name: str, found: GapSensitivity | None, nominal: float) -> dict[str, float | None]:
    U = None if found is None else plain(found.expanded.U * abs(nominal) / 100.0)
    return {
        f"{name}_sensitivity": None if found is None else plain(found.value),
        f"{name}_expanded_uncertainty": U,
    }


def _rest(result: GapCurveResult) -> dict[str, Any]:
    rest = result.rest
    gap_decision, voltage_decision = (None, None) if rest is None else (rest.gap_decision, rest.voltage_decision)
    return {
        "rest_gap": None if rest is None else plain(rest.gap),
        "rest_voltage": None if rest is None else plain(rest.voltage),
        "rest_voltage_expanded_uncertainty": None if rest is None or rest.expanded is None else plain(rest.expanded.U),
        "rest_gap_verdict": None if gap_decision is None else gap_decision.verdict,
        "rest_voltage_verdict": None if voltage_decision is None else voltage_decision.verdict,
    }


def _backlash(result: GapCurveResult) -> dict[str, Any]:
    found, um = result.backlash, float(convert(1.0, result.specification.input_unit, _UM))
    return {
        "backlash_um": None if found is None else plain(found.value * um),
        "backlash_expanded_uncertainty_um": None if found is None else plain(found.expanded.U * um),
    }


def _undetermined(result: GapCurveResult, found: Mapping[str, Any]) -> dict[str, str]:
    """Why each null is one, by its name."""
    reasons, none = dict(result.undetermined), result.undetermined
    owners = {
        "average_deviation_pct": "average_sensitivity",
        "average_expanded_uncertainty": "average_sensitivity",
        "least_squares_expanded_uncertainty": "least_squares_sensitivity",
        "deviation_from_line_expanded_uncertainty_um": "deviation_from_line_um",
        "rest_voltage_expanded_uncertainty": "rest_voltage",
    }
    reasons |= {name: none[owner] for name, owner in owners.items() if owner in none}
    usual = {
        "rest_gap": "the channel states no rest_gap",
        "rest_gap_verdict": none.get("linear_range", "the channel states no rest_gap"),
        "rest_voltage_verdict": none.get("rest_voltage", "the channel states no rest_voltage"),
        "backlash_um": "no gap was read both rising and falling",
        "backlash_expanded_uncertainty_um": "no gap was read both rising and falling",
        "target": "the channel states no target",
    }
    return {name: reasons.get(name) or usual[name] for name, value in found.items() if value is None}


ANALYSIS = analysis_of_test(
    GAP_CURVE,
    analyse_gap_curve,
    notebook="gap_curve.ipynb",
    needs="gap_curve",
    method="increments of sensitivity and deviation from the best straight line of the nominal slope, in the sense of "
    "API 670 (from memory)",
    quantities=_quantities,
    undetermined=_undetermined,
)
