"""The reading table: every reading of a visit, checked against what the asset's channels should be."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.model.relay.check_rows import CheckRow
from vibcal_nb.units import Unit

SAME_LEVEL_PCT = 3.0
"""Levels within so much of each other are one level: a portable shaker settles near a target. Judgement, no source."""

SAME_FREQUENCY_PCT = 1.0
"""Frequencies within so much of each other are one frequency. Judgement, no source."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """One reading: the level applied and what came out, as they were written down.

    ``row`` counts as a spreadsheet does. ``frequency_hz`` is 0 where nothing vibrates (``names.STATIC_TESTS``).
    ``applied_decimals`` and ``output_decimals`` are the digits after the decimal mark as typed (less the power of ten,
    where one was typed), so that the resolution is 10**-decimals; None where the file does not tell. ``exclude`` is the
    reason why it is not used. ``u_pct`` is
    the standard uncertainty of output over applied in %, of what is this reading's own, where it was
    determined with the reading (from sampled signals); None where it was not. ``thd_pct`` is the total harmonic
    distortion of the level in % of its fundamental, ``harmonics_pct`` the sum of its harmonics' amplitudes in the same;
    None where they were not measured. ``phase_deg`` is the phase of the output against the level as applied, in
    degrees, negative where the output lags; ``phase_decimals`` the digits that it was typed with, ``phase_u_deg`` its
    own standard uncertainty where that was determined with it; None where there is none.
    ``temperature_c`` is the sensor's own temperature, None where it was that of the room.
    ``reference`` is the id of the reference that the row names. Where ``applied`` was written down as that reference's
    own output, this stands in ``reference_output`` in ``reference_output_unit``, with its digits, and ``applied`` is
    the level by its certificate.
    """

    row: int
    channel: str
    test: str
    condition: str
    frequency_hz: float
    applied: float
    applied_unit: Unit
    applied_decimals: int | None = None
    output: float
    output_unit: Unit
    output_decimals: int | None = None
    direction: str | None = None
    repeat: int | None = None
    exclude: str | None = None
    note: str | None = None
    u_pct: float | None = None
    thd_pct: float | None = None
    harmonics_pct: float | None = None
    phase_deg: float | None = None
    phase_decimals: int | None = None
    phase_u_deg: float | None = None
    temperature_c: float | None = None
    reference: str | None = None
    reference_output: float | None = None
    reference_output_unit: Unit | None = None
    reference_output_decimals: int | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class PendingRow:
    """A planned row without an output: not yet a reading. ``exclude`` is the reason why it never will be.

    ``level`` in ``applied_unit`` is what was applied or, where nothing was, what was planned; None where neither stands
    there.
    """

    row: int
    channel: str
    test: str
    condition: str
    exclude: str | None = None
    frequency_hz: float | None = None
    level: float | None = None
    applied_unit: Unit | None = None
    direction: str | None = None
    repeat: int | None = None


@dataclass(frozen=True, kw_only=True)
class ReadingTable:
    """All readings of one file, excluded ones too, in the order of the file.

    ``checks`` are the rows that hold something else than an output. ``pending`` holds the rows that were not
    read. A visit's table without readings and checks is ``planned``.
    """

    readings: tuple[Reading, ...]
    file: str
    pending: tuple[PendingRow, ...] = ()
    checks: tuple[CheckRow, ...] = ()

    @property
    def rows(self) -> tuple[Reading | CheckRow, ...]:
        """All that was read, of either kind."""
        return (*self.readings, *self.checks)

    @property
    def open(self) -> tuple[PendingRow, ...]:
        """The rows that are still to be read: no reason stands in them why they never will be."""
        return tuple(row for row in self.pending if row.exclude is None)
