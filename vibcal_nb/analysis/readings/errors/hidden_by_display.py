"""What displays hide, where that is the most of a reading's uncertainty or the scatter of its repeats."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from vibcal_nb.analysis.readings.errors.repeat_scatter import ROOT_12, rounding_relative

if TYPE_CHECKING:
    from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty

DOMINATES = 0.5  # of the variance


@dataclass(frozen=True, kw_only=True)
class HiddenByDisplay:
    """``rows`` of readings whose displays hide more than all else that is uncertain in them, ascending.

    ``worst_row`` is that where they may hide most: ``worst_pct`` of output over level, half a step to either side.
    ``repeats`` says that repeat readings differ by no more than the displays round.
    """

    rows: tuple[int, ...]
    worst_row: int | None
    worst_pct: float
    repeats: bool


def hidden_by_display(uncertainty: ReadingUncertainty) -> HiddenByDisplay | None:
    """Return what the displays hide of the used readings; None where it does not matter."""
    readings = uncertainty.readings
    chosen = np.flatnonzero(readings.used & (readings.x > 0.0) & (readings.y != 0.0))
    rounding = 100.0 * rounding_relative(readings)[chosen]
    if not chosen.size or not (rounding.any() or uncertainty.repeats.hidden):
        return None
    u_x, u_y = uncertainty.u_x[chosen] / readings.x[chosen], uncertainty.u_y[chosen] / np.abs(readings.y[chosen])
    hertz = {float(f) for f in readings.frequency_hz[chosen]}
    shared = {f: uncertainty.u_common_pct(f) ** 2 + uncertainty.u_frequency_pct(f) ** 2 for f in hertz}
    total = 1e4 * (u_x**2 + u_y**2) + np.array([shared[float(f)] for f in readings.frequency_hz[chosen]])
    ruled = chosen[rounding**2 > DOMINATES * total]
    if not ruled.size and not uncertainty.repeats.hidden:
        return None
    half = {int(i): float(u) * ROOT_12 / 2.0 for i, u in zip(chosen, rounding, strict=True)}
    worst = max((int(i) for i in ruled), key=lambda i: half[i], default=None)
    return HiddenByDisplay(
        rows=tuple(sorted(readings.readings[i].row for i in ruled)),
        worst_row=None if worst is None else readings.readings[worst].row,
        worst_pct=0.0 if worst is None else half[worst],
        repeats=uncertainty.repeats.hidden,
    )
