"""A gate: what keeps a pass from being said."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from vibcal_nb.analysis.readings.grouping import same_frequency

NOT_BACK: Final = "not proved back in service"
NO_REFERENCE: Final = "no reference"
NO_READOUT: Final = "no readout"
RUN_OUT: Final = "certificate had run out"
LATER: Final = "calibrated after the visit"
OUTSIDE: Final = "outside the certificate"
U_SHARE: Final = "uncertainty too large"
LEVELS: Final = "levels too close together"
ROTOR: Final = "rotor not tested"
EXCLUDED: Final = "excluded readings"
NOT_READ: Final = "rows not read"
MODEL: Final = "band model does not hold"

EQUIPMENT_GATES = (NO_REFERENCE, NO_READOUT, RUN_OUT, LATER, OUTSIDE)
"""Those by which what was read is not known at all."""

GATES = (NOT_BACK, *EQUIPMENT_GATES, LEVELS, ROTOR, NOT_READ, U_SHARE, MODEL, EXCLUDED)
"""The names of all gates, in the order in which a record has them."""


@dataclass(frozen=True, kw_only=True)
class Gate:
    """Why a result is not verified: ``gate`` is one of `GATES`; ``found`` and ``remedy`` are clauses without a stop.

    ``frequency_hz`` is the frequency that it is about, None where it is about all.
    """

    gate: str
    found: str
    remedy: str
    frequency_hz: float | None = None

    def concerns(self, frequency_hz: float) -> bool:
        """Whether what was read at a frequency is not verified."""
        return self.frequency_hz is None or same_frequency(frequency_hz, self.frequency_hz)

    @property
    def sentence(self) -> str:
        """What was found and what to do, without a full stop."""
        return f"{self.found}: {self.remedy}"
