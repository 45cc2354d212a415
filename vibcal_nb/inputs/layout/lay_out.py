"""Sheets and a layout to rows by column of the reading table."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from vibcal_nb.inputs.grids.grid import Grid
from vibcal_nb.inputs.layout.laid_out import LaidOut
from vibcal_nb.inputs.layout.part_columns import find_part_columns
from vibcal_nb.inputs.layout.part_rows import add_rows
from vibcal_nb.model.layout import ALL_SHEETS, Layout
from vibcal_nb.problems import Problem, one_of, shown


def lay_out(path: Path, grids: Sequence[Grid], layout: Layout, problems: list[Problem]) -> LaidOut:
    """Follow a layout to the letter; every problem is noted with its sheet and row."""
    found = LaidOut(file=path.name)
    for grid in _chosen(path, grids, layout, problems):
        found.read.append(grid)
        file = f"{path.name}, sheet {grid.name}" if grid.name else path.name
        for part in layout.parts:
            before = len(problems)
            columns = find_part_columns(grid, part, shared=layout.columns, file=file, laid=found, problems=problems)
            if len(problems) == before:
                add_rows(grid, part, columns, layout=layout, stem=path.stem, laid=found)
    return found


def _chosen(path: Path, grids: Sequence[Grid], layout: Layout, problems: list[Problem]) -> list[Grid]:
    if not layout.sheets:
        return list(grids[:1])
    if ALL_SHEETS in layout.sheets:
        return list(grids)
    by_name = {grid.name: grid for grid in grids}
    for name in layout.sheets:
        if name not in by_name:
            found = f"no sheet {shown(name)}"
            problems.append(Problem(file=path.name, found=found, remedy=one_of(name, by_name, most=None)))
    return [by_name[name] for name in layout.sheets if name in by_name]
