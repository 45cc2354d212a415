"""A visit and those before it, of the same asset: what drift is seen in."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

from vibcal_nb.inputs.files.toml_table import load_toml
from vibcal_nb.inputs.given_visits import given_earlier
from vibcal_nb.inputs.load_visits import find_visits, load_visit, load_visits
from vibcal_nb.model.case import Case, make_case, require_channel
from vibcal_nb.model.names import AS_FOUND, DRIFT
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import NothingToAnalyse


def earlier_visits(visit: VisitFolder) -> list[Path]:
    """Return the folders of the asset's visits that state an earlier date, the earliest first."""
    given = given_earlier(visit.path)
    if given is not None:
        return given
    return [path for day, path in _dated_beside(visit.path) if day is not None and day < visit.visit.date]


def _dated_beside(path: Path) -> list[tuple[date | None, Path]]:
    """The other visits of an asset with the dates they state, the earliest first."""
    folder = Path(os.path.abspath(path))  # noqa: PTH100  # a link is not followed away from its asset
    others = [other for other in find_visits(folder.parent) if other.name != folder.name]
    return sorted(((_stated_date(other), other) for other in others), key=str)


def _stated_date(folder: Path) -> date | None:
    """The date of a visit, unchecked otherwise; None where the file cannot be read (loading it says why)."""
    found = (load_toml(folder / "visit.toml", []) or {}).get("date")
    return found if type(found) is date else None


def load_history(path: Path, *, channel: str) -> tuple[VisitFolder, ...]:
    """Load a visit and the asset's earlier ones, by the dates they state, the earliest first and this one last.

    What later visits hold is no part of it, and refuses nothing. Raises ``InputRefused`` where one before it, or one
    that states no date, cannot be used (a gap in the history would pass unseen), and ``NothingToAnalyse`` with a
    sentence where the last one holds no readings of the channel.
    """
    last = load_visit(path)
    require_channel(last, channel)
    if not any(reading.channel == channel for reading in last.table.readings):
        raise NothingToAnalyse(f"{last.table.file} holds no readings of {channel}; take a visit that holds some.")
    before = given_earlier(path)
    if before is None:
        before = [other for day, other in _dated_beside(path) if day is None or day < last.visit.date]
    earlier = (visit for visit in load_visits(before) if not visit.is_planned)
    return (*sorted(earlier, key=lambda visit: visit.visit.date), last)


def history_case(history: tuple[VisitFolder, ...], *, channel: str) -> Case:
    """Return the case of a channel's drift up to the last visit: who and what, without readings of its own."""
    return make_case(history[-1], channel=channel, test=DRIFT, condition=AS_FOUND)
