"""How protection was taken out and brought back on the day, in sentences."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.display.writing.names import listed
from vibcal_nb.model.case import Case
from vibcal_nb.model.channel_case import ChannelCase


def service_remarks(case: Case | ChannelCase) -> Iterator[str]:
    """Say what the visit states of inhibit and return to service; nothing where it states none of this channel."""
    channel = case.channel
    tags = (channel.tag,) if channel.group is None else channel.group.channels
    trail = case.visit.trail.of(tags)
    inhibit, returned = trail.inhibit, trail.returned
    if inhibit is None:
        return
    until = "" if inhibit.on is None else f" to {inhibit.on}"
    told = listed(list(inhibit.told))
    yield f"Inhibited from {inhibit.off}{until} under {inhibit.permit} by {inhibit.by}; told: {told}"
    if inhibit.logic is not None:
        yield f"Meanwhile, as the site states: {inhibit.logic}"
    if returned is not None:
        checks = "; ".join(check.rstrip(".") for check in returned.checks)
        yield f"Back in service at {returned.at}, proved by {returned.by}: {checks}"
