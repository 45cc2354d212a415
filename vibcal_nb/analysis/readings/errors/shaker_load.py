"""What the shaker and what it carries do to mounting and transverse motion.

Transverse motion: a sensor answers to motion across its axis by its transverse sensitivity, so that the two multiply.
The motion grows where the centre of the payload hangs beside the axis: the force turns armature and payload about their
common centre. Mounting: the heavier the payload for its shaker, the less do reference and sensor move alike. That these
matter is common practice, no source; their sizes, and the arm below, are judgement, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vibcal_nb.model.case import Case
from vibcal_nb.model.equipment import Shaker

MOUNTING_PCT = 0.2
CROSS_MOTION_PCT = 10.0
TRANSVERSE_SENSITIVITY_PCT = 3.0
TURNING_ARM_MM = 30.0  # height of the sensor over the squared radius of gyration, as a length
JUDGEMENT = "judgement, no source"
DEFAULT = "default: judgement, no source"


@dataclass(frozen=True, kw_only=True)
class ShakerLoad:
    """A shaker with what it carries: ``mounting_pct`` and ``transverse_pct`` are half-widths in % of the level."""

    mounting_pct: float
    mounting_source: str
    transverse_pct: float
    transverse_source: str


USUAL_LOAD = ShakerLoad(
    mounting_pct=MOUNTING_PCT,
    mounting_source=JUDGEMENT,
    transverse_pct=CROSS_MOTION_PCT * TRANSVERSE_SENSITIVITY_PCT / 100.0,
    transverse_source=JUDGEMENT,
)


def shaker_load(case: Case) -> ShakerLoad:
    """Return what the visit's shaker and the channel's moving mass give; the usual sizes where nothing is stated.

    Of several shakers that a visit names the one that gives more counts, as no reading says which it was.
    """
    if not case.shakers and case.channel.transverse_pct is None:
        return USUAL_LOAD
    mounting, load = max((_mounting(case, shaker) for shaker in _shakers(case)), key=lambda found: found[0])
    cross, motion = max((_cross_motion(case, shaker) for shaker in _shakers(case)), key=lambda found: found[0])
    sensitivity = case.channel.transverse_pct
    own = TRANSVERSE_SENSITIVITY_PCT if sensitivity is None else sensitivity
    whose = DEFAULT if sensitivity is None else "asset.toml"
    return ShakerLoad(
        mounting_pct=mounting,
        mounting_source=load,
        transverse_pct=cross * own / 100.0,
        transverse_source=f"{motion}, of which a sensor's transverse sensitivity takes {own:g} % ({whose})",
    )


def _shakers(case: Case) -> Sequence[Shaker | None]:
    return case.shakers or (None,)


def _mounting(case: Case, shaker: Shaker | None) -> tuple[float, str]:
    mass = case.channel.moving_mass_kg
    if shaker is None or mass is None or shaker.payload_kg is None:
        return MOUNTING_PCT, JUDGEMENT
    share = mass / shaker.payload_kg
    load = f"{mass:g} kg of {shaker.payload_kg:g} kg payload of {shaker.id}"
    return MOUNTING_PCT * (1.0 + share), f"{MOUNTING_PCT:g} %, twice that at full payload: {load} ({JUDGEMENT})"


def _cross_motion(case: Case, shaker: Shaker | None) -> tuple[float, str]:
    stated = None if shaker is None else shaker.cross_motion_pct
    own = CROSS_MOTION_PCT if stated is None else stated
    said = f"{own:g} % cross motion ({DEFAULT})" if stated is None else f"{own:g} % cross motion (equipment.toml)"
    beside, mass = case.channel.overhang_mm, case.channel.moving_mass_kg
    if shaker is None or beside is None or mass is None:
        return own, said
    share = mass / (mass + (shaker.armature_kg or 0.0))
    turning = 100.0 * share * beside / TURNING_ARM_MM
    return own + turning, f"{said} and {turning:.2g} % of a centre {beside:g} mm beside the axis ({DEFAULT})"
