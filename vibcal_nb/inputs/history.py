"""A visit and those before it, of the same asset: what drift is seen in."""

from __future__ import annotations

import os
from pathlib import Path

from vibcal_nb.inputs.case import NothingToAnalyse
from vibcal_nb.inputs.folder import VisitFolder, find_visits, load_visit, load_visits


def earlier_visits(path: Path) -> list[Path]:
    """Return the folders of the asset's other visits whose names sort before this one's, in that order."""
    folder = Path(os.path.abspath(path))  # noqa: PTH100  # a link is not followed away from its asset
    return [other for other in find_visits(folder.parent) if other.name < folder.name]


def load_history(path: Path, *, channel: str) -> tuple[VisitFolder, ...]:
    """Load a visit and the asset's earlier ones, by the dates they state, the earliest first and this one last.

    Raises ``InputRefused`` where any of them cannot be used (a gap in the history would pass unseen), and
    ``NothingToAnalyse`` with a sentence where the last one holds no readings of the channel.
    """
    last = load_visit(path)
    _require_channel(last, channel)
    folder = Path(os.path.abspath(path))  # noqa: PTH100
    others = load_visits(other for other in find_visits(folder.parent) if other.name != folder.name)
    earlier = (visit for visit in others if visit.visit.date < last.visit.date)
    return (*sorted(earlier, key=lambda visit: visit.visit.date), last)


def _require_channel(last: VisitFolder, channel: str) -> None:
    if channel not in last.asset.channels:
        known = ", ".join(last.asset.channels)
        raise NothingToAnalyse(f"Asset {last.asset.tag} has no channel '{channel}'; its channels are {known}.")
    if not any(reading.channel == channel for reading in last.table.readings):
        raise NothingToAnalyse(f"{last.table.file} holds no readings of {channel}; take a visit that holds some.")
