"""One corner of a band: where the response passes half power."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.metrology.uncertainty.estimate import Estimate

BY_MODEL: Final = "fitted model"
BY_INTERPOLATION: Final = "interpolated"


@dataclass(frozen=True, kw_only=True)
class Corner:
    """The half-power corner on one side of a band; what is undetermined is None.

    ``hz`` in Hz, by its ``source``: `BY_MODEL` re the fitted plateau, `BY_INTERPOLATION` re the reading at the
    reference frequency. ``expanded`` is the uncertainty of ln f, a fraction of the corner; ``interval_hz`` has that
    half-width about the middle of the two things that half power may be meant of, the plateau and the response at the
    reference frequency, and holds either. ``interpolated_hz`` and its interval are the same corner without a model,
    whatever ``hz`` rests on.
    ``order`` is that of the filter, ``damping`` the damping ratio of a second-order one. ``why`` says by the field's
    name why it is None.
    """

    hz: float | None = None
    interval_hz: tuple[float, float] | None = None
    expanded: Expanded | None = None
    source: str | None = None
    interpolated_hz: float | None = None
    interpolated_interval_hz: tuple[float, float] | None = None
    order: int | None = None
    damping: Estimate = field(default_factory=Estimate)
    why: Mapping[str, str] = field(default_factory=dict)
