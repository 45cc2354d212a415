"""Which sensor a fall towards low frequencies is of: one that leaks, or one of second order.

A leaky cable or a charge amplifier's time constant takes 6 dB an octave, a second-order sensor (a moving coil, say)
12 dB. Near the shoulder both look alike, so that neither is named unless the other is far less likely.
"""

from __future__ import annotations

import math
from typing import Final

from vibcal_nb.analysis.sensor_alone.sensor_candidates import SensorCandidates, Terms

FLAT: Final = "flat"
FIRST_ORDER: Final = "first order"
SECOND_ORDER: Final = "second order"
UNKNOWN: Final = "unknown"

KINDS = {"droop": FIRST_ORDER, "second order": SECOND_ORDER}
TOLD_APART = 6.0  # of the criterion: one is twenty times as likely as the other


def kind_of(terms: Terms) -> str:
    """Return the kind of low end that a choice of terms has."""
    return next((kind for term, kind in KINDS.items() if term in terms), FLAT)


def tell_low_end(found: SensorCandidates, best: int) -> str:
    """Return the kind of low end of the best choice, or ``unknown`` where the other kind may as well be."""
    kind = kind_of(found.terms[best])
    if kind == FLAT:
        return FLAT
    others = [i for i, terms in enumerate(found.terms) if kind_of(terms) not in (FLAT, kind)]
    rival = min((float(found.criterion[i]) for i in others), default=math.inf)
    return kind if rival > found.criterion[best] + TOLD_APART else UNKNOWN
