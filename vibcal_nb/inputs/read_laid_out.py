"""A table that is laid out otherwise, read as the reading table is: the same checks, the same sentences."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from vibcal_nb.inputs.files.table_files import RawTable
from vibcal_nb.inputs.grids.grid import Grid
from vibcal_nb.inputs.grids.read_grids import read_grids
from vibcal_nb.inputs.layout.laid_out import LaidOut, LaidRow
from vibcal_nb.inputs.layout.lay_out import lay_out
from vibcal_nb.inputs.read_readings import COLUMNS, AnyRow, collect_readings, reader_of
from vibcal_nb.model.asset import Asset
from vibcal_nb.model.layout import Layout
from vibcal_nb.model.readings import PendingRow, ReadingTable
from vibcal_nb.problems import Problem

FIRST_ROW = 2  # of a reading table: the headings are row 1
_PLACES = {name: place for place, name in enumerate(COLUMNS)}


@dataclass(frozen=True, kw_only=True)
class LaidOutTable:
    """A file read by its layout: its ``readings`` (None where there is a problem), its rows, and its sheets.

    ``rows`` and ``laid.rows`` go together: ``rows[i]`` is the reading, or the row not yet read, of ``laid.rows[i]``,
    None where it has a problem.
    """

    table: ReadingTable | None
    rows: tuple[AnyRow | None, ...]
    laid: LaidOut
    grids: tuple[Grid, ...]


def read_laid_out(path: Path, problems: list[Problem], *, asset: Asset | None, layout: Layout) -> LaidOutTable | None:
    """Read a file by its layout, noting every problem with its sheet and row; None where it is no table.

    Where several readings stand in one row, or rows of several sheets are read, the readings are numbered through from
    row 2, as in the table that they would make, and a remark tells sheet and cell.
    """
    grids = read_grids(path, problems, encoding=layout.encoding, separator=layout.separator)
    if grids is None:
        return None
    before = len(problems)
    laid = lay_out(path, grids, layout, problems)
    rows = [_read_row(path, row, asset, problems) for row in laid.rows] if len(problems) == before else []
    if len(problems) == before and len({row.row for row in laid.rows}) < len(laid.rows):
        rows = [_numbered(row, laid.rows[i], FIRST_ROW + i) for i, row in enumerate(rows)]
    table = None
    if len(problems) == before:
        table = collect_readings(rows, path.name, problems)
    return LaidOutTable(table=table, rows=tuple(rows), laid=laid, grids=grids)


def _read_row(path: Path, row: LaidRow, asset: Asset | None, problems: list[Problem]) -> AnyRow | None:
    file = f"{path.name}, sheet {row.sheet}" if row.sheet else path.name
    cells = tuple(row.cells.get(name, "") for name in COLUMNS)
    raw = RawTable(headings=COLUMNS, heading_row=1, rows=(), decimal_comma=False, keeps_zeros=row.keeps_zeros)
    places = _places(row)
    return reader_of(cells, places)(file, row.row, cells, places, raw, asset, problems).read()


def _places(row: LaidRow) -> dict[str, int]:
    """Where each column stands: of the two frequencies, the one that the row has."""
    other = "frequency_hz" if "frequency_rpm" in row.cells and "frequency_hz" not in row.cells else "frequency_rpm"
    return {name: place for name, place in _PLACES.items() if name != other}


def _numbered(found: AnyRow | None, row: LaidRow, number: int) -> AnyRow | None:
    if found is not None and not isinstance(found, PendingRow):
        return replace(found, row=number, note="; ".join(filter(None, (found.note, place_of(row)))))
    return None if found is None else replace(found, row=number)


def place_of(row: LaidRow) -> str:
    """Say where a reading stands in its file: sheet and the cell of its output."""
    cell = row.source.get("output") or row.source.get("applied") or f"row {row.row}"
    return f"{row.sheet} {cell}" if row.sheet else cell
