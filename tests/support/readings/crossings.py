"""Where readings pass half power of the reading at the reference frequency, in Hz, without any model."""

from __future__ import annotations

import math

import numpy as np

from vibcal_nb.analysis.band_response.half_power import half_power_of
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors


def half_power_crossings(hz, sensitivity, *, reference_hz):
    """Return (corner in Hz, None) or (None, reason) for the low and the high side."""
    errors = CorrelatedErrors(own=np.full(np.shape(hz), 0.003))
    half = half_power_of(np.log(hz), np.log(sensitivity), errors, reference_hz=reference_hz)
    if isinstance(half, str):
        return (None, half), (None, half)
    low, high = ((None if c.ln_f is None else math.exp(c.ln_f), c.why) for c in half.crossings())
    return low, high
