"""The reading table of a visit from what was brought; the numbers stand as they were typed."""

from __future__ import annotations

import csv
import hashlib
import io
import tempfile
from pathlib import Path

from vibcal_nb.inputs.layout.read_layout import COLUMNS
from vibcal_nb.inputs.load_visits import TABLES
from vibcal_nb.inputs.read_laid_out import place_of
from vibcal_nb.inputs.read_readings import read_readings
from vibcal_nb.model.asset import Asset
from vibcal_nb.problems import InputRefused, NotDone, Problem, on_one_line
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.old_tables.bring import Brought, BroughtRow

FREQUENCIES = ("frequency_hz", "frequency_rpm")


def brought_csv(brought: Brought, *, layout: str) -> str:
    """Return the reading table, with remarks on top that name the files, their sums, and the layout."""
    used = {name for row in brought.rows for name in row.laid.cells}
    columns = [name for name in COLUMNS if name in used or name in ("note", "frequency_hz")]
    if "frequency_rpm" in used:  # of two columns for one thing, a table has one
        columns = [name for name in columns if name != "frequency_rpm"]
    out = io.StringIO(newline="")
    for file in brought.files:
        digest = hashlib.sha256(file.path.read_bytes()).hexdigest()
        out.write(f"# from {on_one_line(file.path.name)}, SHA-256 {digest}\n")
    out.write(f"# read by the layout {on_one_line(layout)}\n")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([_cell(row, name) for name in columns] for row in brought.rows)
    return out.getvalue()


def _cell(row: BroughtRow, name: str) -> str:
    cells = row.laid.cells
    if name == "frequency_hz" and name not in cells and "frequency_rpm" in cells:
        return f"{float(cells['frequency_rpm']) / 60.0:.10g}"
    if name == "note":
        return "; ".join(filter(None, (cells.get("note", ""), f"{row.file} {place_of(row.laid)}")))
    return cells.get(name, "")


def write_brought(visit: Path, brought: Brought, *, asset: Asset, layout: str) -> Path:
    """Write the reading table of a visit, read back before it takes its place.

    Raises ``NotDone`` where the visit has a table already, ``InputRefused`` with every problem: nothing is written.
    """
    there = [visit / name for name in TABLES if (visit / name).exists()]
    if there:
        raise NotDone(f"{there[0].as_posix()} is there already and is not overwritten; give another visit.")
    if brought.problems:
        raise InputRefused(brought.problems)
    content = brought_csv(brought, layout=layout)
    with tempfile.TemporaryDirectory() as folder:
        trial = Path(folder) / TABLES[0]
        trial.write_text(content, encoding="utf-8", newline="")
        problems: list[Problem] = []
        read = read_readings(trial, problems, asset=asset, columns={})
    if problems:
        raise InputRefused(problems)
    if read is None or [(r.applied, r.output) for r in read.readings] != [
        (r.applied, r.output) for r in brought.readings
    ]:
        raise NotDone(f"The table for {visit.as_posix()} would not read back as it was brought; nothing was written.")
    path = visit / TABLES[0]
    write_atomically(path, content)
    return path
