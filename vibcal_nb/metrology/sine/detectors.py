"""What harmonics do to a detector that stands for the fundamental: r.m.s. sees their power, peak their sum.

With harmonics A_2, A_3, ... of a fundamental A_1, the r.m.s. value is sqrt(1 + THD_F^2) times that of the fundamental;
the peak lies at most sum(A_k)/A_1 beyond it (all harmonics at their peak with it, as in a triangle). Closed forms.
"""

from __future__ import annotations

import math

ALIKE_HARMONICS = 2  # that a distortion is taken to be made of where only its THD is known: judgement, no source


def rms_error(thd_f: float) -> float:
    """Return the relative error of an r.m.s. detector for a THD_F (ratio), about half its square.

    >>> f"{rms_error(0.02):.6f}"
    '0.000200'
    """
    return math.sqrt(1.0 + thd_f**2) - 1.0


def peak_error(thd_f: float, *, harmonics: float | None = None) -> float:
    """Return the largest relative error of a peak detector: the sum of the harmonics, as a ratio to the fundamental.

    Where ``harmonics``, that sum, is not known, the distortion is taken to be of two harmonics alike.
    """
    return math.sqrt(ALIKE_HARMONICS) * thd_f if harmonics is None else harmonics
