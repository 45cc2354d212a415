"""What tests of kcdb v k1 are made of."""

from __future__ import annotations

from datetime import date

from vibcal_nb.analysis.drift.observations import Observation


def observation(deviation, *, u_own=0.3, day=date(2025, 5, 1), **shared):
    return Observation(
        quantity="sensitivity at 50 Hz",
        date=day,
        visit=day.isoformat(),
        condition="as-found",
        deviation_pct=deviation,
        u_own_pct=u_own,
        nu_own=float("inf"),
        shared_pct=shared,
        tolerance_pct=5.0,
        verdict="pass",
    )
