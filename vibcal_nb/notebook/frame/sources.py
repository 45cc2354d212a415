"""What a record was made from: each part with its sum, and the versions of the software."""

from __future__ import annotations

import platform
from collections.abc import Iterator, Mapping
from importlib.metadata import version
from typing import Any

from vibcal_nb.display.writing.names import plural
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.records.files.canonical import sum_of
from vibcal_nb.records.inputs_used.visit_statement import parts_of

MADE_WITH = "Made with"
"""Begins what is shown of the software, which another installation shows otherwise."""

_PARTS = {
    "channel": "limits and items of the channel",
    "channel_as_left": "limits and items of the channel as it was left",
    "visit": "what the visit states of itself",
}


def sources_table(statement: Mapping[str, Any]) -> Table:
    """Return what a record was made from: the parts of each visit that it used, with their SHA-256 sums."""
    rows = [row for visit in statement["visits"] for row in _visit_rows(visit)]
    if "like" in statement:
        like = f"whether {plural(len(statement['like']), 'channel')} of its kind stood within tolerance"
        rows.append(Row(cells=("all visits", like, sum_of(statement["like"]))))
    return Table(
        caption="Made from, and from nothing else",
        headings=("visit", "part", "SHA-256"),
        rows=tuple(rows),
        text_columns=(0, 1, 2),
    )


def _visit_rows(visit: Mapping[str, Any]) -> Iterator[Row]:
    name = str(visit["name"])
    if "problem" in visit:
        yield Row(cells=(name, visit["problem"], ""))
        return
    sums = parts_of(visit)
    for key, lines in visit["rows"].items():
        yield Row(cells=(name, f"{plural(len(lines) - 1, 'row')} of {visit['table']}, {key}", sums[f"rows {key}"]))
    for key, rows in visit.get("pending", {}).items():
        yield Row(cells=(name, f"{plural(len(rows), 'row')} not yet read, {key}", sums[f"pending {key}"]))
    for part, said in _PARTS.items():
        if part in sums:
            yield Row(cells=(name, said, sums[part]))
    for item in (*visit["references"], *visit["readouts"]):
        said = f"certificate of {item['id']}, calibrated {item['calibrated']}"
        yield Row(cells=(name, said, sum_of(item)))
    for item in visit.get("shakers", ()):
        yield Row(cells=(name, f"shaker {item['id']}", sum_of(item)))


def software_table() -> Table:
    """Return the versions of the software that shows this."""
    names = ("vibcal_nb", "numpy", "scipy", "matplotlib", "papermill")
    rows = [Row(cells=(name, version(name))) for name in names]
    rows.append(Row(cells=("Python", platform.python_version())))
    return Table(caption=MADE_WITH, headings=("software", "version"), rows=tuple(rows), text_columns=(0, 1))
