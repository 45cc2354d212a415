"""The equipment of a site: references, readouts and shakers, with their certificates' figures."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Final

from vibcal_nb.units import Unit

VIBRATION: Final = "vibration"
DISPLACEMENT: Final = "displacement"


@dataclass(frozen=True, kw_only=True)
class ReferenceBand:
    """Expanded uncertainty of a reference, in % of the level, between two frequencies, with its k."""

    from_hz: float
    to_hz: float
    expanded_pct: float
    k: float


@dataclass(frozen=True, kw_only=True)
class SensitivityPoint:
    """The sensitivity of a reference at one frequency by its certificate: ``expanded_pct`` of ``value``, with its k.

    ``phase_deg`` is that of its output against the level, ``phase_expanded_deg`` its U with the same k; None where they
    are not stated.
    """

    frequency_hz: float
    value: float
    expanded_pct: float
    k: float
    phase_deg: float | None = None
    phase_expanded_deg: float | None = None


@dataclass(frozen=True, kw_only=True)
class ReferenceSensitivity:
    """What a reference gives over frequency: ``points``, ascending, in ``output`` (``pC``) per ``input`` (``m/s2``)."""

    output: str
    input: str
    points: tuple[SensitivityPoint, ...]


@dataclass(frozen=True, kw_only=True)
class Display:
    """The smallest step that an instrument shows, in ``unit``, wherever it is set to one range."""

    step: float
    unit: Unit


@dataclass(frozen=True, kw_only=True)
class Reference:
    """A reference: what the applied level is known by; ``uncertainty`` is sorted by frequency and does not overlap.

    ``quantity`` is what it makes known: ``vibration`` on the shaker, ``charge`` or ``voltage`` where that is
    injected in place of the sensor, ``displacement`` of a micrometer that sets gaps, whose expanded uncertainty is
    ``expanded_um`` with ``k`` at any gap. ``certificate`` is the number of its calibration certificate and who issued
    it.
    ``includes_readout``: its certificate covers the input by which it reads the output, too. ``read_by`` is the id of
    the readout that reads the reference's own signal, None where it shows the level by itself.
    ``certificate_sha256`` is the sum of the certificate's file, None where it was not read from one.
    ``sensitivity`` is what turns its own output into a level; None where it shows levels alone.
    ``correlation`` is that of the certificate's error at one frequency with its error at another, 0 to 1; None where
    nobody stated it. ``display`` is what shows the level; None where the digits as written tell its step.
    """

    id: str
    kind: str
    serial: str
    calibrated: date
    due: date
    uncertainty: tuple[ReferenceBand, ...] = ()
    drift_pct_per_year: float | None = None
    certificate: str | None = None
    quantity: str = VIBRATION
    includes_readout: bool = False
    read_by: str | None = None
    correlation: float | None = None
    display: Display | None = None
    expanded_um: float | None = None
    k: float | None = None
    certificate_sha256: str | None = None
    sensitivity: ReferenceSensitivity | None = None


@dataclass(frozen=True, kw_only=True)
class Offset:
    """Expanded uncertainty that is the same over an instrument's range, in ``unit``."""

    expanded: float
    unit: Unit


@dataclass(frozen=True, kw_only=True)
class Readout:
    """An instrument that reads the channel's output; ``expanded_pct`` of the reading, with its k.

    ``offset`` is what its certificate states in % of span beside it, with the same k; None where it states none.
    ``display`` is what shows the output; None where the digits as written tell its step.
    """

    id: str
    kind: str
    serial: str
    calibrated: date
    due: date
    expanded_pct: float
    k: float
    drift_pct_per_year: float | None = None
    certificate: str | None = None
    display: Display | None = None
    offset: Offset | None = None


@dataclass(frozen=True, kw_only=True)
class Shaker:
    """What a shaker reaches, and how clean its motion is; a limit that does not apply is None.

    ``suspension_n_per_mm`` is the stiffness that carries the payload's weight, ``moment_nm`` the greatest tilting
    moment on the table. ``cross_motion_pct`` is the motion across its axis in % of that along it, ``thd_pct`` the total
    harmonic distortion of its level in % of the fundamental.
    """

    id: str
    force_n: float | None = None
    armature_kg: float | None = None
    stroke_mm_pkpk: float | None = None
    velocity_mm_s_pk: float | None = None
    from_hz: float | None = None
    to_hz: float | None = None
    payload_kg: float | None = None
    suspension_n_per_mm: float | None = None
    moment_nm: float | None = None
    cross_motion_pct: float | None = None
    thd_pct: float | None = None


@dataclass(frozen=True, kw_only=True)
class Equipment:
    """All equipment of a site."""

    references: tuple[Reference, ...] = ()
    readouts: tuple[Readout, ...] = ()
    shakers: tuple[Shaker, ...] = ()

    def used_by(self, ids: Collection[str]) -> tuple[tuple[Reference, ...], tuple[Readout, ...]]:
        """Return the references and the readouts with these ids, in the order of ``equipment.toml``."""
        return (
            tuple(item for item in self.references if item.id in ids),
            tuple(item for item in self.readouts if item.id in ids),
        )
