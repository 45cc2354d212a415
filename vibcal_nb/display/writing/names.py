"""Names of tests and conditions as sentences have them, and how items are listed and counted."""

from __future__ import annotations

from vibcal_nb.model.case import Case
from vibcal_nb.model.channel_case import ChannelCase
from vibcal_nb.model.names import (
    AS_FOUND,
    AS_LEFT,
    BAND_RESPONSE,
    CHANNEL_VERDICT,
    DRIFT,
    LINEARITY,
    MODULE_ALONE,
    SENSOR_ALONE,
)

CONDITIONS = {AS_FOUND: "as found", AS_LEFT: "as left"}

NEVER_SHOWN = (
    "how the channel behaves when the sensor is back in its place on the machine, hot and with its own cable run",
    "that the protection acted on its alert and trip: relays, voting and annunciation were not part of this test",
)

TESTS = {
    LINEARITY: "linearity",
    BAND_RESPONSE: "band response",
    SENSOR_ALONE: "sensor alone",
    MODULE_ALONE: "module alone",
    DRIFT: "drift",
    CHANNEL_VERDICT: "channel verdict",
}


def subject(case: Case | ChannelCase) -> str:
    """Name what was tested: channel, test, condition."""
    return f"{case.channel.tag}, {TESTS[case.test]}, {CONDITIONS[case.condition]}"


def capital(text: str) -> str:
    """Begin with a capital letter, and leave the rest as it is."""
    return text[0].upper() + text[1:]


def listed(items: list[str]) -> str:
    """Join items as a sentence does."""
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + " and " + items[-1]


def plural(count: int, noun: str) -> str:
    """Write a count and its noun."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
