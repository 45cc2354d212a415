"""The reading table, checked row by row against what the asset's channels should be."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from vibcal_nb.inputs.files.table_files import RawTable, read_table
from vibcal_nb.inputs.grids.first_table import read_first_table
from vibcal_nb.inputs.reading_row import RowReader
from vibcal_nb.inputs.relay.check_row import CheckRowReader
from vibcal_nb.inputs.retaken import close_retaken
from vibcal_nb.model.asset import Asset
from vibcal_nb.model.keys.reading_columns import NEEDED_BY, NEEDED_BY_ALL, READING_TABLE, SHEET_COLUMNS
from vibcal_nb.model.names import CHECKS
from vibcal_nb.model.readings import PendingRow, Reading, ReadingTable
from vibcal_nb.model.relay.check_rows import CheckRow
from vibcal_nb.problems import Problem, one_of

COLUMNS = READING_TABLE.names
FREQUENCIES = ("frequency_hz", "frequency_rpm")
REQUIRED = tuple(key.name for key in READING_TABLE.keys if key.required and key.name not in FREQUENCIES)
OPTIONAL = tuple(key.name for key in READING_TABLE.keys if not key.required)
NUMBERS = (*FREQUENCIES, "applied", "output", "delay_s", "value", "phase_deg", "temperature_c")
MOST_PROBLEMS = 10_000
AnyRow = Reading | PendingRow | CheckRow
# What a prepared sheet says to the person who fills it in; these columns are read past.
SHEET_ONLY = SHEET_COLUMNS.names


def read_readings(
    path: Path, problems: list[Problem], *, asset: Asset | None, columns: Mapping[str, str]
) -> ReadingTable | None:
    """Read a reading table, noting every problem of every row; None where there is one.

    Without an asset (its own file being refused) the checks that need its channels are left out. A row
    without an output is not yet a reading: what else stands in it is checked, and it is counted as pending.
    """
    raw = read_first_table(path, problems) if path.suffix == ".ods" else read_table(path, problems)
    if raw is None:
        return None
    before = len(problems)
    places = _place_columns(raw, path.name, columns, problems)
    if places is None:
        return None
    commas = _has_decimal_commas(raw, places)
    rows = [
        reader_of(cells, places)(path.name, number, cells, places, raw, asset, problems, has_decimal_commas=commas)
        for number, cells in raw.rows
        if not _is_spare(cells, raw.headings)
    ]
    found: list[AnyRow | None] = []
    for row in rows:
        found.append(row.read())
        if len(problems) - before > MOST_PROBLEMS:  # a table of something else: its problems would fill the memory
            many = f"more than {MOST_PROBLEMS:,} problems in the rows up to {row.number}"
            remedy = "mend those that are listed first; the rows below were not read"
            problems.append(Problem(file=path.name, found=many, remedy=remedy))
            return None
    table = collect_readings(found, path.name, problems)
    return None if len(problems) > before else table


def reader_of(cells: Sequence[str], places: Mapping[str, int]) -> type[RowReader]:
    """Return what reads a row, by its test."""
    return CheckRowReader if _test_of(cells, places) in CHECKS else RowReader


def _test_of(cells: Sequence[str], places: Mapping[str, int]) -> str:
    place = places.get("test", len(cells))
    return cells[place].lower().replace(" ", "-").replace("_", "-") if place < len(cells) else ""


def _is_spare(cells: Sequence[str], headings: Sequence[str]) -> bool:
    """Whether nothing stands in a row but what a prepared sheet itself works out there."""
    filled = [place for place, cell in enumerate(cells) if cell]
    return all(place < len(headings) and headings[place].strip().lower() in SHEET_ONLY for place in filled)


def collect_readings(rows: Sequence[AnyRow | None], file: str, problems: list[Problem]) -> ReadingTable | None:
    """Return the table of the rows of a file; None, with the problem noted, where a reading stands there twice.

    A table without any reading is that of a planned visit. A row that is read again in another one is no longer open.
    """
    before = len(problems)
    readings = tuple(row for row in rows if isinstance(row, Reading))
    checks = tuple(row for row in rows if isinstance(row, CheckRow))
    pending = tuple(close_retaken([row for row in rows if isinstance(row, PendingRow)], readings))
    _note_repeated_rows(readings, file, problems)
    return (
        None if len(problems) > before else ReadingTable(readings=readings, file=file, pending=pending, checks=checks)
    )


def _place_columns(
    raw: RawTable, file: str, mapped: Mapping[str, str], problems: list[Problem]
) -> dict[str, int] | None:
    """Return where each column stands; None, with the problems noted, where the headings do not do."""
    before = len(problems)
    places: dict[str, int] = {}

    def note(column: str | None, found: str, remedy: str) -> None:
        problems.append(Problem(file=file, row=raw.heading_row, column=column, found=found, remedy=remedy))

    for place, heading in enumerate(raw.headings):
        column = mapped.get(heading, heading.strip().lower().replace(" ", "_"))
        if heading in mapped and not column:  # its entry in [columns] is refused, and told there
            continue
        if not heading:
            if any(len(cells) > place and cells[place] for _, cells in raw.rows):
                note(str(place + 1), "no heading above filled cells", "give the column a heading")
        elif column in SHEET_ONLY:
            places |= {column: place} if column == "planned" else {}
        elif column not in COLUMNS:
            note(
                heading,
                "an unknown heading",
                one_of(column, COLUMNS, most=None) + ", or map it in visit.toml under [columns]",
            )
        elif column in places:
            note(heading, f"the column {column} a second time", "keep one of the two")
        else:
            places[column] = place
    if "" in mapped.values():  # what is missing may be what the refused entry was about
        return None if len(problems) > before or not set(REQUIRED) <= set(places) else places
    needed = _needed(raw, places)
    missing = [column for column in (*REQUIRED, *OPTIONAL) if column in needed and column not in places]
    for column in missing:
        note(column, "no such column", "add it, or map its heading in visit.toml under [columns]")
    given = sum(column in places for column in FREQUENCIES)
    if given > 1 or (not given and FREQUENCIES[0] in needed):
        found = "both frequency_hz and frequency_rpm" if given else "no such column"
        note("frequency_hz", found, "give one of frequency_hz and frequency_rpm")
    return None if len(problems) > before else places


def _needed(raw: RawTable, places: Mapping[str, int]) -> set[str]:
    """The columns that the rows of a table need, by their tests; of a table without rows those of readings."""
    tests = {_test_of(cells, places) for _, cells in raw.rows if not _is_spare(cells, raw.headings)} or {""}
    readings = (*REQUIRED, FREQUENCIES[0])
    return {*NEEDED_BY_ALL, *(column for test in tests for column in NEEDED_BY.get(test, readings))}


def _has_decimal_commas(raw: RawTable, places: Mapping[str, int]) -> bool:
    numbers = [places[column] for column in NUMBERS if column in places]
    return raw.decimal_comma and any(
        "," in cells[place] for _, cells in raw.rows for place in numbers if place < len(cells)
    )


def _note_repeated_rows(readings: Sequence[Reading], file: str, problems: list[Problem]) -> None:
    key: Callable[[Reading], tuple] = lambda r: (  # noqa: E731
        r.channel,
        r.test,
        r.condition,
        r.frequency_hz,
        r.applied,
        r.applied_unit.text,
        r.output,
        r.output_unit.text,
        r.direction,
        r.repeat,
        r.exclude,
    )
    first: dict[tuple, int] = {}
    for reading in readings:
        row = first.setdefault(key(reading), reading.row)
        if row != reading.row:
            found = f"the same reading as in row {row}"
            remedy = "remove one, or number them in the column repeat if it was really read twice"
            problems.append(Problem(file=file, row=reading.row, found=found, remedy=remedy))
