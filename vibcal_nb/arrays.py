"""Read-only arrays for results, so that nobody changes a record after the fact."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


def frozen(values: ArrayLike) -> FloatArray:
    """Return a read-only float64 copy of ``values``, of the same shape."""
    array = np.array(values, dtype=np.float64)
    array.flags.writeable = False
    return array
