"""The day of a visit, held against its folder's name, today, and the certificates of what was used."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from vibcal_nb.analysis.questions.question import Question
from vibcal_nb.model.equipment import Readout, Reference
from vibcal_nb.model.visit_folder import VisitFolder

_DAY = re.compile(r"(?<!\d)(\d{4})-(\d{2})-(\d{2})(?!\d)")
OLD_YEARS = 20


def date_questions(folder: VisitFolder, *, today: date | None) -> Iterator[Question]:
    """Yield the questions about the day of a visit; ``today`` None where the day of asking is not to matter."""
    day = folder.visit.date
    named = _day_in(folder.path.name)
    if named is not None and named != day:
        yield _about(f"the folder is named {folder.path.name} and date is {day}. Which of the two is the day?")
    if today is not None and day > today and folder.table.readings:
        yield _about(f"date is {day}, which is still to come, and there are readings. Was another year meant?")
    elif today is not None and day.year < today.year - OLD_YEARS:
        yield _about(f"date is {day}, more than {OLD_YEARS} years ago. Was another year meant?")
    if today is not None and day < today and folder.is_planned:
        yield _about(f"date is {day}, which has passed, and there is no reading yet. Was the visit put off?")
    used: tuple[Reference | Readout, ...] = (*folder.references, *folder.readouts)
    for item in used:
        yield from _certificate(folder, item, day)
        if folder.is_planned and item.due < day and _valid_instead(folder, item, day) is None:
            why = f"will have run out on {item.due}; the visit is planned for {day}"
            yield _about(f"the certificate of {item.id} {why}. Will it be calibrated before, under another id?")


def _about(text: str) -> Question:
    return Question(file="visit.toml", text=text)


def _day_in(name: str) -> date | None:
    found = _DAY.search(name)
    try:
        return date(*map(int, found.groups())) if found else None
    except ValueError:
        return None


def _certificate(folder: VisitFolder, item: Reference | Readout, day: date) -> Iterator[Question]:
    """That a certificate does not hold is a gate; whether another was meant is a question."""
    other = None if item.calibrated <= day <= item.due else _valid_instead(folder, item, day)
    if other is not None:
        why = f"had run out on {item.due}" if day > item.due else f"dates from {item.calibrated}, after the visit"
        yield _about(f"the certificate of {item.id} {why}; the visit is of {day}. Was {other} used?")


def _valid_instead(folder: VisitFolder, item: Reference | Readout, day: date) -> str | None:
    """The id of another one of the same sort whose certificate was valid."""
    references, readouts = folder.equipment.references, folder.equipment.readouts
    same: tuple[Reference | Readout, ...] = references if isinstance(item, Reference) else readouts
    for other in same:
        alike = not isinstance(other, Reference) or other.quantity == getattr(item, "quantity", None)
        if other.id != item.id and alike and other.calibrated <= day <= other.due:
            return other.id
    return None
