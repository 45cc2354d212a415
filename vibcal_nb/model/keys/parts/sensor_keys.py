"""The keys of the sensor alone, and of what follows it."""

from __future__ import annotations

from vibcal_nb.model.keys.key import Key, KeyTable
from vibcal_nb.model.keys.parts.common import FLAT, NOMINAL, REFERENCE_HZ, TOLERANCE_PCT, unit_key
from vibcal_nb.model.keys.parts.response_keys import HOT, SENSOR_PHASE
from vibcal_nb.model.names import ELECTRICAL

SENSOR = KeyTable(
    heading="[channels.TAG.sensor]",
    says="What the sensor alone should do.",
    keys=(
        unit_key("input_unit", "Unit of the level that the sensor is driven with.", "vibration", "m/s2 pk"),
        unit_key("output_unit", "Unit of what the sensor gives.", ELECTRICAL, "pC pk"),
        NOMINAL,
        TOLERANCE_PCT,
        REFERENCE_HZ,
        *FLAT,
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
        unit_key("input_unit", "Unit of the signal that is injected.", ELECTRICAL, "pC pk"),
        unit_key("output_unit", "Unit of what is read at the output.", ELECTRICAL, "mV pk"),
        NOMINAL,
        TOLERANCE_PCT,
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
