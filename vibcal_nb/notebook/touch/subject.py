"""What can be explored: its controls, where the record stands, and what comes of another stand."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any, Protocol

from vibcal_nb.display.results.view import Control, Grip
from vibcal_nb.display.writing.names import listed
from vibcal_nb.display.writing.numbers import true_minus
from vibcal_nb.notebook.touch.exploration import Stand

Data = dict[str, Any]
RECORD = "record"


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One of few: what is written, and the value that it stands for."""

    name: str
    label: str
    options: tuple[tuple[str, Any], ...]
    value: Any


AnyControl = Control | Choice


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What comes of a stand.

    ``answer`` is the verdict, or what is said in its place. ``figure`` is a figure as plain data (see
    ``display.drawing.light_figure``), ``readings`` the table of readings by row (see `readings_shown`). ``summary`` is
    HTML, as is what ``reasons`` gives, which takes longer and is asked for last. ``result`` is what it was made of,
    ``further`` what a finding says besides.
    """

    answer: str
    figure: Data
    readings: Data
    summary: str
    reasons: Callable[[], str]
    result: Any
    grips: tuple[Grip, ...] = ()
    further: Mapping[str, Any] = field(default_factory=dict)


class Subject(Protocol):
    """What a panel explores.

    ``name`` says what it is, ``parts`` name a file of it; ``record`` is where its record stands, ``rows`` the rows of
    its readings, ``units`` how levels can be written. ``base`` is the word for what a person departs from, ``each`` for
    what can be left out; ``texts`` says how a row is written, where not by its number.
    """

    base: str
    each: str
    name: str
    parts: tuple[str, ...]
    controls: tuple[AnyControl, ...]
    record: Stand
    rows: frozenset[int]
    texts: Mapping[int, str]
    units: list[Data]

    def begun(self) -> Outcome:
        """Return what the record shows."""
        ...

    def at(self, stand: Stand) -> Outcome:
        """Return what comes of another stand. Raises ``Refused`` where nothing does."""
        ...


@dataclass(frozen=True, kw_only=True)
class Rows:
    """Columns of a table of readings, one text a row each; ``numbers`` is by what it is sorted."""

    heading: str
    texts: list[str]
    numbers: list[float | None] | None = field(default=None)


def differences(
    record: Stand,
    stand: Stand,
    controls: tuple[AnyControl, ...],
    *,
    each: str,
    texts: Mapping[int, str],
) -> tuple[str, ...]:
    """Say how a stand differs from the record: "tolerance, ± %: 5 → 0.7", "rows 8 and 9 left out: cable moved"."""
    return (*_of_values(record, stand, controls), *_of_rows(record, stand, each, texts))


def _of_values(record: Stand, stand: Stand, controls: tuple[AnyControl, ...]) -> Iterator[str]:
    for control in controls:
        before, after = record.values[control.name], stand.values[control.name]
        if before != after:
            yield f"{control.label}: {written(control, before)} → {written(control, after)}"


def written(control: AnyControl, value: Any) -> str:
    """Write a value of a control."""
    if isinstance(control, Choice):
        return next((text for text, meant in control.options if meant == value), str(value))
    if isinstance(value, tuple | list):
        return " to ".join(true_minus(f"{part:g}") for part in value)
    return true_minus(f"{value:g}")


def _of_rows(record: Stand, stand: Stand, each: str, texts: Mapping[int, str]) -> Iterator[str]:
    out = [(row, why) for row, why in stand.left_out.items() if record.left_out.get(row) != why]
    for why, group in groupby(sorted(out, key=lambda item: (item[1], item[0])), key=lambda item: item[1]):
        yield f"{_rows([texts.get(row, str(row)) for row, _ in group], each)} left out: {why}"
    for row, why in stand.taken_back.items():
        yield f"{each} {texts.get(row, str(row))} used, which the file leaves out ({record.left_out[row]}): {why}"


def _rows(rows: list[str], each: str) -> str:
    return f"{each}{'s' if len(rows) > 1 else ''} {listed(rows)}"


def reason_of(left_out: Mapping[int, str], row: int, filed: str | None, otherwise: str) -> str | None:
    """Return why a reading is left out as a stand has it, None where it is used."""
    return None if row not in left_out else left_out[row] or filed or otherwise
