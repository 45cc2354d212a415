"""Readings that stand in another place to the last digit: an old sheet, or another channel's rows.

Outputs of three digits and more come back by chance now and then, and hardly ever in most rows of a test.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from vibcal_nb.analysis.questions.question import Question
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.visit_folder import VisitFolder

FEWEST = 5
MOST_OF = 0.8

_Test = tuple[str, str, str]  # channel, test, condition


def copy_questions(folder: VisitFolder, earlier: Sequence[VisitFolder]) -> Iterator[Question]:
    """Yield a question for each test whose outputs stand in another test of the visit, or in an earlier visit."""
    own = _by_test(folder.table.readings)
    seen: dict[_Test, list[Reading]] = {}
    for key, readings in own.items():
        twin = _like(readings, seen)
        seen[key] = readings
        if twin is not None:
            yield _asked(folder, key, readings, f"those of {_named(twin)}")
            continue
        for visit in earlier:
            twin = _like(readings, _by_test(visit.table.readings))
            if twin is not None:
                yield _asked(folder, key, readings, f"those of {_named(twin)} of {visit.path.name}")
                break


def _by_test(readings: Sequence[Reading]) -> dict[_Test, list[Reading]]:
    found: dict[_Test, list[Reading]] = {}
    for reading in readings:
        if reading.exclude is None:
            found.setdefault((reading.channel, reading.test, reading.condition), []).append(reading)
    return found


def _like(readings: Sequence[Reading], others: Mapping[_Test, Sequence[Reading]]) -> _Test | None:
    """The first of ``others`` that has the same level and output in most rows."""
    own = {_numbers(reading) for reading in readings}
    if len(own) < FEWEST:
        return None
    for key, other in others.items():
        if len(own & {_numbers(reading) for reading in other}) > MOST_OF * len(own):
            return key
    return None


def _numbers(reading: Reading) -> tuple[float, float, float]:
    return reading.frequency_hz, reading.applied, reading.output


def _named(key: _Test) -> str:
    channel, test, condition = key
    return f"{channel}, {test} {condition}"


def _asked(folder: VisitFolder, key: _Test, readings: Sequence[Reading], whose: str) -> Question:
    text = f"the levels and outputs of {_named(key)} are {whose} to the last digit. Was a sheet copied?"
    return Question(file=folder.table.file, text=text, rows=tuple(reading.row for reading in readings))
