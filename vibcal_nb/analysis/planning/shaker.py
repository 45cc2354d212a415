"""What a shaker reaches with what it carries: the least of its stroke, velocity, force and tilting-moment limits.

At frequency f, with w = 2 pi f: the stroke limit allows a = w^2 d/2 (d peak to peak), the velocity limit
a = w v, the force limit a = F/(armature + moving mass), all peak values. Where force rules, the velocity falls
as 1/f. The axis is taken to be vertical: the payload lets a suspension of stiffness c sag by m g/c, which takes
twice that from the stroke, and its centre beside the axis by r tilts the table with m r (g + a).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.problems import Refused
from vibcal_nb.units import Unit, convert, parse_unit

LIMITS = ("stroke", "velocity", "force", "tilting moment")
HEAVY_PAYLOAD = 1.0  # times the armature's mass; judgement: from there a tilt of the payload drags the armature along
NOTICEABLE_SAG = 0.05  # of the stroke, from where it is told
_ACCELERATION = parse_unit("m/s2 pk")
_G_N = 9.80665  # m/s2


class ShakerError(Refused, ValueError):
    """A shaker of which no reach can be stated; the text is one sentence saying what to do."""


@dataclass(frozen=True, kw_only=True, eq=False)
class ShakerReach:
    """The highest level at each frequency; arrays of shape (n,).

    ``acceleration`` in m/s2 pk, 0 outside the shaker's frequency range; ``limited_by`` says by what: one of ``LIMITS``
    or ``frequency range``. ``cautions`` are sentences on payload, sag and overhang.
    """

    shaker: Shaker
    moving_mass_kg: float
    frequency_hz: FloatArray
    acceleration: FloatArray
    limited_by: tuple[str, ...]
    cautions: tuple[str, ...]

    def level(self, unit: Unit) -> FloatArray:
        """Return the highest level in ``unit``, shape (n,). Raises ``UnitError`` where it is no vibration."""
        return frozen(convert(self.acceleration, _ACCELERATION, unit, frequency_hz=self.frequency_hz))


def find_reach(
    shaker: Shaker, *, frequency_hz: ArrayLike, moving_mass_kg: float, overhang_mm: float = 0.0
) -> ShakerReach:
    """Find what ``shaker`` reaches at frequencies (n,) in Hz with ``moving_mass_kg`` fastened to it.

    The moving mass is sensor, mounting block and the part of the cable that moves. ``overhang_mm`` is how far the
    payload's centre of gravity lies beside the shaker's axis. Raises ``ShakerError`` where the shaker
    states no limit that gives a reach, or the mass is negative.
    """
    f = np.atleast_1d(np.asarray(frequency_hz, dtype=np.float64))
    if not (np.isfinite(f).all() and (f > 0.0).all()):
        raise ShakerError("A frequency is not above 0 Hz; give frequencies in Hz.")
    if not (math.isfinite(moving_mass_kg) and moving_mass_kg >= 0.0):
        raise ShakerError(f"The moving mass is {moving_mass_kg} kg; give 0 or more.")
    limits = _limits(shaker, 2.0 * math.pi * f, moving_mass_kg, overhang_mm)
    least = np.argmin(limits, axis=0)
    acceleration = limits[least, np.arange(f.size)]
    inside = (f >= (shaker.from_hz or 0.0)) & (f <= (shaker.to_hz or math.inf))
    return ShakerReach(
        shaker=shaker,
        moving_mass_kg=moving_mass_kg,
        frequency_hz=frozen(f),
        acceleration=frozen(np.where(inside, acceleration, 0.0)),
        limited_by=tuple(LIMITS[i] if ok else "frequency range" for i, ok in zip(least, inside, strict=True)),
        cautions=tuple(_cautions(shaker, moving_mass_kg, overhang_mm)),
    )


def static_sag_mm(shaker: Shaker, moving_mass_kg: float) -> float | None:
    """Return how far a payload lets the armature sag, in mm; None where nobody states the suspension."""
    stiffness = shaker.suspension_n_per_mm
    return None if stiffness is None else moving_mass_kg * _G_N / stiffness


def _limits(shaker: Shaker, angular: FloatArray, moving_mass_kg: float, overhang_mm: float) -> FloatArray:
    """Acceleration in m/s2 pk that each of ``LIMITS`` allows, shape (4, n); infinite where not stated."""
    limits = np.full((len(LIMITS), angular.size), math.inf)
    if shaker.stroke_mm_pkpk is not None:
        sag = static_sag_mm(shaker, moving_mass_kg) or 0.0
        limits[0] = angular**2 * max(shaker.stroke_mm_pkpk - 2.0 * sag, 0.0) / 2000.0
    if shaker.velocity_mm_s_pk is not None:
        limits[1] = angular * shaker.velocity_mm_s_pk / 1000.0
    if shaker.force_n is not None:
        mass = (shaker.armature_kg or 0.0) + moving_mass_kg
        if mass <= 0.0:
            raise ShakerError(f"Shaker {shaker.id} has a force limit but no mass to move; give armature_kg.")
        limits[2] = shaker.force_n / mass
    arm = moving_mass_kg * overhang_mm / 1000.0
    if shaker.moment_nm is not None and arm > 0.0:
        limits[3] = max(shaker.moment_nm / arm - _G_N, 0.0)
    if np.isinf(limits).all():
        raise ShakerError(
            f"Shaker {shaker.id} states no limit; give stroke_mm_pkpk, velocity_mm_s_pk or force_n in equipment.toml."
        )
    return limits


def _cautions(shaker: Shaker, moving_mass_kg: float, overhang_mm: float) -> list[str]:
    """Cautions of the trade (common practice, no source)."""
    said = []
    if shaker.payload_kg is not None and moving_mass_kg > shaker.payload_kg:
        said.append(
            f"The moving mass of {moving_mass_kg:g} kg is above the {shaker.payload_kg:g} kg that shaker {shaker.id} "
            "may carry: do not mount it"
        )
    heavy = shaker.armature_kg is not None and moving_mass_kg > HEAVY_PAYLOAD * shaker.armature_kg
    said += _on_sag(shaker, moving_mass_kg, heavy=heavy)
    if overhang_mm > 0.0 and moving_mass_kg > 0.0:
        said.append(_on_overhang(shaker, moving_mass_kg, overhang_mm))
    elif heavy:
        said.append(
            f"The payload is {moving_mass_kg / (shaker.armature_kg or 1.0):.1f} times as heavy as the armature: mount "
            "it without overhang, balance the cable around the sensor and support it, or expect transverse motion"
        )
    return said


def _on_sag(shaker: Shaker, moving_mass_kg: float, *, heavy: bool) -> list[str]:
    sag = static_sag_mm(shaker, moving_mass_kg)
    if sag is None:
        unknown = (
            f"How far {moving_mass_kg:g} kg let the armature of shaker {shaker.id} sag is not stated "
            "(suspension_n_per_mm in equipment.toml): twice that is lost of the stroke, unless it is centred again"
        )
        return [unknown] if heavy and shaker.stroke_mm_pkpk is not None else []
    stroke = shaker.stroke_mm_pkpk
    if stroke is None or 2.0 * sag <= NOTICEABLE_SAG * stroke:
        return []
    if 2.0 * sag >= stroke:
        left = f"which leaves nothing of its stroke of {stroke:g} mm"
    else:
        left = f"which leaves {stroke - 2.0 * sag:.2g} of its {stroke:g} mm of stroke"
    return [
        f"The payload lets the armature of shaker {shaker.id} sag by {sag:.2g} mm, {left}: support it elastically from "
        "above, or centre the armature again"
    ]


def _on_overhang(shaker: Shaker, moving_mass_kg: float, overhang_mm: float) -> str:
    arm = moving_mass_kg * overhang_mm / 1000.0  # N m per m/s2
    limit = "" if shaker.moment_nm is None else f", where it bears {shaker.moment_nm:g} N m"
    return (
        f"The payload overhangs the axis by {overhang_mm:g} mm, so that each m/s² tilts the table with {arm:.3g} N m "
        f"and its weight with {arm * _G_N:.2g} N m{limit}: bring its centre of gravity onto the axis, or expect "
        "transverse motion"
    )


def force_for(level: float, unit: Unit, *, frequency_hz: float, shaker: Shaker, moving_mass_kg: float) -> float:
    """Return the peak force in N that ``level`` needs with this shaker's armature. Raises ``UnitError``."""
    acceleration = convert(level, unit, _ACCELERATION, frequency_hz=frequency_hz)
    return acceleration * ((shaker.armature_kg or 0.0) + moving_mass_kg)
