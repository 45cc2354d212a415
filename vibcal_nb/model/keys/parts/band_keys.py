"""The keys of a channel over its band."""

from __future__ import annotations

from vibcal_nb.model.keys.key import Key, KeyTable
from vibcal_nb.model.keys.parts.common import FLAT, REFERENCE_HZ
from vibcal_nb.model.names import FILTERS

LIMIT = KeyTable(
    heading="limits = [{ ... }]",
    says="Allowed response at one frequency.",
    keys=(
        Key(name="hz", type="number", says="The frequency.", required=True, unit="Hz", above=0.0, example="300"),
        Key(
            name="min_pct",
            type="number",
            says="The least response allowed there.",
            required=True,
            unit="% of the reading at reference_hz",
            least=0.0,
            example="85",
        ),
        Key(
            name="max_pct",
            type="number",
            says="The greatest response allowed there.",
            required=True,
            unit="% of the reading at reference_hz",
            above=0.0,
            example="105",
        ),
    ),
)

BAND = KeyTable(
    heading="[channels.TAG.band]",
    says="What the band response should be, relative to the reading at reference_hz.",
    keys=(
        REFERENCE_HZ,
        *FLAT,
        Key(
            name="corner_low_hz",
            type="number",
            says="Where the response should have fallen to half power at the low end.",
            unit="Hz",
            above=0.0,
            example="20",
        ),
        Key(
            name="corner_high_hz",
            type="number",
            says="Where the response should have fallen to half power at the high end.",
            unit="Hz",
            above=0.0,
            example="400",
        ),
        Key(
            name="corner_db",
            type="pair of numbers",
            says="The lowest and the highest response allowed at either corner, relative to reference_hz.",
            unit="dB",
            default=(-4.0, -2.0),
            example="[-4.0, -2.0]",
        ),
        Key(
            name="filter",
            type="choice",
            says="The kind of the filters, where it is known: corners are told more closely then.",
            choices=FILTERS,
            example='"butterworth"',
        ),
        Key(
            name="limits",
            type="list of tables",
            says="Limits at single frequencies, beside the flat part and the corners.",
            table=LIMIT,
            example="[{ hz = 300, min_pct = 85, max_pct = 105 }]",
        ),
    ),
)
