"""A file to its sheets, whatever its form."""

from __future__ import annotations

from pathlib import Path

from vibcal_nb.inputs.files.table_files import MOST_BYTES, TableRefused
from vibcal_nb.inputs.grids.csv_grid import read_csv_grid
from vibcal_nb.inputs.grids.grid import Grid
from vibcal_nb.inputs.grids.open_document import read_open_document_grids
from vibcal_nb.inputs.grids.workbook_grid import read_workbook_grids
from vibcal_nb.problems import Problem

WORKBOOKS = {".xlsx": read_workbook_grids, ".xlsm": read_workbook_grids, ".ods": read_open_document_grids}
TEXTS = (".csv", ".txt", ".tsv", ".asc")


def read_grids(
    path: Path, problems: list[Problem], *, encoding: str | None = None, separator: str | None = None
) -> tuple[Grid, ...] | None:
    """Read a file's sheets; None, with the problem noted, where it is no table. A macro in a workbook is never run."""
    try:
        if not path.exists():
            raise TableRefused("no such file", "give the name of a file that is there")
        if not path.is_file():  # reading a pipe would wait for whoever writes to it
            raise TableRefused("a folder, a pipe or a device where a file belongs", "give the table itself")
        if path.stat().st_size > MOST_BYTES:
            raise TableRefused(f"more than {MOST_BYTES // 1_000_000} MB", "split the table by visit")
        return _read(path, encoding, separator)
    except TableRefused as refused:
        problems.append(Problem(file=path.name, found=refused.found, remedy=refused.remedy))
    except OSError as error:
        found = f"a file that cannot be read ({error.strerror})"
        problems.append(Problem(file=path.name, found=found, remedy="make it readable"))
    return None


def _read(path: Path, encoding: str | None, separator: str | None) -> tuple[Grid, ...]:
    kind = path.suffix.lower()
    if kind in WORKBOOKS:
        grids = WORKBOOKS[kind](path)
    elif kind in TEXTS:
        grids = (read_csv_grid(path.read_bytes(), encoding=encoding, separator=separator),)
    else:
        known = ", ".join((*WORKBOOKS, *TEXTS))
        raise TableRefused(f"a file of the kind '{kind}'", f"save it as one of {known}")
    if not any(any(grid.rows) for grid in grids):
        raise TableRefused("an empty file", "give a table with readings in it")
    return grids
