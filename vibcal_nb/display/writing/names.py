"""Names of tests and conditions as sentences have them, and how items are listed and counted."""

from __future__ import annotations

from vibcal_nb.model.case import Case
from vibcal_nb.model.channel_case import ChannelCase

IN_PLACE = "how the channel behaves when the sensor is back in its place on the machine, hot and with its own cable run"
ACTING = "that the protection acted on its alert and trip: relays, voting and annunciation were not part of this test"


def spoken(name: str) -> str:
    """Write the name of a test, analysis or condition as a sentence has it: ``as-found`` as "as found"."""
    return name.replace("-", " ")


def subject(case: Case | ChannelCase) -> str:
    """Name what was tested: channel, test, condition."""
    return f"{case.channel.tag}, {spoken(case.test)}, {spoken(case.condition)}"


def capital(text: str) -> str:
    """Begin with a capital letter, and leave the rest as it is."""
    return text[0].upper() + text[1:]


def listed(items: list[str]) -> str:
    """Join items as a sentence does."""
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + " and " + items[-1]


def plural(count: int, noun: str) -> str:
    """Write a count and its noun."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
