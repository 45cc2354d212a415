"""One corner of a band: where the response passes half power."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from vibcal_nb.metrology.uncertainty.coverage import Expanded


@dataclass(frozen=True, kw_only=True)
class Corner:
    """The half-power corner on one side of a band; what is undetermined is None.

    ``hz`` in Hz; ``interval_hz`` is symmetric in ln f, and ``expanded`` is the uncertainty of ln f, a fraction of the
    corner. ``interpolated_hz`` is the same corner without a model. ``order`` is that of the filter. ``why`` says by
    the field's name why it is None.
    """

    hz: float | None = None
    interval_hz: tuple[float, float] | None = None
    expanded: Expanded | None = None
    interpolated_hz: float | None = None
    order: int | None = None
    why: Mapping[str, str] = field(default_factory=dict)
