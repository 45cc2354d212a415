"""The keys of a channel: what it should do as a whole, over its band, and part by part."""

from __future__ import annotations

from dataclasses import replace

from vibcal_nb.metrology.straight_line.nonlinearity import NONLINEARITY_KINDS
from vibcal_nb.model.keys.item_keys import ITEMS
from vibcal_nb.model.keys.key import LONGEST_NAME, Key, KeyTable
from vibcal_nb.model.keys.relay_keys import ELECTRICAL_TABLE, INDICATION_KEY, SET_POINTS_KEY
from vibcal_nb.model.keys.response_keys import HOT, PHASE, SENSOR_PHASE
from vibcal_nb.model.keys.tolerance_keys import tolerance_table
from vibcal_nb.model.names import ELECTRICAL, FILTERS

FORMERLY = Key(
    name="formerly",
    type="list of texts",
    says="Older tags of the same: earlier reading tables, the register and the overview follow.",
    of="older tags",
    default=(),
    single=True,
    example='"OLD-TAG"',
)
RETIRED = Key(
    name="retired",
    type="date",
    says="The first day on which it is no longer in service; earlier visits stay as they are.",
    example="2026-04-01",
)

_REFERENCE_HZ = Key(
    name="reference_hz",
    type="number",
    says="The frequency whose reading all others are related to.",
    required=True,
    unit="Hz",
    above=0.0,
    example="80",
)
_FLAT = (
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
_TOLERANCE_PCT = Key(
    name="tolerance_pct",
    type="number",
    says="How far the sensitivity may lie from nominal, to either side.",
    required=True,
    unit="% of reading",
    above=0.0,
    most=100.0,
    example="5.0",
)
TOLERANCE = tolerance_table("tolerance = { ... }", "input_unit")

ZERO = KeyTable(
    heading="zero = { ... }",
    says="How far a dc output may lie from output_zero at no vibration.",
    keys=(
        Key(
            name="tolerance_span_pct",
            type="number",
            says="The limit to either side; judged by the reading at no level, without one by the line's intercept.",
            required=True,
            unit="% of span",
            above=0.0,
            most=100.0,
            example="0.5",
        ),
    ),
)

_NOMINAL = Key(
    name="nominal_sensitivity",
    type="number",
    says="Output per input, in output_unit per input_unit.",
    required=True,
    unit="output_unit per input_unit",
    above=0.0,
    example="4.0",
)


def _unit(name: str, says: str, of: str, example: str) -> Key:
    return Key(name=name, type="unit", says=says, required=True, choices=(of,), example=f'"{example}"')


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
        _REFERENCE_HZ,
        *_FLAT,
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

SENSOR = KeyTable(
    heading="[channels.TAG.sensor]",
    says="What the sensor alone should do.",
    keys=(
        _unit("input_unit", "Unit of the level that the sensor is driven with.", "vibration", "m/s2 pk"),
        _unit("output_unit", "Unit of what the sensor gives.", ELECTRICAL, "pC pk"),
        _NOMINAL,
        _TOLERANCE_PCT,
        _REFERENCE_HZ,
        *_FLAT,
        Key(
            name="natural_frequency_hz",
            type="pair of numbers",
            says="The lowest and the highest natural frequency allowed, of a second-order sensor (a moving coil).",
            unit="Hz",
            above=0.0,
            example="[9.0, 11.0]",
        ),
        Key(
            name="damping_ratio",
            type="pair of numbers",
            says="The lowest and the highest damping ratio allowed, of a second-order sensor.",
            unit="of critical damping",
            above=0.0,
            example="[0.6, 0.8]",
        ),
        Key(name="phase", type="table", says="What its phase should be.", table=SENSOR_PHASE),
        Key(
            name="hot",
            type="list of tables",
            says="How its sensitivity may change with temperature: read by rows that have temperature_c.",
            table=HOT,
            example="[{ c = 400, min_pct = -5, max_pct = 10 }]",
        ),
    ),
)

MODULE = KeyTable(
    heading="[channels.TAG.module]",
    says="What follows the sensor, converter and monitor up to the output that is read, should do by itself, with a "
    "signal injected in the sensor's place.",
    keys=(
        _unit("input_unit", "Unit of the signal that is injected.", ELECTRICAL, "pC pk"),
        _unit("output_unit", "Unit of what is read at the output.", ELECTRICAL, "mV pk"),
        _NOMINAL,
        _TOLERANCE_PCT,
        Key(
            name="reference_hz",
            type="number",
            says="Where nominal_sensitivity holds; needed where one vibration quantity becomes another.",
            unit="Hz",
            above=0.0,
            example="80",
        ),
    ),
)

_OF_GAPS = "input_unit"

GAP_CURVE_KEYS = KeyTable(
    heading="[channels.TAG.gap_curve]",
    says="What an eddy-current probe should give against the gap before a target at rest.",
    keys=(
        _unit("input_unit", "Unit of the gap, without a detector.", "gap", "mm"),
        _unit("output_unit", "Unit of the voltage at a gap.", ELECTRICAL, "V dc"),
        Key(
            name="nominal_sensitivity",
            type="number",
            says="Voltage over gap with its sign: negative where the voltage falls as the gap grows.",
            required=True,
            unit="output_unit per input_unit",
            example="-7.87",
        ),
        Key(
            name="range",
            type="pair of numbers",
            says="The gaps from and to which the limits hold; left out, they hold wherever it was read.",
            unit=_OF_GAPS,
            least=0.0,
            example="[0.25, 2.25]",
        ),
        Key(
            name="step",
            type="number",
            says="The change of gap that an increment is taken over; left out, from each reading to the next.",
            unit=_OF_GAPS,
            above=0.0,
            example="0.25",
        ),
        Key(
            name="incremental_pct",
            type="number",
            says="How far the sensitivity of each increment may lie from nominal, to either side.",
            unit="% of nominal_sensitivity",
            above=0.0,
            most=100.0,
            example="5.0",
        ),
        Key(
            name="deviation_um",
            type="number",
            says="How far the readings may lie from the best straight line of the nominal slope, to either side.",
            unit="um",
            above=0.0,
            example="25.4",
        ),
        Key(
            name="rest_gap",
            type="number",
            says="The gap at which the probe stands when the machine is at rest; it must lie in the linear range.",
            unit=_OF_GAPS,
            above=0.0,
            example="1.25",
        ),
        Key(
            name="rest_voltage",
            type="pair of numbers",
            says="The lowest and the highest voltage allowed at rest_gap.",
            unit="output_unit",
            example="[-12.0, -8.0]",
        ),
        Key(
            name="target",
            type="text",
            says="The material of the target, which changes the slope.",
            default="",
            example='"42CrMo4, flat"',
        ),
    ),
)

_LIMITS = KeyTable(
    heading="[channels.TAG]",
    says="What a channel, from sensor to output, should do.",
    keys=(
        Key(
            name="location",
            type="text",
            says="Where the sensor sits.",
            default="",
            example='"Turbine front bearing, vertical"',
        ),
        Key(
            name="rotors",
            type="list of texts",
            says="The rotors of [rotors] whose vibration the channel watches.",
            of="names from [rotors]",
            default=(),
            example='["turbine"]',
        ),
        _unit("input_unit", "Unit of the level; alert, trip and full_scale are in it.", "vibration", "mm/s pk"),
        _unit("output_unit", "Unit of what the channel puts out.", ELECTRICAL, "mV pk"),
        _NOMINAL,
        Key(
            name="output_zero",
            type="number",
            says="The live zero: the output at no vibration.",
            unit="output_unit",
            default=0.0,
            example="4.0",
        ),
        Key(
            name="zero",
            type="table",
            says="How far a dc output may lie from output_zero at no vibration.",
            table=ZERO,
            example="{ tolerance_span_pct = 0.5 }",
        ),
        replace(
            _TOLERANCE_PCT,
            says="How far the indication may lie from the true level; short for tolerance = { reading_pct = ... }.",
            instead_of="tolerance",
        ),
        Key(
            name="tolerance",
            type="table",
            says="How far the indication may lie from the true level, in other forms than tolerance_pct.",
            required=True,
            table=TOLERANCE,
            whole=True,
            instead_of="tolerance_pct",
            example="{ span_pct = 1.0 }",
        ),
        Key(
            name="nonlinearity_pct",
            type="number",
            says="How far the readings at one frequency may lie from their straight line.",
            unit="% of the span that was read",
            above=0.0,
            most=100.0,
            example="2.0",
        ),
        Key(
            name="nonlinearity_kind",
            type="choice",
            says="Which straight line nonlinearity_pct is counted from (ANSI/ISA-51.1).",
            choices=NONLINEARITY_KINDS,
            default="independent",
            example='"independent"',
        ),
        Key(name="alert", type="number", says="Level of the alert.", unit="input_unit", above=0.0, example="11.0"),
        Key(name="trip", type="number", says="Level of the trip.", unit="input_unit", above=0.0, example="18.0"),
        Key(
            name="full_scale",
            type="number",
            says="Level at the top of the range; percentages of span are of this level.",
            unit="input_unit",
            above=0.0,
            example="25.0",
        ),
        Key(
            name="moving_mass_kg",
            type="number",
            says="What a shaker carries: sensor, mounting block and the part of the cable that moves.",
            unit="kg",
            least=0.0,
            most=1000.0,
            example="4.7",
        ),
        Key(
            name="overhang_mm",
            type="number",
            says="How far the centre of what the shaker carries lies beside its axis; left out, it counts as none.",
            unit="mm",
            least=0.0,
            most=1000.0,
            example="3",
        ),
        Key(
            name="transverse_pct",
            type="number",
            says="The sensor's transverse sensitivity; 3 is taken where it is left out.",
            unit="% of the sensitivity along its axis",
            least=0.0,
            most=100.0,
            example="3",
        ),
        Key(name="band", type="table", says="What the band response should be.", table=BAND),
        Key(name="sensor", type="table", says="What the sensor alone should do.", table=SENSOR),
        Key(name="module", type="table", says="What follows the sensor should do by itself.", table=MODULE),
        INDICATION_KEY,
        SET_POINTS_KEY,
        Key(
            name=ELECTRICAL,
            type="tables by name",
            says="What may be read at rest, each item under its name.",
            table=ELECTRICAL_TABLE,
            named="ITEM",
        ),
        Key(name="gap_curve", type="table", says="What an eddy-current probe should give.", table=GAP_CURVE_KEYS),
        Key(name="phase", type="table", says="What the phase of the output should be.", table=PHASE),
    ),
)

RESTATED = _LIMITS.without(
    heading="[channels.TAG.from.DATE]",
    says="What holds from a date on: any key of a channel; what is not restated holds on.",
)

_FROM = Key(
    name="from",
    type="tables by name",
    says="What was restated from a date on; a visit is judged by what held on its day.",
    table=RESTATED,
    named="DATE",
)

KIND = KeyTable(
    heading="[NAME] in kinds.toml, [kinds.NAME] in asset.toml",
    says="What several channels share: any key of a channel, which a channel of this kind may override.",
    keys=(*RESTATED.keys, _FROM),
)

CHANNEL = KeyTable(
    heading=_LIMITS.heading,
    says=_LIMITS.says,
    keys=(
        Key(
            name="kind",
            type="text",
            says="The kind whose keys hold where the channel states none: a table of kinds.toml or of [kinds].",
            longest=LONGEST_NAME,
            example='"casing-velocity"',
        ),
        *_LIMITS.keys,
        Key(name="items", type="table", says="What is installed, and since when.", table=ITEMS),
        _FROM,
        FORMERLY,
        RETIRED,
    ),
)
