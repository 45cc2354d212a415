"""Numbers as they are kept: no more digits than every platform reproduces, and nothing that is not JSON."""

from __future__ import annotations

import math

DIGITS = 8  # what the fits guarantee on every platform
_NOTHING = 1e-9  # of what a value stands beside: that is what rounding leaves of a difference that is nought


def plain(value: float | None, *, beside: float = 0.0) -> float | None:
    """Round to the digits that are guaranteed; NaN and infinity are not JSON and become null.

    ``beside`` is the size that the value is judged by, such as its uncertainty, or 1 of a percentage: what vanishes
    beside it is 0, since none of its digits is the same on every platform, nor in every run.
    """
    if value is None or not math.isfinite(value):
        return None
    if abs(value) <= _NOTHING * beside:
        return 0.0
    return float(f"{value:.{DIGITS}g}")
