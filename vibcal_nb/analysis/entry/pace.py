"""About how long the rest takes, from how long the readings took so far."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise
from statistics import median

USUAL_SECONDS = 45.0
"""To set a level, let it settle, read and write it down; common practice, no source."""
FEWEST = 5
PAUSE_SECONDS = 300.0  # longer is a sensor that was changed, or coffee; judgement, no source


def seconds_a_reading(times: Sequence[datetime]) -> float:
    """Return the median time between readings, pauses left out; the usual one where too few were taken."""
    gaps = [(b - a).total_seconds() for a, b in pairwise(times)]
    worked = [gap for gap in gaps if 0.0 < gap <= PAUSE_SECONDS]
    return median(worked) if len(worked) >= FEWEST else USUAL_SECONDS
