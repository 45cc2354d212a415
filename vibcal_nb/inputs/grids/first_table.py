"""The first sheet of an ODS file as the reading table, headings first."""

from __future__ import annotations

from pathlib import Path

from vibcal_nb.inputs.files.table_files import RawTable, TableRefused, make_table
from vibcal_nb.inputs.grids.read_grids import read_grids
from vibcal_nb.problems import Problem


def read_first_table(path: Path, problems: list[Problem]) -> RawTable | None:
    """Read the first sheet that holds cells; None, with the problem noted, where it is no table."""
    grids = read_grids(path, problems)
    if grids is None:
        return None
    rows = ((number, tuple(cell.text for cell in row)) for number, row in enumerate(grids[0].rows, start=1))
    try:
        return make_table(rows, decimal_comma=False, keeps_zeros=False)
    except TableRefused as refused:
        problems.append(Problem(file=path.name, found=refused.found, remedy=refused.remedy))
        return None
