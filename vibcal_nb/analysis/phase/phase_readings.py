"""The phases of a test in the quantities of the part under test, with their errors.

Each phase has an error of its own (settling and reading, the display's step), and the reference's: by its certificate,
one part common to all frequencies and one of each frequency's own, as of its magnitude (see ``certificate_error``).
Where a second-order sensor's lead is known, it is taken off, with its own errors.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.phase.known_lead import KnownLead
from vibcal_nb.analysis.readings.chosen_reference import reference_at
from vibcal_nb.analysis.readings.errors.certificate_error import CORRELATION
from vibcal_nb.analysis.readings.grouping import group_close
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors
from vibcal_nb.metrology.sine.phase_line import wrapped
from vibcal_nb.model.case import Case
from vibcal_nb.model.equipment import Reference
from vibcal_nb.model.readings import SAME_FREQUENCY_PCT, Reading
from vibcal_nb.model.reference.reference_curve import phase_at
from vibcal_nb.units import lead_deg

SETTLING_DEG = 0.2
"""Standard uncertainty of settling and reading a phase, in degrees, where none was determined. Judgement, no source."""

REFERENCE_DEG = 0.5
"""Half width in degrees of what a reference's phase is unknown by, where no certificate states it. Judgement."""

_ROOT_3, _ROOT_12 = math.sqrt(3.0), math.sqrt(12.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class PhaseReadings:
    """The readings of a test that have a phase, excluded ones too, in table order.

    ``phase_deg`` (n,) is the output's phase against the part's own input quantity, in (-180, 180]; ``own_deg`` (n,) the
    standard uncertainty that is each phase's own; ``references`` (n,) what each level is known by; ``used`` (n,).
    """

    readings: tuple[Reading, ...]
    frequency_hz: FloatArray
    phase_deg: FloatArray
    own_deg: FloatArray
    references: tuple[Reference | None, ...]
    used: NDArray[np.bool_]
    lead: KnownLead | None = None

    @cached_property
    def lead_deg(self) -> FloatArray:
        """The known lead in degrees (n,); 0 where none is known."""
        return np.zeros(len(self)) if self.lead is None else self.lead.at(self.frequency_hz)

    def __len__(self) -> int:
        return len(self.readings)

    @cached_property
    def errors(self) -> CorrelatedErrors:
        """The errors of the phases less the lead, in degrees; those of the references and of the lead are shared."""
        columns = [column for reference in dict.fromkeys(self.references) for column in self._shared(reference)]
        columns += [] if self.lead is None else self.lead.errors(self.frequency_hz)
        return CorrelatedErrors(own=self.own_deg, shared=frozen(np.array(columns).T))

    def _shared(self, reference: Reference | None) -> list[FloatArray]:
        """What a reference does to each phase: by an error common to all its frequencies, and by each frequency's."""
        known = CORRELATION if reference is None or reference.correlation is None else reference.correlation
        by_it = np.array([item == reference for item in self.references])
        size = by_it * self._reference_deg
        groups = group_close(self.frequency_hz, within_pct=SAME_FREQUENCY_PCT)
        alone = [np.where(np.isin(np.arange(len(self)), group), size, 0.0) for group in groups]
        own = [math.sqrt(1.0 - known) * column for column in alone if column.any()]
        return [math.sqrt(known) * size, *own]

    @cached_property
    def _reference_deg(self) -> FloatArray:
        """Standard uncertainty of each reference's phase in degrees (n,): by its certificate where that states one."""
        pairs = zip(self.references, self.frequency_hz, strict=True)
        known = (_certified(reference, float(hz)) for reference, hz in pairs)
        stated = (None if found is None else found[1] for found in known)
        return np.array([REFERENCE_DEG / _ROOT_3 if u is None else u for u in stated])


def phase_readings(case: Case, *, lead: KnownLead | None = None) -> PhaseReadings:
    """Return the phases of a case, see ``PhaseReadings``; of no length where none was read."""
    held = [(reading, reading.phase_deg) for reading in case.readings if reading.phase_deg is not None]
    readings = tuple(reading for reading, _ in held)
    references = tuple(_reference_of(case, reading) for reading in readings)
    return PhaseReadings(
        readings=readings,
        frequency_hz=frozen(np.array([reading.frequency_hz for reading in readings])),
        phase_deg=frozen(np.array([_phase(r, deg, by, case) for (r, deg), by in zip(held, references, strict=True)])),
        own_deg=frozen(np.array([_own_deg(reading) for reading in readings])),
        references=references,
        used=np.array([reading.exclude is None for reading in readings], dtype=bool),
        lead=lead,
    )


def _reference_of(case: Case, reading: Reading) -> Reference | None:
    found = reference_at(case.references, case.readings, reading.frequency_hz)
    return None if found is None else found.reference


def _certified(reference: Reference | None, frequency_hz: float) -> tuple[float, float | None] | None:
    if reference is None or reference.sensitivity is None:
        return None
    return phase_at(reference.sensitivity, frequency_hz)


def _phase(reading: Reading, deg: float, reference: Reference | None, case: Case) -> float:
    """Against the level in the part's own quantity: a phase against a reference's output has its phase added."""
    known = None if reading.reference_output is None else _certified(reference, reading.frequency_hz)
    return wrapped(deg + (0.0 if known is None else known[0]) - lead_deg(reading.applied_unit, case.input_unit))


def _own_deg(reading: Reading) -> float:
    settling = SETTLING_DEG if reading.phase_u_deg is None else reading.phase_u_deg
    step = 0.0 if reading.phase_decimals is None else 10.0**-reading.phase_decimals
    return max(math.hypot(settling, step / _ROOT_12), 1e-6)
