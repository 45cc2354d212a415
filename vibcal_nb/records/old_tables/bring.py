"""Files read by one layout: readings, what is left out, what the table states itself, and questions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from vibcal_nb.analysis.questions.ask import slip_questions
from vibcal_nb.analysis.questions.question import Question
from vibcal_nb.analysis.questions.stated import Compared, StatedValue, compare_stated
from vibcal_nb.inputs.files.numbers_as_typed import NumberRefused, read_number
from vibcal_nb.inputs.grids.grid import parse_address
from vibcal_nb.inputs.layout.account import Account, account_for
from vibcal_nb.inputs.layout.day import DayUnclear, read_day
from vibcal_nb.inputs.layout.laid_out import LaidRow
from vibcal_nb.inputs.read_laid_out import LaidOutTable, read_laid_out
from vibcal_nb.inputs.read_readings import AnyRow
from vibcal_nb.model.asset import Asset
from vibcal_nb.model.equipment import Equipment
from vibcal_nb.model.layout import Layout
from vibcal_nb.model.readings import Reading, ReadingTable
from vibcal_nb.model.visit import Visit
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import Problem


@dataclass(frozen=True, kw_only=True)
class BroughtFile:
    """One file: its table and sheets, the account of its cells, the day that it states, None where it states none."""

    path: Path
    table: LaidOutTable
    account: Account
    day: date | None


@dataclass(frozen=True, kw_only=True)
class BroughtRow:
    """A reading, or a row not yet read, numbered as in the table that is written, and the row that it comes from."""

    file: str
    found: AnyRow
    laid: LaidRow


@dataclass(frozen=True, kw_only=True)
class Brought:
    """What one layout makes of files. ``problems`` must be mended before anything is written; ``questions`` are asked.

    ``compared`` is how what the tables state agrees with their readings, None without an asset.
    """

    files: tuple[BroughtFile, ...]
    rows: tuple[BroughtRow, ...]
    problems: tuple[Problem, ...]
    questions: tuple[Question, ...]
    compared: Compared | None

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings, as numbered in the table that is written."""
        return tuple(row.found for row in self.rows if isinstance(row.found, Reading))


def first_row(files: int) -> int:
    """Return the row of the first reading below the remarks, one a file and one on the layout, and the headings."""
    return files + 3


def bring(paths: Sequence[Path], layout: Layout, *, asset: Asset | None, day: date | None) -> Brought:
    """Read files by a layout; ``asset`` None checks no channel, ``day`` is that of the visit."""
    problems: list[Problem] = []
    files = [file for path in paths if (file := _read(path, layout, asset, problems)) is not None]
    pairs = [
        (file.path.name, found, row)
        for file in files
        for found, row in zip(file.table.rows, file.table.laid.rows, strict=False)
        if found is not None
    ]
    top = first_row(len(paths))
    rows = tuple(
        BroughtRow(file=name, found=replace(found, row=top + i), laid=row) for i, (name, found, row) in enumerate(pairs)
    )
    compared, questions = None, [*_days(files, day)]
    if asset is not None and not problems:
        compared = compare_stated(asset, list(_stated(rows)), file="readings.csv")
        questions += compared.questions
        questions += slip_questions(_as_visit(asset, rows, day))
    return Brought(
        files=tuple(files),
        rows=rows,
        problems=tuple(problems),
        questions=tuple(questions),
        compared=compared,
    )


def _read(path: Path, layout: Layout, asset: Asset | None, problems: list[Problem]) -> BroughtFile | None:
    table = read_laid_out(path, problems, asset=asset, layout=layout)
    if table is None:
        return None
    account = account_for(table.grids, table.laid, layout)
    return BroughtFile(path=path, table=table, account=account, day=_day(path, table, layout, problems))


def _day(path: Path, table: LaidOutTable, layout: Layout, problems: list[Problem]) -> date | None:
    at = parse_address(layout.day_cell or "")
    cell = table.laid.read[0].at(*at) if at is not None and table.laid.read else None
    if not cell:
        return None
    try:
        return read_day(cell, layout.day_form)
    except DayUnclear as unclear:
        found = f"'{cell.text}' as the day"
        problems.append(Problem(file=path.name, column=layout.day_cell, found=found, remedy=str(unclear)))
        return None


def _days(files: Sequence[BroughtFile], day: date | None) -> Iterator[Question]:
    for file in files:
        if day is not None and file.day is not None and file.day != day:
            text = f"the table is of {file.day}, and the visit of {day}. Is this the right visit?"
            yield Question(file=file.path.name, text=text)


def _stated(rows: Sequence[BroughtRow]) -> Iterator[StatedValue]:
    for row in rows:
        for quantity, text in row.laid.stated.items():
            try:
                value, decimals = read_number(text, decimal_comma=False)
            except NumberRefused:
                continue
            if isinstance(row.found, Reading):
                yield StatedValue(reading=row.found, quantity=quantity, value=value, decimals=decimals)


def _as_visit(asset: Asset, rows: Sequence[BroughtRow], day: date | None) -> VisitFolder:
    """A visit of these readings and nothing else: what is asked of its rows needs no more."""
    readings = tuple(row.found for row in rows if isinstance(row.found, Reading))
    return VisitFolder(
        path=Path(),
        asset=asset,
        equipment=Equipment(),
        visit=Visit(date=day or date.max, performed_by="", equipment=()),
        table=ReadingTable(readings=readings, file="readings.csv"),
        references=(),
        readouts=(),
    )
