"""What tests of site order are made of."""

from __future__ import annotations

import math
from datetime import date

from vibcal_nb.analysis.drift.observations import Observation
from vibcal_nb.analysis.site.site_results import SiteResult


def result(day, condition, *, analysis="linearity", deviation=0.0, tolerance_pct=5.0):
    on = date(2026, 5, day)
    seen = Observation(
        quantity="sensitivity", date=on, visit=on.isoformat(), condition=condition, deviation_pct=deviation,
        u_own_pct=0.3, nu_own=math.inf, shared_pct={}, tolerance_pct=tolerance_pct, verdict="pass",
    )  # fmt: skip
    return SiteResult(
        asset="STG-1", channel="V11", location="", visit=on.isoformat(), date=on, analysis=analysis,
        condition=condition, verdict="pass", margin_pct=None, worst=None, record=f"{day} {condition}",
        observations=(seen,), set_points=(), equipment=(),
    )  # fmt: skip
