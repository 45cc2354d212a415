"""Which drift records a visit gives, and what they are made from: the asset's earlier visits as well as its own."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from vibcal_nb.inputs.earlier_visits import earlier_visits
from vibcal_nb.model.names import AS_FOUND, CHANNEL_VERDICT, DRIFT
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.running.fleet.fingerprint import hash_files, list_input_files

WITH_HISTORY = (DRIFT, CHANNEL_VERDICT)  # analyses that look into the asset's earlier visits


def list_drift_cases(visit: VisitFolder) -> list[tuple[str, str, str]]:
    """List (channel, analysis, condition) of a visit's drift records: one a channel, if there was a visit before.

    A channel that no earlier visit read has its record, too, which says so.
    """
    read = {reading.channel for reading in visit.table.readings if reading.condition == AS_FOUND}
    if not read or not earlier_visits(visit):
        return []
    return [(tag, DRIFT, AS_FOUND) for tag in visit.asset.channels if tag in read]


def hash_earlier_visits(visit: VisitFolder) -> dict[str, str]:
    """Return the SHA-256 sums of the earlier visits' files, by visit and name."""
    return {
        f"{folder.name}/{name}": digest
        for folder in earlier_visits(visit)
        for name, digest in _sums(folder).items()
        if name not in ("asset.toml", "equipment.toml")  # the visit's own sums hold them
    }


@cache
def _sums(folder: Path) -> dict[str, str]:
    return hash_files(list_input_files(folder))
