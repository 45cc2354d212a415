"""The keys of what follows the output: display, set points and relays, votes, electrical health, safety trail."""

from __future__ import annotations

from vibcal_nb.model.keys.key import Key, KeyTable
from vibcal_nb.model.keys.tolerance_keys import tolerance_table
from vibcal_nb.model.names import DIRECTIONS, INDICATION, RISING

INDICATION_TABLE = KeyTable(
    heading="[channels.TAG.indication]",
    says="What the monitor shows of the channel, as its display has it.",
    keys=(
        Key(
            name="unit",
            type="unit",
            says="Unit of the display with its detector, of the channel's own quantity.",
            required=True,
            choices=("vibration",),
            example='"mm/s rms"',
        ),
        Key(
            name="full_scale",
            type="number",
            says="Top of the display; percentages of span are of it.",
            required=True,
            unit="unit",
            above=0.0,
            example="25",
        ),
        Key(
            name="display_step",
            type="number",
            says="The step of the last digit; left out, the digits of the readings tell it.",
            unit="unit",
            above=0.0,
            example="0.1",
        ),
        Key(
            name="tolerance",
            type="table",
            says="How far the indication may lie from the true level; left out, the channel's own tolerance holds.",
            table=tolerance_table("indication.tolerance = { ... }", "unit"),
            whole=True,
            example="{ span_pct = 1.0 }",
        ),
    ),
)

SET_POINT_TABLE = KeyTable(
    heading="[channels.TAG.set_points.NAME]",
    says="A set point with its relay; alert = 11 and trip = 18 stay the short form.",
    keys=(
        Key(
            name="level",
            type="number",
            says="Where it is set; alert and trip may leave it out where the channel states them in short.",
            unit="input_unit",
            above=0.0,
            example="18",
        ),
        Key(
            name="tolerance",
            type="table",
            says="How far the level of action may lie from it; left out, the channel's own tolerance holds.",
            table=tolerance_table("set_points.NAME.tolerance = { ... }", "input_unit"),
            whole=True,
            example="{ reading_pct = 5 }",
        ),
        Key(
            name="delay_s",
            type="pair of numbers",
            says="The shortest and the longest delay, from the level being exceeded to the relay.",
            unit="s",
            least=0.0,
            example="[0.8, 1.2]",
        ),
        Key(
            name="direction",
            type="choice",
            says="On which way of the level it acts.",
            choices=DIRECTIONS,
            default=RISING,
            example='"rising"',
        ),
        Key(
            name="latching",
            type="true or false",
            says="Whether the relay stays until it is reset.",
            default=False,
            example="true",
        ),
    ),
)

ELECTRICAL_TABLE = KeyTable(
    heading="[channels.TAG.electrical.ITEM]",
    says="What an item may read at rest, before anything is shaken: bias, gap, supply, insulation, capacitance.",
    keys=(
        Key(
            name="unit",
            type="text",
            says="The unit of the limits: V, mV, mA, ohm, kohm, Mohm, Gohm, pF or nF.",
            required=True,
            example='"V"',
        ),
        Key(name="min", type="number", says="The least allowed; one of min and max or both.", unit="unit", example="8"),
        Key(name="max", type="number", says="The most allowed.", unit="unit", example="12"),
    ),
)

GROUP_TABLE = KeyTable(
    heading="[groups.NAME]",
    says="Channels whose set points are voted on; the group's name stands as channel in rows of voting.",
    keys=(
        Key(
            name="logic",
            type="text",
            says="How many of how many have to be in trip: 1oo1, 1oo2, 2oo2, 2oo3.",
            required=True,
            longest=12,
            example='"2oo3"',
        ),
        Key(
            name="channels",
            type="list of texts",
            says="The channels that vote, as many as the logic counts.",
            of="tags from [channels]",
            required=True,
            example='["T1", "T2", "T3"]',
        ),
        Key(
            name="set_point",
            type="text",
            says="The set point of each channel that votes.",
            required=True,
            example='"trip"',
        ),
    ),
)

INHIBIT_TABLE = KeyTable(
    heading="[inhibit]",
    says="Protection that was inhibited for the visit: under which permit, from when to when, who was told.",
    keys=(
        Key(name="permit", type="text", says="The permit.", required=True, example='"PTW-1182"'),
        Key(
            name="channels",
            type="list of texts",
            says="The channels that were inhibited.",
            of="tags from asset.toml",
            required=True,
            example='["STG-1-V11"]',
        ),
        Key(name="off", type="time", says="When protection was taken out.", required=True, example='"08:30"'),
        Key(
            name="on",
            type="time",
            says="When the inhibit was removed; until then a channel does not protect.",
            example='"11:05"',
        ),
        Key(name="by", type="text", says="Who did it.", required=True, example='"Technician A"'),
        Key(
            name="told",
            type="list of texts",
            says="Who was told.",
            of="names or places",
            required=True,
            single=True,
            example='["control room"]',
        ),
        Key(
            name="logic",
            type="text",
            says="What remained of the voting meanwhile, as the site's logic has it.",
            example='"2oo3 became 1oo2"',
        ),
    ),
)

RETURN_TABLE = KeyTable(
    heading="[return_to_service]",
    says="How the inhibited channels were proved back in service; without it they count as not verified.",
    keys=(
        Key(name="by", type="text", says="Who proved it.", required=True, example='"Technician A"'),
        Key(name="at", type="time", says="When.", required=True, example='"11:20"'),
        Key(
            name="checks",
            type="list of texts",
            says="What was checked: torque, cable, OK state, gap or bias, inhibit removed, trip path proved.",
            of="sentences",
            required=True,
            example='["Sensor refitted and torqued.", "Trip path proved."]',
        ),
    ),
)

INDICATION_KEY = Key(name=INDICATION, type="table", says="What the monitor shows.", table=INDICATION_TABLE)
SET_POINTS_KEY = Key(
    name="set_points",
    type="tables by name",
    says="The set points with their relays, each under its name.",
    table=SET_POINT_TABLE,
    named="NAME",
)
