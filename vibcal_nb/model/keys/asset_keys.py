"""The keys of asset.toml."""

from __future__ import annotations

from vibcal_nb.model.keys.channel_keys import CHANNEL, FORMERLY, KIND, RETIRED
from vibcal_nb.model.keys.key import LONGEST_NAME, Key, KeyTable
from vibcal_nb.model.keys.relay_keys import GROUP_TABLE

HEAD = KeyTable(
    heading="[asset]",
    says="Which machine this is.",
    keys=(
        Key(
            name="tag",
            type="text",
            says="The machine's tag; records are filed under it.",
            required=True,
            longest=LONGEST_NAME,
            example='"STG-1"',
        ),
        Key(name="name", type="text", says="What the machine is called.", default="", example='"Steam turbine"'),
        FORMERLY,
        RETIRED,
    ),
)

ROTOR = KeyTable(
    heading='[rotors] "NAME" = { ... }',
    says="A shaft and its running speed: one of the two keys.",
    keys=(
        Key(
            name="speed_rpm",
            type="number or pair of numbers",
            says="The running speed in revolutions a minute; lowest and highest in brackets where it varies.",
            required=True,
            unit="1/min",
            above=0.0,
            most=1e7,
            instead_of="speed_hz",
            example="3000",
        ),
        Key(
            name="speed_hz",
            type="number or pair of numbers",
            says="The running speed in revolutions a second; lowest and highest in brackets where it varies.",
            required=True,
            unit="Hz",
            above=0.0,
            most=1e6,
            instead_of="speed_rpm",
            example="50",
        ),
    ),
)

ASSET_FILE = KeyTable(
    heading="asset.toml",
    says="A machine, its rotors, and what each of its channels should do.",
    keys=(
        Key(name="asset", type="table", says="Which machine this is.", required=True, table=HEAD),
        Key(
            name="rotors",
            type="tables by name",
            says="The shafts, each under the name by which channels refer to it.",
            table=ROTOR,
            named="NAME",
        ),
        Key(
            name="kinds",
            type="tables by name",
            says="What several channels of this asset share; a kind of the same name in kinds.toml holds below it.",
            table=KIND,
            named="NAME",
        ),
        Key(
            name="channels",
            type="tables by name",
            says="The channels, each under its tag.",
            required=True,
            table=CHANNEL,
            named="TAG",
        ),
        Key(
            name="groups",
            type="tables by name",
            says="The groups of channels that vote, each under its name.",
            table=GROUP_TABLE,
            named="NAME",
        ),
    ),
)

KINDS_FILE = KeyTable(
    heading="kinds.toml",
    says="What several channels of a site share, each kind a table under its own name; beside equipment.toml.",
    keys=(),
    each=KIND,
    named="NAME",
)
