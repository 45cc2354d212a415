"""The table of readings beside a touchable figure: what was read, and what was made of it, by row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.views import view_of
from vibcal_nb.display.writing.numbers import fixed, frequency, true_minus
from vibcal_nb.model.case import Case
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.relay.check_rows import SetPointRow
from vibcal_nb.notebook.touch.subject import Data, Rows

ROW, REASON, VERDICT, U_PCT = "row", "left out because", "verdict", "U, %"
ReadRow = Reading | SetPointRow
_PLAIN = ("test", "frequency", "round", "set point", VERDICT)  # what needs no name where it is read aloud


def readings_of(result: Result) -> Data:
    """Return the table of a result's readings."""
    found = view_of(result).columns(result)
    readings = read_rows(result.case)
    return table_of(readings, (*typed(readings), *_made(found, [reading.row for reading in readings])))


def read_rows(case: Case) -> tuple[ReadRow, ...]:
    """Return the rows of a case that a person can leave out: its readings, or the levels held at its relays."""
    return (*case.readings, *(row for row in case.checks if isinstance(row, SetPointRow)))


def table_of(readings: Sequence[ReadRow], columns: Sequence[Rows]) -> Data:
    """Return a table of readings as plain data: headings, whether they are numbers, and each reading with its name."""
    return {
        "headings": [column.heading for column in columns],
        "numeric": [column.numbers is not None for column in columns],
        "readings": [
            {
                "row": reading.row,
                "cells": [column.texts[n] for column in columns],
                "sort": [None if column.numbers is None else column.numbers[n] for column in columns],
                "name": _name(reading, columns, n),
            }
            for n, reading in enumerate(readings)
        ],
    }


def typed(readings: Sequence[ReadRow], *, tests: bool = False) -> Iterator[Rows]:
    """Yield the columns that a person wrote down; ``tests`` adds of which test."""
    yield Rows(heading="row", texts=[str(r.row) for r in readings], numbers=[float(r.row) for r in readings])
    if tests:
        yield Rows(heading="test", texts=[r.test for r in readings])
    if len({r.frequency_hz for r in readings}) > 1:
        hz: list[float | None] = [r.frequency_hz for r in readings]
        yield Rows(heading="frequency", texts=[frequency(r.frequency_hz) for r in readings], numbers=hz)
    if any(r.direction or (r.repeat or 1) > 1 for r in readings):
        yield Rows(heading="round", texts=[_pass(r) for r in readings])
    held = [r for r in readings if isinstance(r, SetPointRow)]
    if held:
        yield Rows(heading="set point", texts=[r.set_point for r in held])
    level = [f"{r.applied:g} {r.applied_unit.shown}" for r in readings]
    yield Rows(heading="level", texts=[true_minus(text) for text in level], numbers=[r.applied for r in readings])
    if held:
        yield Rows(heading="relay", texts=["acted" if r.acted else "did not act" for r in held])
        return
    yield Rows(heading="output", texts=[_output(r) for r in readings], numbers=[r.output for r in readings])


def _output(reading: ReadRow) -> str:
    if reading.output is None or reading.output_unit is None:
        return ""
    return true_minus(f"{reading.output:g} {reading.output_unit.shown}")


def _pass(reading: ReadRow) -> str:
    return " ".join(part for part in (str(reading.repeat or ""), reading.direction or "") if part)


def _made(columns: Mapping[str, Sequence[Any]], rows: Sequence[int]) -> Iterator[Rows]:
    """What is judged stands before its U, or before the reasons where there is none; of relays no row is judged."""
    if REASON not in columns:
        return
    places = {int(row): n for n, row in enumerate(columns[ROW])}
    found = {name: [values[places[row]] for row in rows] for name, values in columns.items()}
    names = list(found)
    heading = names[names.index(U_PCT if U_PCT in found else REASON) - 1]
    values, response = found[heading], heading.startswith("response")
    widths = found.get(U_PCT, [None] * len(values))
    texts = [with_u(value, u, signed=not response) for value, u in zip(values, widths, strict=True)]
    nominal = 100.0 if response else 0.0
    yield Rows(heading=heading, texts=texts, numbers=[None if value is None else value - nominal for value in values])
    if VERDICT in found:
        yield Rows(heading=VERDICT, texts=[word or "" for word in found[VERDICT]])


def with_u(value: float | None, u: float | None, *, signed: bool = True) -> str:
    """Write a value with its U, as far as there are any."""
    if value is None:
        return "–"
    return fixed(value, signed=signed) if u is None else f"{fixed(value, signed=signed)} ± {fixed(u)}"


def _name(reading: ReadRow, columns: Sequence[Rows], n: int) -> str:
    """Name a reading as it is read aloud: row, pass, level, output, deviation, verdict."""
    parts = [f"row {reading.row}"]
    for column in columns[1:]:
        text = column.texts[n]
        if text:
            name, _, unit = column.heading.partition(", ")
            parts.append(text if name in _PLAIN else f"{name} {text} {unit}".rstrip())
    return ", ".join(parts)
