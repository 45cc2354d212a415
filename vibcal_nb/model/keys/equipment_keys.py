"""The keys of equipment.toml."""

from __future__ import annotations

from dataclasses import replace

from vibcal_nb.model.keys.key import Key, KeyTable
from vibcal_nb.model.keys.parts.instrument_keys import ID, K, drift, instrument
from vibcal_nb.model.keys.parts.reference_keys import REFERENCE
from vibcal_nb.model.names import ELECTRICAL

READOUT = KeyTable(
    heading="[[readout]]",
    says="What the channel's output is read with: one entry a certificate.",
    keys=(
        *instrument("DVM-1", "voltmeter"),
        Key(
            name="expanded_pct",
            type="number",
            says="The expanded uncertainty of what it reads, the part in proportion to the reading.",
            required=True,
            unit="% of the reading",
            above=0.0,
            most=100.0,
            example="0.2",
        ),
        Key(
            name="expanded_span_pct",
            type="number",
            says="The part of it that is the same over its range, such as that of a meter for 4 to 20 mA.",
            unit="% of span",
            above=0.0,
            most=100.0,
            example="0.02",
        ),
        Key(
            name="span",
            type="number",
            says="The range that expanded_span_pct is of.",
            unit="span_unit",
            above=0.0,
            example="20",
        ),
        Key(
            name="span_unit",
            type="unit",
            says="The unit of span, with its detector.",
            choices=(ELECTRICAL,),
            example='"mA dc"',
        ),
        K,
        drift("0.1"),
    ),
)


def _limit(name: str, says: str, unit: str, example: str) -> Key:
    return Key(name=name, type="number", says=says, unit=unit, above=0.0, example=example)


SHAKER = KeyTable(
    heading="[[shaker]]",
    says="What a shaker reaches, for planning, and how clean its motion is; what does not apply is left out.",
    keys=(
        replace(ID, example='"SHK-1"'),
        _limit("force_n", "The greatest force, peak.", "N pk", "45"),
        _limit("armature_kg", "Mass of the armature that moves with the payload.", "kg", "0.2"),
        _limit("stroke_mm_pkpk", "The greatest stroke, peak to peak.", "mm pkpk", "2.5"),
        _limit("velocity_mm_s_pk", "The greatest velocity, peak.", "mm/s pk", "380"),
        _limit("from_hz", "The lowest frequency.", "Hz", "7"),
        _limit("to_hz", "The highest frequency.", "Hz", "10000"),
        _limit("payload_kg", "The heaviest payload.", "kg", "0.8"),
        _limit("suspension_n_per_mm", "Stiffness of what carries the payload's weight.", "N/mm", "20"),
        _limit("moment_nm", "The greatest tilting moment on the table.", "N m", "0.5"),
        _limit("cross_motion_pct", "Its motion across the axis; 10 is taken.", "% of that along the axis", "10"),
        _limit("thd_pct", "Distortion of its level (THD), where none is measured.", "% of the fundamental", "2"),
    ),
)

EQUIPMENT_FILE = KeyTable(
    heading="equipment.toml",
    says="The references, readouts and shakers of a site.",
    keys=(
        Key(name="reference", type="list of tables", says="What applied levels are known by.", table=REFERENCE),
        Key(name="readout", type="list of tables", says="What outputs are read with.", table=READOUT),
        Key(name="shaker", type="list of tables", says="What levels are made with.", table=SHAKER),
    ),
)
