"""The visit's table as a file: who has it open, whether it is settled, a workbook put into CSV."""

from __future__ import annotations

import csv
import io
import time
from pathlib import Path

from vibcal_nb.inputs.files.table_files import read_table
from vibcal_nb.inputs.grids.first_table import read_first_table
from vibcal_nb.inputs.load_visits import TABLES
from vibcal_nb.problems import InputRefused, NotDone, Problem
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.files.whole_files import write_atomically

PREPARED = "prepared"
_SETTLED_SECONDS = 0.5
_LOOK_SECONDS = 0.15
_MOST_LOOKS = 8


def read_settled(path: Path, *, last: bytes | None) -> bytes | None:
    """Return the file's bytes, None where there is none; one that another program is just writing is waited for."""
    found = _read(path)
    if found is None or found == last:
        return found
    for _ in range(_MOST_LOOKS):
        if time.time() - path.stat().st_mtime > _SETTLED_SECONDS:
            break
        time.sleep(_LOOK_SECONDS)
        again = _read(path)
        if again == found:
            break
        found = again
    return found


def _read(path: Path) -> bytes | None:
    try:
        return read_plain(path)
    except FileNotFoundError:
        return None


def open_elsewhere(path: Path) -> str | None:
    """Say who has the table open in a spreadsheet, as far as the spreadsheet says so by a file beside it."""
    lock = path.with_name(f".~lock.{path.name}#")
    try:
        fields = read_plain(lock, most=10_000).decode("utf-8", errors="replace").split(",")
    except OSError:
        return None
    who = " on ".join(text.strip() for text in (fields[0], *fields[2:3]) if text.strip())
    return (
        f"{path.name} is open in a spreadsheet{f' ({who})' if who else ''}. Readings go into it all the same; "
        "what is saved there is merged."
    )


def needs_converting(visit_folder: Path) -> Path | None:
    """Return the visit's table where it is a workbook, to which no row is added in time."""
    return next((path for name in TABLES[1:] if (path := visit_folder / name).exists()), None)


def put_into_csv(workbook: Path) -> Path:
    """Write a workbook's table as readings.csv and keep the workbook beside it under another name; return that.

    Raises ``InputRefused``, ``NotDone`` where there is a readings.csv already, ``OSError``.
    """
    target = workbook.with_name(TABLES[0])
    kept = workbook.with_name(f"{workbook.stem}.{PREPARED}{workbook.suffix}")
    for path in (target, kept):
        if path.exists():
            raise NotDone(f"{path.name} is there already; move it away first.")
    problems: list[Problem] = []
    raw = read_first_table(workbook, problems) if workbook.suffix == ".ods" else read_table(workbook, problems)
    if raw is None:
        raise InputRefused(problems)
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(raw.headings)
    writer.writerows(cells for _, cells in raw.rows if any(cells))
    workbook.rename(kept)
    write_atomically(target, out.getvalue())
    return kept
