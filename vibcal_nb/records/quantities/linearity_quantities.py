"""The quantities of a linearity, one entry a frequency."""

from __future__ import annotations

from typing import Any

from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.records.quantities.digits import plain as _plain
from vibcal_nb.records.quantities.judged_points import expanded_quantities, point_quantities, together_quantities
from vibcal_nb.records.quantities.null_reasons import reasons_of_uncertainty


def linearity_quantities(item: FrequencyLinearity) -> dict[str, Any]:
    """Return the entry of one frequency."""
    line, worst = item.line, item.worst_point
    values: dict[str, Any] = {
        "frequency_hz": _plain(item.frequency_hz),
        "points": [_linearity_point(point) for point in item.points],
        "worst_point_deviation_pct": None if worst is None else _plain(worst.value_pct),
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
    values["together"] = together_quantities(item.points)
    return values | {"undetermined": reasons_of_uncertainty(values, item.undetermined)}


def _linearity_point(point: JudgedPoint) -> dict[str, Any]:
    return {
        **point_quantities(point),
        "deviation_pct": _plain(point.value_pct),
        "applied": _plain(point.x),
        "output": _plain(point.y),
    }
