"""The gate of protection that was inhibited for the visit and is not proved back in service."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.gates.gate import NOT_BACK, Gate
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.case import Case
from vibcal_nb.model.visit import Visit


def service_gates(case: Case) -> Iterator[Gate]:
    """Yield the gate where a channel of the case was inhibited and not proved back."""
    yield from not_back(case.visit, case.channel)


def not_back(visit: Visit, channel: Channel) -> Iterator[Gate]:
    """Yield the gate of one channel, or of a group of which one channel is inhibited."""
    tags = (channel.tag,) if channel.group is None else channel.group.channels
    trail = visit.trail.of(tags)
    if trail.inhibit is None or trail.open_since is None:
        return
    what = "no time at which the inhibit was removed" if trail.inhibit.on is None else "no return to service"
    yield Gate(
        gate=NOT_BACK,
        found=f"{', '.join(trail.inhibit.channels)} was inhibited at {trail.inhibit.off} under {trail.inhibit.permit} "
        f"and is not proved back in service: the visit states {what}",
        remedy="prove it back by the site's procedure (sensor and cable, OK state, gap or bias, inhibit removed, trip "
        "path) and state [return_to_service] and the time on in visit.toml; until then it does not protect",
    )
