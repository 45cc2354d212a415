"""All questions about a visit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from vibcal_nb.analysis.questions.copies import copy_questions
from vibcal_nb.analysis.questions.letters import letter_questions
from vibcal_nb.analysis.questions.limits import asset_questions, reading_questions
from vibcal_nb.analysis.questions.question import Question
from vibcal_nb.analysis.questions.visit_date import date_questions
from vibcal_nb.analysis.slips.find_slips import find_slips
from vibcal_nb.model.case import list_cases, select_case
from vibcal_nb.model.names import AS_FOUND, AS_LEFT, CHECKS, INDICATION, STATIC_TESTS
from vibcal_nb.model.visit_folder import VisitFolder


def ask_about(
    folder: VisitFolder, *, earlier: Sequence[VisitFolder] = (), today: date | None = None
) -> tuple[Question, ...]:
    """Return what to ask about a visit: its day, its limits, then its readings, in the order of their rows.

    ``earlier`` are visits to the same asset whose readings might have been copied; ``today`` is the day of asking.
    """
    found = [*_about_folder(folder), *date_questions(folder, today=today), *asset_questions(folder.asset)]
    found += letter_questions(folder)
    found += reading_questions(folder.asset, folder.table)
    rows = [*_about_conditions(folder, earlier), *copy_questions(folder, earlier), *slip_questions(folder)]
    return (*found, *sorted(rows, key=lambda question: question.rows))


def slip_questions(folder: VisitFolder) -> Iterator[Question]:
    """Yield the questions about slips of writing in a visit's reading table, of tests that read the channel's output.

    A display has a unit of its own, and rows of relays and electrical items have no output.
    """
    others = (*STATIC_TESTS, *CHECKS, INDICATION)
    cases = [select_case(folder, channel=c, test=t, condition=k) for c, t, k in list_cases(folder) if t not in others]
    for slip in find_slips(cases):
        yield Question(file=folder.table.file, text=slip.question, rows=slip.rows)


def _about_folder(folder: VisitFolder) -> Iterator[Question]:
    name, tag = folder.path.absolute().parent.name, folder.asset.tag
    if name != tag:
        text = f"the asset's folder is named {name} and its tag is {tag}. Is this the right folder?"
        yield Question(file="asset.toml", text=text)


def _about_conditions(folder: VisitFolder, earlier: Sequence[VisitFolder]) -> Iterator[Question]:
    """Tests read as left of a channel that was never read as found, in this visit or another of its outage."""
    outage = folder.visit.outage
    found = {
        reading.channel
        for visit in earlier
        if outage is not None and visit.visit.outage == outage
        for reading in visit.table.readings
        if reading.condition == AS_FOUND
    }
    by_channel: dict[str, set[str]] = {}
    for reading in folder.table.readings:
        by_channel.setdefault(reading.channel, set()).add(reading.condition)
    for channel, conditions in by_channel.items():
        if conditions == {AS_LEFT} and channel not in found:
            rows = tuple(reading.row for reading in folder.table.readings if reading.channel == channel)
            text = f"{channel} was read {AS_LEFT} and never {AS_FOUND}. Is the condition right?"
            yield Question(file=folder.table.file, text=text, rows=rows)
