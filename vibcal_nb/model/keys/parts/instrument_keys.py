"""Keys that references and readouts share."""

from __future__ import annotations

from dataclasses import replace

from vibcal_nb.model.keys.key import LONGEST_NAME, Key
from vibcal_nb.model.names import ELECTRICAL

ID = Key(
    name="id",
    type="text",
    says="The name by which visits refer to this entry; a new certificate is a new entry with its own.",
    required=True,
    longest=LONGEST_NAME,
    example='"REF-1"',
)
_INSTRUMENT = (
    Key(name="serial", type="text", says="The serial number of the instrument.", default="", example='"R-0417"'),
    Key(
        name="calibrated",
        type="date",
        says="The day on which the certificate's calibration was made.",
        required=True,
        example="2026-01-10",
    ),
    Key(
        name="due",
        type="date",
        says="The last day on which the certificate is relied on.",
        required=True,
        example="2027-01-10",
    ),
    Key(
        name="certificate",
        type="text",
        says="The certificate's number and who issued it.",
        example='"26-0113, calibration laboratory"',
    ),
    Key(
        name="display_step",
        type="number",
        says="The smallest step that its display shows; left out, the digits of each decade in the table tell it.",
        unit="display_unit",
        above=0.0,
        example="0.01",
    ),
    Key(
        name="display_unit",
        type="unit",
        says="The unit of display_step, with its detector.",
        choices=("vibration", ELECTRICAL),
        example='"mV rms"',
    ),
)


def instrument(identity: str, kind: str) -> tuple[Key, ...]:
    """Return the keys that references and readouts share; the example is of this identity and kind."""
    what = Key(name="kind", type="text", says="What it is.", default="", example=f'"{kind}"')
    return (replace(ID, example=f'"{identity}"'), what, *_INSTRUMENT)


def drift(usual: str) -> Key:
    """Return the key of a drift, of which ``usual`` is taken where none is stated."""
    return Key(
        name="drift_pct_per_year",
        type="number",
        says=f"How far its sensitivity may move in a year; {usual} is taken where it is left out.",
        unit="% of what is read, a year",
        least=0.0,
        most=100.0,
        example=usual,
    )


K = Key(
    name="k",
    type="number",
    says="The coverage factor that belongs to the expanded uncertainty.",
    required=True,
    least=1.0,
    most=20.0,
    example="2",
)
