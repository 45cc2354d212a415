"""The keys of equipment.toml."""

from __future__ import annotations

from dataclasses import replace

from vibcal_nb.model.keys.key import LONGEST_NAME, Key, KeyTable
from vibcal_nb.model.names import ELECTRICAL

REFERENCE_QUANTITIES = ("vibration", "charge", "voltage", "displacement")

_ID = Key(
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


def _instrument(identity: str, kind: str) -> tuple[Key, ...]:
    what = Key(name="kind", type="text", says="What it is.", default="", example=f'"{kind}"')
    return (replace(_ID, example=f'"{identity}"'), what, *_INSTRUMENT)


def _drift(usual: str) -> Key:
    return Key(
        name="drift_pct_per_year",
        type="number",
        says=f"How far its sensitivity may move in a year; {usual} is taken where it is left out.",
        unit="% of what is read, a year",
        least=0.0,
        most=100.0,
        example=usual,
    )


_K = Key(
    name="k",
    type="number",
    says="The coverage factor that belongs to the expanded uncertainty.",
    required=True,
    least=1.0,
    most=20.0,
    example="2",
)

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
        _K,
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
        _K,
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
        *_instrument("REF-1", "reference accelerometer"),
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
        _drift("0.2"),
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
        replace(_K, says="The coverage factor that belongs to expanded_um.", required=False),
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

READOUT = KeyTable(
    heading="[[readout]]",
    says="What the channel's output is read with: one entry a certificate.",
    keys=(
        *_instrument("DVM-1", "voltmeter"),
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
        _K,
        _drift("0.1"),
    ),
)


def _limit(name: str, says: str, unit: str, example: str) -> Key:
    return Key(name=name, type="number", says=says, unit=unit, above=0.0, example=example)


SHAKER = KeyTable(
    heading="[[shaker]]",
    says="What a shaker reaches, for planning, and how clean its motion is; what does not apply is left out.",
    keys=(
        replace(_ID, example='"SHK-1"'),
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
