"""The keys of a reference: what applied levels are known by."""

from __future__ import annotations

from dataclasses import replace

from vibcal_nb.model.keys.key import LONGEST_NAME, Key, KeyTable
from vibcal_nb.model.keys.parts.instrument_keys import K, drift, instrument

REFERENCE_QUANTITIES = ("vibration", "charge", "voltage", "displacement")

REFERENCE_BAND = KeyTable(
    heading="uncertainty = [{ ... }]",
    says="Expanded uncertainty of the reference between two frequencies; ranges do not overlap.",
    keys=(
        Key(name="from_hz", type="number", says="The range's low end.", required=True, unit="Hz", above=0.0),
        Key(name="to_hz", type="number", says="The range's high end.", required=True, unit="Hz", above=0.0),
        Key(
            name="expanded_pct",
            type="number",
            says="The expanded uncertainty of the reference's level.",
            required=True,
            unit="% of the level that is read",
            above=0.0,
            most=100.0,
            example="1.5",
        ),
        K,
    ),
)

SENSITIVITY_POINT = KeyTable(
    heading="table = [{ ... }]",
    says="The sensitivity at one frequency of the certificate; between two of them it is interpolated.",
    keys=(
        Key(name="hz", type="number", says="The frequency.", required=True, unit="Hz", above=0.0, example="160"),
        Key(
            name="value",
            type="number",
            says="The sensitivity there.",
            required=True,
            unit="unit of the table",
            above=0.0,
            example="0.1275",
        ),
        Key(
            name="expanded_pct",
            type="number",
            says="Its expanded uncertainty.",
            required=True,
            unit="% of value",
            above=0.0,
            most=100.0,
            example="0.5",
        ),
        K,
        Key(
            name="phase_deg",
            type="number",
            says="The phase of its output against the level; negative where it lags.",
            unit="degrees",
            least=-36000.0,
            most=36000.0,
            example="-0.1",
        ),
        Key(
            name="phase_expanded_deg",
            type="number",
            says="The expanded uncertainty of the phase, with the same k.",
            unit="degrees",
            above=0.0,
            most=180.0,
            example="0.5",
        ),
    ),
)

REFERENCE_SENSITIVITY = KeyTable(
    heading="[reference.sensitivity]",
    says="What turns the reference's own output into a level, frequency by frequency: its certificate as a table.",
    keys=(
        Key(
            name="unit",
            type="text",
            says="Unit of its output per unit of the level, both without a detector.",
            required=True,
            longest=LONGEST_NAME,
            example='"pC/(m/s2)"',
        ),
        Key(
            name="correlation",
            type="number",
            says="As correlation of the reference, which is left out then.",
            least=0.0,
            most=1.0,
            example="0.5",
        ),
        Key(
            name="table",
            type="list of tables",
            says="The frequencies of the certificate, two or more.",
            required=True,
            table=SENSITIVITY_POINT,
            example="[{ hz = 160, value = 0.1275, expanded_pct = 0.5, k = 2, phase_deg = 0.0 }]",
        ),
    ),
)

REFERENCE = KeyTable(
    heading="[[reference]]",
    says="What the applied level is known by: one entry a certificate.",
    keys=(
        *instrument("REF-1", "reference accelerometer"),
        Key(
            name="quantity",
            type="choice",
            says="What it makes known: vibration on the shaker, charge or voltage that is injected, displacement of a "
            "micrometer.",
            choices=REFERENCE_QUANTITIES,
            default="vibration",
            example='"vibration"',
        ),
        Key(
            name="includes_readout",
            type="true or false",
            says="Whether its certificate covers the input by which it reads the output, too; no readout is needed "
            "then.",
            default=False,
            example="true",
        ),
        Key(
            name="read_by",
            type="text",
            says="The id of the readout that reads the reference's signal: what reads the output, too, has one gain in "
            "both, which cancels.",
            example='"DVM-1"',
        ),
        drift("0.2"),
        Key(
            name="correlation",
            type="number",
            says="How alike the certificate's errors at two frequencies are: 1 is one error; 0.5 where it is left out; "
            "frequencies within an octave may be more alike, and corners are stated by what the readings tell of it.",
            least=0.0,
            most=1.0,
            example="0.5",
        ),
        Key(
            name="uncertainty",
            type="list of tables",
            says="Its expanded uncertainty by frequency; a micrometer has expanded_um in its place.",
            required=True,
            instead_of="expanded_um",
            table=REFERENCE_BAND,
            example="[{ from_hz = 5, to_hz = 10000, expanded_pct = 1.5, k = 2 }]",
        ),
        Key(
            name="expanded_um",
            type="number",
            says="The expanded uncertainty of a gap that a micrometer sets, at any gap; with its k.",
            required=True,
            unit="um",
            above=0.0,
            instead_of="uncertainty",
            example="2.0",
        ),
        replace(K, says="The coverage factor that belongs to expanded_um.", required=False),
        Key(
            name="sensitivity",
            type="table",
            says="What turns its own output into a level; uncertainty may be left out then.",
            table=REFERENCE_SENSITIVITY,
        ),
        Key(
            name="certificate_file",
            type="text",
            says="Its Digital Calibration Certificate (XML), from the site's folder: it gives the uncertainty by "
            "frequency, and one that does not fit this entry is refused.",
            example='"certificates/REF.xml"',
        ),
    ),
)
