"""Preferred frequencies of ISO 266: the R10 series of ISO 3, by their nominal values."""

from __future__ import annotations

import math

from vibcal_nb.analysis.readings.grouping import lies_within

R10 = (1.00, 1.25, 1.60, 2.00, 2.50, 3.15, 4.00, 5.00, 6.30, 8.00)


def preferred_frequencies(low_hz: float, high_hz: float, *, every: int = 1) -> tuple[float, ...]:
    """Return the nominal frequencies in Hz from ``low_hz`` to ``high_hz``, both included, ascending.

    ``every`` 1 gives R10 (ten a decade), 2 every second of them (R5), counted from 1 Hz. Raises
    ``ValueError`` where the limits are not positive.
    """
    if not (low_hz > 0.0 and math.isfinite(high_hz)):
        raise ValueError(f"Frequencies from {low_hz:g} to {high_hz:g} Hz cannot be listed; give limits above 0 Hz.")
    first, last = math.floor(math.log10(low_hz)), math.ceil(math.log10(max(high_hz, low_hz)))
    numbers = range(10 * first, 10 * (last + 1), every)
    # Rounded, because 3.15 x 10^-1 has digits behind its digits.
    nominal = [float(f"{R10[n % 10] * 10.0 ** (n // 10):.3g}") for n in numbers]
    return tuple(f for f in nominal if lies_within(f, low_hz, high_hz))
