"""The columns of the reading table, readings.csv or readings.xlsx: one row a reading, in any order."""

from __future__ import annotations

from vibcal_nb.model.keys.key import Key, KeyTable
from vibcal_nb.model.names import (
    ACTED,
    AS_FOUND,
    CONDITIONS,
    DIRECTIONS,
    ELECTRICAL,
    GAP_CURVE,
    LINEARITY,
    SET_POINT,
    TESTS,
    TRIP,
    VOTING,
)

READING_TABLE = KeyTable(
    heading="readings.csv or readings.xlsx",
    says="Every reading of a visit, one a row; a row without an output is not yet a reading.",
    keys=(
        Key(
            name="channel",
            type="text",
            says="The channel's tag, as in asset.toml.",
            required=True,
            example="STG-1-V11",
        ),
        Key(name="test", type="choice", says="Which test.", required=True, choices=TESTS, example=LINEARITY),
        Key(
            name="condition",
            type="choice",
            says="Before or after anything was adjusted or renewed.",
            required=True,
            choices=CONDITIONS,
            example=AS_FOUND,
        ),
        Key(
            name="frequency_hz",
            type="number",
            says="The frequency, empty of a gap curve; this column or frequency_rpm.",
            required=True,
            unit="Hz",
            above=0.0,
            instead_of="frequency_rpm",
            example="50",
        ),
        Key(
            name="frequency_rpm",
            type="number",
            says="The frequency in cycles a minute; this column or frequency_hz.",
            required=True,
            unit="1/min",
            above=0.0,
            instead_of="frequency_hz",
            example="3000",
        ),
        Key(
            name="applied",
            type="number",
            says="The level as the reference shows it, or the gap; 0 only in a linearity test and of a gap.",
            required=True,
            unit="applied_unit",
            least=0.0,
            example="11.02",
        ),
        Key(
            name="applied_unit",
            type="unit",
            says="The level's unit with its detector, or that of the reference's own output; of module-alone what was "
            "injected; of a gap without a detector.",
            required=True,
            choices=("vibration", ELECTRICAL, "gap"),
            example="mm/s pk",
        ),
        Key(
            name="output",
            type="number",
            says="What came out, as it was read, a live zero included; of indication what the monitor shows.",
            required=True,
            unit="output_unit",
            example="44.15",
        ),
        Key(
            name="output_unit",
            type="unit",
            says="The output's unit with its detector.",
            required=True,
            choices=(ELECTRICAL, "vibration"),
            example="mV pk",
        ),
        Key(
            name="direction",
            type="choice",
            says="Whether the level was reached from below or from above.",
            choices=DIRECTIONS,
            example="rising",
        ),
        Key(
            name="repeat",
            type="whole number",
            says="Which pass over the same levels.",
            least=1,
            most=1_000_000,
            example="1",
        ),
        Key(
            name="exclude",
            type="text",
            says="Why the reading is not used; it stays in the record, struck through.",
            example="cable touched",
        ),
        Key(name="note", type="text", says="A remark."),
        Key(
            name="standard_uncertainty_pct",
            type="number",
            says="The reading's own standard uncertainty, where it was determined with it, as from sampled signals.",
            unit="% of output over applied",
            least=0.0,
            example="0.05",
        ),
        Key(
            name="thd_pct",
            type="number",
            says="Total harmonic distortion of the level, where it was measured, as from sampled signals.",
            unit="% of the fundamental",
            least=0.0,
            example="1.2",
        ),
        Key(
            name="harmonics_pct",
            type="number",
            says="The sum of the amplitudes of the level's harmonics, which a peak detector may see.",
            unit="% of the fundamental",
            least=0.0,
            example="1.6",
        ),
        Key(
            name="phase_deg",
            type="number",
            says="Phase of the output against the level as applied; negative where the output lags.",
            unit="degrees",
            least=-36000.0,
            most=36000.0,
            example="-12.4",
        ),
        Key(
            name="phase_standard_uncertainty_deg",
            type="number",
            says="The phase's own standard uncertainty, where it was determined with it, as from sampled signals.",
            unit="degrees",
            least=0.0,
            most=180.0,
            example="0.05",
        ),
        Key(
            name="temperature_c",
            type="number",
            says="Where the sensor is read alone: the sensor's temperature, where it was heated or cooled.",
            unit="°C",
            least=-273.0,
            most=2000.0,
            example="400",
        ),
        Key(
            name="reference",
            type="text",
            says="The reference that the level is known by, where several may be; applied may be its own output then.",
            example="REF-1",
        ),
        Key(
            name="set_point",
            type="text",
            says="Of set-point: which one, as the channel names it; one row a level held.",
            example=TRIP,
        ),
        Key(
            name="acted",
            type="choice",
            says="Of set-point and voting: whether the relay acted.",
            choices=ACTED,
            example="yes",
        ),
        Key(
            name="delay_s",
            type="number",
            says="Of set-point: from the level being exceeded to the relay.",
            unit="s",
            least=0.0,
            example="1.02",
        ),
        Key(
            name="in_trip",
            type="text",
            says="Of voting: the channels in trip, blank for none; the channel of the row is the group.",
            example="T1 T2",
        ),
        Key(
            name="item",
            type="text",
            says="Of electrical: what was measured at rest.",
            example="bias",
        ),
        Key(
            name="value",
            type="number",
            says="Of electrical: what was read.",
            unit="unit",
            example="10.2",
        ),
        Key(
            name="unit",
            type="text",
            says="Of electrical: V, mV, mA, ohm, kohm, Mohm, Gohm, pF or nF.",
            example="V",
        ),
    ),
)

NEEDED_BY = {
    SET_POINT: ("frequency_hz", "applied", "applied_unit", "set_point", "acted"),
    VOTING: ("in_trip", "acted"),
    ELECTRICAL: ("item", "value", "unit"),
    GAP_CURVE: ("applied", "applied_unit", "output", "output_unit"),
}
"""The columns that rows of these tests need beside channel, test and condition; of all others those marked so."""

NEEDED_BY_ALL = ("channel", "test", "condition")

OF_CHECKS = ("set_point", "acted", "delay_s", "in_trip", "item", "value", "unit")
"""The columns that rows of other tests leave blank."""

USED_BY = {
    SET_POINT: ("set_point", "acted", "delay_s"),
    VOTING: ("in_trip", "acted"),
    ELECTRICAL: ("item", "value", "unit"),
}
"""Of those, the columns that rows of a test may fill."""

SHEET_COLUMNS = KeyTable(
    heading="columns of a prepared sheet",
    says="What a prepared sheet tells the person who fills it in; these columns are read past.",
    keys=(
        Key(name="purpose", type="text", says="What the reading is for."),
        Key(name="planned", type="number", says="The level to set.", unit="applied_unit"),
        Key(name="expected", type="number", says="What a channel exactly right puts out.", unit="output_unit"),
        Key(name="lowest", type="number", says="The least that a good channel puts out.", unit="output_unit"),
        Key(name="highest", type="number", says="The most that a good channel puts out.", unit="output_unit"),
        Key(name="outside", type="text", says="Says so where the output lies outside lowest to highest."),
    ),
)
