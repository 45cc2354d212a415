"""The keys of a channel: what it should do as a whole; its parts stand in ``parts``."""

from __future__ import annotations

from dataclasses import replace

from vibcal_nb.metrology.straight_line.nonlinearity import NONLINEARITY_KINDS
from vibcal_nb.model.keys.item_keys import ITEMS
from vibcal_nb.model.keys.key import LONGEST_NAME, Key, KeyTable
from vibcal_nb.model.keys.parts.band_keys import BAND
from vibcal_nb.model.keys.parts.common import NOMINAL, TOLERANCE_PCT, unit_key
from vibcal_nb.model.keys.parts.gap_curve_keys import GAP_CURVE_KEYS
from vibcal_nb.model.keys.parts.response_keys import PHASE
from vibcal_nb.model.keys.parts.sensor_keys import MODULE, SENSOR
from vibcal_nb.model.keys.relay_keys import ELECTRICAL_TABLE, INDICATION_KEY, SET_POINTS_KEY
from vibcal_nb.model.keys.tolerance_keys import tolerance_table
from vibcal_nb.model.names import ELECTRICAL

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
        unit_key("input_unit", "Unit of the level; alert, trip and full_scale are in it.", "vibration", "mm/s pk"),
        unit_key("output_unit", "Unit of what the channel puts out.", ELECTRICAL, "mV pk"),
        NOMINAL,
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
            TOLERANCE_PCT,
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
