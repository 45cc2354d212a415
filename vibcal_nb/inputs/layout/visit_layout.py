"""How the reading table of a visit is laid out: [columns], [table], or a layout file that many visits share."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from vibcal_nb.inputs.files.toml_table import TomlTable, load_toml
from vibcal_nb.inputs.layout.read_layout import read_layout_file, read_table
from vibcal_nb.model.keys.reading_columns import READING_TABLE
from vibcal_nb.model.keys.visit_keys import VISIT_FILE
from vibcal_nb.model.layout import Layout
from vibcal_nb.problems import Problem, one_of, shown

COLUMNS = READING_TABLE.names
REFUSED = ""
"""What a heading stands for whose entry in [columns] is wrong: it is told there, and not again in the table."""


def read_columns(root: TomlTable) -> dict[str, str]:
    """Read [columns], heading to column; a heading whose entry is wrong stands for ``REFUSED``."""
    _, value = root.take("columns", "column by heading")
    mapped: dict[str, str] = {}
    if value is not None and not isinstance(value, dict):
        root.note("columns", shown(value), "give a table [columns], a heading on the left and its column on the right")
        return mapped
    for heading, column in (value or {}).items():
        remedy = None
        if column not in COLUMNS:
            turned = heading in COLUMNS and isinstance(column, str)
            remedy = (
                f"write the heading of the table on the left: {shown(column)} = {shown(heading)}"
                if turned
                else one_of(str(column), COLUMNS, most=None)
            )
            root.note(f"columns.{heading}", shown(column), remedy)
        elif column in mapped.values():
            found = f"the column {shown(column)} a second time"
            root.note(f"columns.{heading}", found, "map one heading to each column")
            remedy = "said"
        mapped[heading.strip()] = REFUSED if remedy else column
    return mapped


def read_visit_layout(root: TomlTable, folder: Path, columns: Mapping[str, str]) -> Layout | None:
    """Read [table], or the layout file that ``layout`` names; None where the table is as the contract has it.

    ``columns`` are those of [columns]: they hold in every part that has such a heading and does not say otherwise.
    """
    table, name = root.table("table"), root.text("layout")
    if table is not None and name:
        root.note("layout", shown(name), "give one of layout and [table]")
    if table is not None:
        layout = read_table(table)
    elif name:
        path = layout_path(folder, name)
        if path is None:
            remedy = (
                "name a layout file in the visit's folder, its asset's, or its site's, such as '../old-workbook.toml'"
            )
            root.note("layout", shown(name), remedy)
            return None
        found = read_layout_file(path, root.problems)
        if found is None:
            return None
        layout = found
    else:
        return None
    mapped = {heading: column for heading, column in columns.items() if column != REFUSED}
    return replace(layout, columns=mapped)


def layout_path(folder: Path, name: str) -> Path | None:
    """Return the layout file that a visit names; None where it would lie outside the site's folder."""
    home = Path(os.path.abspath(folder))  # noqa: PTH100  # a link is not followed away from its asset
    site = home.parent.parent
    path = Path(os.path.normpath(home / name))
    inside = path.is_relative_to(site) and path.suffix == ".toml"
    return path if inside and path.resolve().is_relative_to(site.resolve()) else None


def named_layout(folder: Path) -> Path | None:
    """Return the layout file that a visit's own file names, where it names one that there is."""
    values = load_toml(folder / "visit.toml", [])
    name = (values or {}).get("layout")
    path = layout_path(folder, name) if isinstance(name, str) and name else None
    return path if path is not None and path.is_file() else None


def what_holds(path: Path) -> tuple[dict[str, str], Layout | None]:
    """Return columns and layout of a visit's file that is refused for other reasons, to read its table all the same."""
    problems: list[Problem] = []  # they are told where the file itself is read
    values = load_toml(path, problems)
    if values is None:
        return {}, None
    root = TomlTable.of_file(VISIT_FILE, path.name, values, problems)
    columns = read_columns(root)
    return columns, read_visit_layout(root, path.parent, columns)
