"""Numbers as they are kept: no more digits than every platform reproduces, and nothing that is not JSON."""

from __future__ import annotations

import math

DIGITS = 8  # what the fits guarantee on every platform


def plain(value: float | None) -> float | None:
    """Round to the digits that are guaranteed; NaN and infinity are not JSON and become null."""
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.{DIGITS}g}")
