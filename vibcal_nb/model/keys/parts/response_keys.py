"""The keys of a phase, of a channel or its sensor alone, and of a sensor's sensitivity at other temperatures."""

from __future__ import annotations

from vibcal_nb.model.keys.key import Key, KeyTable
from vibcal_nb.model.names import POLARITIES

PHASE_LIMIT = KeyTable(
    heading="limits = [{ min_deg ... }]",
    says="Allowed phase at one frequency; a lag is negative, and whole turns do not count.",
    keys=(
        Key(name="hz", type="number", says="The frequency.", required=True, unit="Hz", above=0.0, example="80"),
        Key(name="min_deg", type="number", says="The least.", required=True, unit="degrees", example="-50"),
        Key(name="max_deg", type="number", says="The greatest.", required=True, unit="degrees", example="-35"),
    ),
)


def _phase(heading: str, says: str) -> KeyTable:
    return KeyTable(
        heading=heading,
        says=says,
        keys=(
            Key(
                name="polarity",
                type="choice",
                says="Whether the output goes with the level or against it: the line through the phases meets 0 Hz at "
                "0 or at 180 degrees.",
                choices=POLARITIES,
                example='"+"',
            ),
            Key(
                name="limits",
                type="list of tables",
                says="Limits at single frequencies.",
                table=PHASE_LIMIT,
                example="[{ hz = 80, min_deg = -50, max_deg = -35 }]",
            ),
            Key(
                name="delay_ms",
                type="pair of numbers",
                says="The shortest and the longest delay allowed: the slope of the line through the phases.",
                unit="ms",
                example="[1.4, 1.6]",
            ),
        ),
    )


PHASE = _phase(
    "[channels.TAG.phase]",
    "What the phase of the output against the level should be, both in the channel's quantities.",
)
SENSOR_PHASE = _phase(
    "[channels.TAG.sensor.phase]",
    "What the phase of the sensor alone should be; left out, the channel's polarity is asked of it.",
)

HOT = KeyTable(
    heading="hot = [{ ... }]",
    says="Allowed change of the sensitivity at one temperature, from that at room temperature at the same frequency.",
    keys=(
        Key(
            name="c",
            type="number",
            says="The sensor's temperature.",
            required=True,
            unit="°C",
            least=-273.0,
            most=2000.0,
            example="400",
        ),
        Key(name="min_pct", type="number", says="The least change.", required=True, unit="%", example="-5"),
        Key(name="max_pct", type="number", says="The greatest change.", required=True, unit="%", example="10"),
    ),
)
