"""Perform a record again from what it states that it was made from: its inputs given in place of the files.

Called in the process that executes the record's notebook, and in no other.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.drift.standing import Standing
from vibcal_nb.inputs.given_visits import GivenVisit, give_visits
from vibcal_nb.model.asset import Asset
from vibcal_nb.model.equipment import Equipment
from vibcal_nb.model.names import AS_FOUND, LINEARITY
from vibcal_nb.model.readings import Reading, ReadingTable
from vibcal_nb.model.visit import Visit
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.records.inputs_used.encoding import NotEncoded
from vibcal_nb.records.inputs_used.record_inputs import read_like
from vibcal_nb.records.inputs_used.visit_statement import read_visit_statement
from vibcal_nb.units import parse_unit

_like: list[dict[str, tuple[Standing, ...]]] = []


def give_stated(statement: Mapping[str, Any], *, visit_folder: Path) -> None:
    """Give the inputs of a statement in place of those at ``visit_folder`` and beside it. Raises ``NotEncoded``."""
    try:
        own, *earlier = statement["visits"]
        visits = [GivenVisit(path=visit_folder, held=read_visit_statement(own, visit_folder))]
        visits += [_given(item, visit_folder.parent / item["name"]) for item in earlier]
        _like[:] = [read_like(statement["like"])] if "like" in statement else []
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise NotEncoded(f"It states no inputs: {error}") from None
    give_visits(visits)


def given_like() -> dict[str, tuple[Standing, ...]] | None:
    """Return where like channels stood, as the record that is performed again states it; None where none is."""
    return _like[0] if _like else None


def _given(statement: Mapping[str, Any], path: Path) -> GivenVisit:
    if "problem" not in statement:
        return GivenVisit(path=path, held=read_visit_statement(statement, path))
    if statement["date"] is None:
        return GivenVisit(path=path, held=None)
    readings = () if statement["planned"] else (_OF_ANOTHER,)
    return GivenVisit(path=path, held=_without(path, date.fromisoformat(statement["date"]), readings))


_OF_ANOTHER = Reading(
    row=2,
    channel="",
    test=LINEARITY,
    condition=AS_FOUND,
    frequency_hz=1.0,
    applied=1.0,
    applied_unit=parse_unit("m/s pk"),
    output=1.0,
    output_unit=parse_unit("V pk"),
)


def _without(path: Path, day: date, readings: tuple[Reading, ...]) -> VisitFolder:
    """A visit that holds nothing of the channel, which is not told from one that has no such channel."""
    return VisitFolder(
        path=path,
        asset=Asset(tag="", name="", rotors=(), channels={}),
        equipment=Equipment(),
        visit=Visit(date=day, performed_by="", equipment=()),
        table=ReadingTable(readings=readings, file=""),
        references=(),
        readouts=(),
    )


def give_file(file: str, visit_folder: str) -> None:
    """Give the inputs of the statement in a file, as `give_stated`. Raises ``NotEncoded``, ``OSError``."""
    give_stated(json.loads(Path(file).read_text(encoding="utf-8")), visit_folder=Path(visit_folder))
