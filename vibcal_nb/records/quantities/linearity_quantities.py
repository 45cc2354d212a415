"""Linearity as records know it: its quantities, one entry a frequency."""

from __future__ import annotations

from typing import Any, NotRequired, TypedDict, cast

from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult, analyse_linearity
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import LINEARITY
from vibcal_nb.records.quantities.analysis import analysis_of_test
from vibcal_nb.records.quantities.digits import plain as _plain
from vibcal_nb.records.quantities.judged_points import (
    PointEntry,
    TogetherEntry,
    expanded_quantities,
    point_quantities,
    together_quantities,
)
from vibcal_nb.records.quantities.null_reasons import reasons_of_uncertainty


class LinearityPointEntry(PointEntry):
    """One reading of a linearity."""

    deviation_pct: float | None
    """Deviation of output over level from the nominal sensitivity, %."""
    error_span_pct: float | None
    """Error of the indication, % of span; null where the channel states no full scale."""
    scale: str
    """What the reading is judged in % of: ``reading`` or ``span``; U and limits are of it."""
    failure_signal: bool
    """Whether the output signals a failure and is no measurement."""
    applied: float | None
    """Level, in the channel's input unit."""
    output: float | None
    """Output less the output zero, in the channel's output unit."""


class LinearityEntry(TypedDict):
    """The linearity at one frequency; sensitivities in output unit per input unit of the channel."""

    frequency_hz: float | None
    """Frequency of the readings, Hz."""
    points: list[LinearityPointEntry]
    """The readings."""
    worst_point_deviation_pct: float | None
    """Deviation from nominal of the used reading that takes most of its tolerance, %."""
    zero_error_span_pct: NotRequired[float | None]
    """Output at no level less the live zero, % of span; of a dc output with a full scale alone."""
    zero_expanded_uncertainty_span_pct: NotRequired[float | None]
    """U of the zero error, % of span."""
    zero_basis: NotRequired[str | None]
    """What the zero error is from: ``zero reading`` or ``intercept``."""
    span_error_pct: NotRequired[float | None]
    """Error of the slope, % of span at full scale; of a dc output with a full scale alone."""
    max_applied: float | None
    """Highest level used, in the channel's input unit."""
    levels: int
    """Number of distinct levels used."""
    verdict: str
    """Verdict at this frequency."""
    sensitivity: float | None
    """Slope of the line."""
    deviation_pct: float | None
    """Deviation of the slope from the nominal sensitivity, %."""
    intercept: float | None
    """Output of the line at no level, less the output zero, in output units."""
    u_intercept: float | None
    """Standard uncertainty of the intercept, in output units."""
    hysteresis_pct: float | None
    """Largest difference of rising and falling outputs at one level, % of span."""
    repeatability_pct: float | None
    """Largest difference at one level in one direction, % of span."""
    expanded_uncertainty: float | None
    """U of the sensitivity."""
    k: float | None
    """Coverage factor of U."""
    effective_degrees_of_freedom: float | None
    """Degrees of freedom of U; null where they are infinitely many."""
    chi_squared: float | None
    """Chi-squared of the line."""
    nonlinearity_pct: dict[str, float | None] | None
    """Non-linearity in % of span, by kind."""
    nonlinearity_expanded_uncertainty_pct: float | None
    """U of the non-linearity, % of span."""
    bow_pct: float | None
    """Sag of the readings against a straight line, % of span."""
    together: TogetherEntry | None
    """How likely all judged readings conform at once."""
    undetermined: dict[str, str]
    """Why a number of this frequency is null, by its name."""


def linearity_entries(result: LinearityResult) -> list[LinearityEntry]:
    """Return the lines of a result, one a frequency."""
    return [_at_frequency(item, result.case) for item in result.frequencies]


def _undetermined(_: LinearityResult, found: list[LinearityEntry]) -> dict[str, str]:
    return {
        f"{name} at {item['frequency_hz']:g} Hz": reason
        for item in found
        for name, reason in item["undetermined"].items()
    }


def _at_frequency(item: FrequencyLinearity, case: Case) -> LinearityEntry:
    line, worst = item.line, item.worst_point
    values: dict[str, Any] = {
        "frequency_hz": _plain(item.frequency_hz),
        "points": [_linearity_point(point, case) for point in item.points],
        "worst_point_deviation_pct": None if worst is None else _plain(_deviation_pct(worst, case)),
        "max_applied": _plain(item.max_applied),
        "levels": item.levels,
        "verdict": item.verdict,
    }
    names = ("sensitivity", "deviation_pct", "intercept", "u_intercept", "hysteresis_pct", "repeatability_pct")
    values |= {name: None if line is None else _plain(getattr(line, name)) for name in names}
    values["intercept"] = None if line is None else _plain(line.intercept, beside=line.u_intercept)
    values |= expanded_quantities(None if line is None else line.expanded, "expanded_uncertainty")
    values["chi_squared"] = None if line is None else _plain(line.chi_squared.chi_squared, beside=1.0)
    kinds = {} if line is None else {kind: _plain(value, beside=1.0) for kind, value in line.nonlinearity_pct.items()}
    values["nonlinearity_pct"] = kinds or None
    values["nonlinearity_expanded_uncertainty_pct"] = None if line is None else _plain(line.nonlinearity_expanded.U)
    values["bow_pct"] = None if line is None or line.bow is None else _plain(line.bow.bow_pct, beside=1.0)
    if item.zero is not None:
        values |= {
            "zero_error_span_pct": _plain(item.zero.value_pct, beside=item.zero.expanded.U),
            "zero_expanded_uncertainty_span_pct": _plain(item.zero.expanded.U),
            "zero_basis": item.zero.basis,
            "span_error_pct": values["deviation_pct"],
        }
    values["together"] = together_quantities(item.points)
    return cast(LinearityEntry, values | {"undetermined": reasons_of_uncertainty(values, item.undetermined)})


def _deviation_pct(point: JudgedPoint, case: Case) -> float | None:
    if point.sensitivity is None or not point.of_span:
        return point.value_pct
    return 100.0 * (point.sensitivity / case.nominal_sensitivity - 1.0)


def _linearity_point(point: JudgedPoint, case: Case) -> dict[str, Any]:
    full_scale, signal = case.channel.full_scale, point.failure_signal
    error = None if full_scale is None else 100.0 * (point.y / case.nominal_sensitivity - point.x) / full_scale
    return {
        **point_quantities(point),
        "deviation_pct": None if signal else _plain(_deviation_pct(point, case)),
        "error_span_pct": None if signal else _plain(error),
        "scale": "span" if point.of_span else "reading",
        "failure_signal": signal,
        "applied": _plain(point.x),
        "output": _plain(point.y),
    }


ANALYSIS = analysis_of_test(
    LINEARITY,
    analyse_linearity,
    notebook="linearity.ipynb",
    method="straight line by weighted least squares, ISO/TS 28037:2010 clause 7; non-linearity after "
    "ANSI/ISA-51.1-1979 (R1993)",
    quantities=linearity_entries,
    undetermined=_undetermined,
)
