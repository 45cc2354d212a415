"""What a record states that it was made from: its own visit first, then the earlier ones it used, the latest first.

The statement is JSON. ``visits`` holds one statement a visit; one that holds nothing of the channel, or could not be
read, is there by its name with the reason. ``like`` is there for drift, which asks whether like channels stood within
their tolerance: it holds that and no reading of theirs, so that a correction that changes no such answer changes no
record.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.drift.standing import Standing
from vibcal_nb.inputs.earlier_visits import history_case
from vibcal_nb.model.case import Case, list_cases, select_case
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.records.files.canonical import sum_of
from vibcal_nb.records.inputs_used.visit_statement import parts_of, state_visit

MIME_TYPE = "application/vnd.vibcal-nb.inputs+json"


def state_test(case: Case) -> dict[str, Any]:
    """Return the statement of the record of one test."""
    return {"visits": [state_visit([case])]}


class LookedAt:
    """Visits as they are asked for, by their folders in the order of first asking; None where one cannot be read."""

    def __init__(self, load: Callable[[Path], VisitFolder]) -> None:
        self._load = load
        self.visits: dict[Path, VisitFolder | None] = {}

    def load(self, path: Path) -> VisitFolder:
        """Load a visit, and note that it was looked at. Raises ``InputRefused``."""
        self.visits.setdefault(path, None)
        visit = self._load(path)
        self.visits[path] = visit
        return visit


def state_channel(visit: VisitFolder, channel: str, earlier: Mapping[Path, VisitFolder | None]) -> dict[str, Any]:
    """Return the statement of the record of a whole channel: both conditions, and earlier visits as far as looked.

    ``earlier``: by their folders, the latest first; None for one that cannot be read.
    """
    before = [
        _without(path.name, None, f"the visit {path.name} could not be read")
        if held is None
        else state_held(held, channel)
        for path, held in earlier.items()
    ]
    return {"visits": [state_held(visit, channel), *before]}


def state_history(
    visits: Sequence[VisitFolder], *, channel: str, like: Mapping[str, Sequence[Standing]]
) -> dict[str, Any]:
    """Return the statement of a drift record. ``visits``: the earliest first, the record's own last."""
    *earlier, own = visits
    said = [state_visit([*cases_of(own, channel), history_case(tuple(visits), channel=channel)])]
    return {"visits": [*said, *(state_held(visit, channel) for visit in reversed(earlier))], "like": state_like(like)}


def cases_of(visit: VisitFolder, channel: str) -> list[Case]:
    """Return the cases of all readings that a visit holds of a channel; none where it has no such channel."""
    return [
        select_case(visit, channel=channel, test=test, condition=condition)
        for tag, test, condition in list_cases(visit)
        if tag == channel and (channel in visit.asset.channels or channel in visit.asset.groups)
    ]


def state_held(visit: VisitFolder, channel: str) -> dict[str, Any]:
    """Return the statement of all that a visit holds of a channel."""
    cases = cases_of(visit, channel)
    if cases:
        return state_visit(cases)
    said = _without(visit.path.name, visit.visit.date, f"it holds no reading of {channel}")
    return {**said, "planned": visit.is_planned}


def state_like(like: Mapping[str, Sequence[Standing]]) -> dict[str, list[list[Any]]]:
    """Return what drift uses of like channels, as JSON; channels that say nothing are left out."""
    return {
        tag: [[item.quantity, item.date.isoformat(), item.condition, item.within, item.broken] for item in items]
        for tag, items in like.items()
        if items
    }


def read_like(said: Mapping[str, Sequence[Sequence[Any]]]) -> dict[str, tuple[Standing, ...]]:
    """Return what a drift record states of like channels. Raises ``ValueError`` or ``TypeError`` for another form."""
    return {tag: tuple(_read_standing(*item) for item in items) for tag, items in said.items()}


def _read_standing(quantity: Any, day: Any, condition: Any, within: Any, broken: Any) -> Standing:
    return Standing(
        quantity=str(quantity),
        date=date.fromisoformat(day),
        condition=str(condition),
        within=bool(within),
        broken=bool(broken),
    )


def _without(name: str, day: date | None, problem: str) -> dict[str, Any]:
    return {"name": name, "date": None if day is None else day.isoformat(), "problem": problem}


def sum_of_inputs(statement: Mapping[str, Any]) -> str:
    """Return the sum of all that a record states that it was made from, wherever in their tables rows stood.

    Raises ``NotEncoded``, or what JSON of another form raises.
    """
    return sum_of({"visits": [parts_of(visit) for visit in statement["visits"]], "like": statement.get("like")})
