"""A quantity that readings determine, or the reason why they do not."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.metrology.uncertainty.coverage import Expanded


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """A value with its interval and its uncertainty; all None where it is undetermined, and ``why`` says why.

    ``expanded`` is in the unit of the value, or relative where whoever states it says so.
    """

    value: float | None = None
    interval: tuple[float, float] | None = None
    expanded: Expanded | None = None
    why: str | None = None
