"""Whether the readings can call a stretch of frequencies flat: enough of them, and from one end to the other."""

from __future__ import annotations

import math
from collections.abc import Iterator

from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, group_close, lies_within
from vibcal_nb.analysis.readings.relative_response import RelativeReadings

FEWEST_FREQUENCIES = 3
REACH = 2.0 ** (1.0 / 3.0)  # a third octave; judgement, no source


def flat_part_gaps(relative: RelativeReadings, flat_hz: tuple[float, float] | None) -> Iterator[str]:
    """Say what the used readings leave open of the flat part from ``flat_hz[0]`` to ``flat_hz[1]``.

    None: of a flat part without stated ends, which is as long as the readings.

    Readings within 1 % are at one frequency. Beyond the outermost reading the response is unknown, so that one
    must lie within a third octave of each end, or beyond it.
    """
    low, high = flat_hz or (0.0, math.inf)
    used = relative.readings.frequency_hz[relative.usable]
    inside = used[lies_within(used, low, high)]
    found = len(group_close(inside, within_pct=SAME_FREQUENCY_PCT))
    if found < FEWEST_FREQUENCIES:
        within = f" within {low:g} to {high:g} Hz" if flat_hz else ""
        yield (
            f"readings at {found} {'frequency' if found == 1 else 'frequencies'}{within}, where "
            f"{FEWEST_FREQUENCIES} are needed to call it flat"
        )
    elif flat_hz and (used.min() > low * REACH or used.max() < high / REACH):
        yield (
            f"the flat part runs from {low:g} to {high:g} Hz and the readings only from {used.min():g} to "
            f"{used.max():g} Hz"
        )
