"""A point of a band response as quantities."""

from __future__ import annotations

import math
from typing import Any

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.records.quantities.digits import plain as _plain
from vibcal_nb.records.quantities.judged_points import point_quantities


def band_point_quantities(point: JudgedPoint) -> dict[str, Any]:
    """Return one point of a band response: in % of the reference reading, and in dB."""
    value = point.value_pct
    decibels = None if value is None or value <= 0.0 else _plain(20.0 * math.log10(value / 100.0))
    return {**point_quantities(point), "response_pct": _plain(value), "response_db": decibels}
