"""The keys of the items that a channel is made of: [channels.TAG.items]."""

from __future__ import annotations

from vibcal_nb.model.items import CABLE, CONVERTER, MONITOR, SENSOR
from vibcal_nb.model.keys.key import LONGEST_NAME, Key, KeyTable

_ITEM = (
    Key(
        name="serial",
        type="text",
        says="The serial number; without one no report can claim that the item is identified.",
        longest=LONGEST_NAME,
        example='"S-1041"',
    ),
    Key(name="type", type="text", says="What it is: its design or type.", longest=LONGEST_NAME, example='"charge"'),
    Key(
        name="since",
        type="date",
        says="The day on which it was installed; left out, it was there from the beginning.",
        example="2025-04-29",
    ),
    Key(
        name="until",
        type="date",
        says="The day on which it was removed; left out, it is still there.",
        example="2025-04-29",
    ),
)
_NOMINAL = Key(
    name="nominal_sensitivity",
    type="number",
    says="The item's own, in the units of [channels.TAG.sensor] or [channels.TAG.module]; it holds while installed.",
    unit="output_unit per input_unit",
    above=0.0,
    example="5.2",
)
_LENGTH = Key(name="length_m", type="number", says="Length of the cable.", unit="m", above=0.0, example="12")
_SLOT = Key(name="slot", type="text", says="Where it sits in its rack.", longest=LONGEST_NAME, example='"3/1"')


def _item(part: str, says: str, *more: Key) -> Key:
    table = KeyTable(heading=f"items.{part}", says=says, keys=(*_ITEM, *more))
    return Key(
        name=part,
        type="list of tables",
        says=f"{says.removesuffix('.')}; one table, or a list of them by date.",
        table=table,
        single=True,
        example='{ serial = "S-1041", until = 2025-04-29 }',
    )


ITEMS = KeyTable(
    heading="[channels.TAG.items]",
    says="What is installed, and since when.",
    keys=(
        _item(SENSOR, "The sensor.", _NOMINAL),
        _item(CABLE, "The cable between sensor and converter.", _LENGTH),
        _item(CONVERTER, "The converter: charge amplifier, integrator, filter or transmitter.", _NOMINAL, _SLOT),
        _item(MONITOR, "The monitor that displays, alarms and trips.", _SLOT),
    ),
)
