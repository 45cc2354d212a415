"""Keys that several parts of a channel share."""

from __future__ import annotations

from vibcal_nb.model.keys.key import Key

REFERENCE_HZ = Key(
    name="reference_hz",
    type="number",
    says="The frequency whose reading all others are related to.",
    required=True,
    unit="Hz",
    above=0.0,
    example="80",
)
FLAT = (
    Key(
        name="flat_hz",
        type="pair of numbers",
        says="The frequencies from and to which the response must be flat; given together with flat_pct.",
        unit="Hz",
        above=0.0,
        example="[40, 250]",
    ),
    Key(
        name="flat_pct",
        type="number",
        says="How far the response may lie from that at reference_hz within flat_hz, to either side.",
        unit="% of the reading at reference_hz",
        above=0.0,
        most=100.0,
        example="5.0",
    ),
)
TOLERANCE_PCT = Key(
    name="tolerance_pct",
    type="number",
    says="How far the sensitivity may lie from nominal, to either side.",
    required=True,
    unit="% of reading",
    above=0.0,
    most=100.0,
    example="5.0",
)
NOMINAL = Key(
    name="nominal_sensitivity",
    type="number",
    says="Output per input, in output_unit per input_unit.",
    required=True,
    unit="output_unit per input_unit",
    above=0.0,
    example="4.0",
)


def unit_key(name: str, says: str, of: str, example: str) -> Key:
    """Return a key of a unit, which a part cannot do without; ``of`` is what it may measure."""
    return Key(name=name, type="unit", says=says, required=True, choices=(of,), example=f'"{example}"')
