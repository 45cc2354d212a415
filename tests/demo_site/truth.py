"""Which channel of the demo site has which fault, and when: known here and nowhere in the data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

FAMILIES = (
    "module gain",
    "sensor lost sensitivity",
    "open leg",
    "detector mix-up",
    "unit mix-up",
    "mains pick-up",
    "noise floor",
    "saturation",
    "loose mounting",
    "leak",
    "wrong filter",
    "acceleration instead of velocity",
    "cracked element",
    "strain",
)


@dataclass(frozen=True, kw_only=True)
class Fault:
    """A fault found at a visit. ``changes`` alter the physics; ``applied_factor`` what was written down.

    ``family`` is None for a channel that is near its limit, yet within it. ``mended`` is ``module`` or
    ``sensor`` where as-left readings followed.
    """

    asset: str
    visit: str
    channel: str
    family: str | None
    changes: Mapping[str, object] = field(default_factory=dict)
    applied_factor: float = 1.0
    mended: str | None = None


def _fault(asset: str, visit: str, channel: str, family: str | None, **changes: object) -> Fault:
    mended = changes.pop("mended", None)
    factor = changes.pop("applied_factor", 1.0)
    return Fault(
        asset=asset,
        visit=visit,
        channel=f"{asset}-{channel}",
        family=family,
        changes=changes,
        applied_factor=float(factor),  # type: ignore[arg-type]
        mended=mended,  # type: ignore[arg-type]
    )


FAULTS = (
    _fault("STG-1", "2024-05-21", "V21", "acceleration instead of velocity", acceleration_right_at_hz=50.0),
    _fault("STG-1", "2024-05-21", "V32", "leak", leak_hz=30.0),
    _fault("STG-1", "2025-04-29", "V11", "mains pick-up", pickup=1.2),
    _fault("STG-1", "2025-04-29", "V22", "saturation", clip=15.0),
    _fault("STG-1", "2025-04-29", "V31", "open leg", sensor_factor=0.5),
    _fault("STG-1", "2026-05-19", "V12", "module gain", module_factor=0.93, mended="module"),
    _fault("STG-1", "2026-05-19", "V21", "wrong filter", high_hz=310.0),
    _fault("FDF-3", "2024-05-07", "V11", "detector mix-up", applied_factor=2.0**0.5),
    _fault("FDF-3", "2024-05-07", "V22", "wrong filter", bypassed=True),
    _fault("FDF-3", "2025-06-17", "V12", "noise floor", noise=0.9),
    _fault("FDF-3", "2026-05-05", "V21", None, module_factor=1.0635),
    _fault("BFP-2", "2024-04-23", "A12", "loose mounting", looseness=0.3, hysteresis=0.04, resonance_hz=6500.0),
    _fault("BFP-2", "2024-04-23", "A22", "strain", strain=0.06, hysteresis=0.05),
    _fault("BFP-2", "2025-05-13", "A11", "unit mix-up", applied_factor=1.0 / 9.80665),
    _fault(
        "BFP-2",
        "2025-05-13",
        "A21",
        "cracked element",
        sensor_factor=0.78,
        resonance_hz=9000.0,
        mended="sensor",
    ),
    _fault("BFP-2", "2026-04-21", "A22", "sensor lost sensitivity", sensor_factor=0.86, mended="sensor"),
)


RELAYS_LATE = {("2026-04-21", "BFP-2-A12"): 0.07}
"""Relays of the trip that act beyond their set level, as a part of it, by visit and channel."""


def fault_of(visit: str, channel: str, condition: str = "as-found") -> Fault | None:
    """Return the fault of a channel at a visit; none is left after mending."""
    found = [f for f in FAULTS if (f.visit, f.channel) == (visit, channel)]
    if not found or (condition == "as-left" and found[0].mended):
        return None
    return found[0]
