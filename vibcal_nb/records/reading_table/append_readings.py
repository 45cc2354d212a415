"""Readings added below a visit's reading table, in the table's own form; the table is never half written."""

from __future__ import annotations

import csv
import io
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.files.table_files import RawTable, find_encoding, find_separator, read_table
from vibcal_nb.inputs.load_visits import TABLES
from vibcal_nb.inputs.read_readings import OPTIONAL, REQUIRED, read_readings
from vibcal_nb.model.asset import Asset
from vibcal_nb.problems import InputRefused, Problem
from vibcal_nb.records.files.whole_files import write_atomically

NewRow = Mapping[str, str | float]
COLUMNS = (*REQUIRED[:3], "frequency_hz", *REQUIRED[3:], *OPTIONAL)


def append_readings(visit_folder: Path, rows: Sequence[NewRow], *, asset: Asset, columns: Mapping[str, str]) -> Path:
    """Add rows, by column of the reading table, to the visit's table; where there is none, make readings.csv.

    ``columns`` maps other headings, as in visit.toml. The new table is read before it takes the old one's place.
    Raises ``InputRefused`` with every problem, the old table untouched.
    """
    path = next((p for name in TABLES if (p := visit_folder / name).exists()), visit_folder / TABLES[0])
    if path.suffix == ".ods":
        found = f"{len(rows)} new {'row' if len(rows) == 1 else 'rows'} for an ODS table"
        raise InputRefused(
            [Problem(file=path.name, found=found, remedy="save the table as readings.xlsx or readings.csv")]
        )
    content = _longer_xlsx(path, rows, columns) if path.suffix == ".xlsx" else _longer_csv(path, rows, columns)
    with tempfile.TemporaryDirectory() as folder:
        trial = Path(folder) / path.name
        trial.write_bytes(content)
        problems: list[Problem] = []
        read_readings(trial, problems, asset=asset, columns=columns)
        if problems:
            raise InputRefused(problems)
    write_atomically(path, content)
    return path


def _headings(raw: RawTable, columns: Mapping[str, str], rows: Sequence[NewRow]) -> list[str]:
    """The table's columns in its order under their contract's names, then those that it lacks."""
    named = [columns.get(heading, heading.strip().lower()) for heading in raw.headings]
    needed = dict.fromkeys(name for row in rows for name in row)
    return [*named, *(name for name in needed if name not in named and not _as_rpm(name, named))]


def _as_rpm(name: str, named: Sequence[str]) -> bool:
    return name == "frequency_hz" and "frequency_rpm" in named


def _cells(row: NewRow, names: Sequence[str]) -> list[Any]:
    values: dict[str, Any] = dict(row)
    if "frequency_rpm" in names:
        values["frequency_rpm"] = float(f"{60.0 * float(values['frequency_hz']):.8g}")
    return [values.get(name, "") for name in names]


def _new_csv(rows: Sequence[NewRow]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows([_written(cell, ".") for cell in _cells(row, COLUMNS)] for row in rows)
    return out.getvalue().encode("utf-8")


def _longer_csv(path: Path, rows: Sequence[NewRow], columns: Mapping[str, str]) -> bytes:
    if not path.exists():
        return _new_csv(rows)
    raw, old = _raw(path), path.read_bytes()
    encoding = find_encoding(old)
    text = old.decode(encoding)
    separator = find_separator(text.splitlines()[raw.heading_row - 1])
    lines = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    names = _headings(raw, columns, rows)
    lines[raw.heading_row - 1] += names[len(raw.headings) :]
    decimal = "," if raw.decimal_comma and _uses_comma(raw) else "."
    lines += [[_written(cell, decimal) for cell in _cells(row, names)] for row in rows]
    out = io.StringIO(newline="")
    ending = "\r\n" if "\r\n" in text else "\n"
    csv.writer(out, delimiter=separator, lineterminator=ending).writerows(lines)
    return out.getvalue().encode(encoding)


def _raw(path: Path) -> RawTable:
    problems: list[Problem] = []
    raw = read_table(path, problems)
    if raw is None:
        raise InputRefused(problems)
    return raw


def _uses_comma(raw: RawTable) -> bool:
    return any("," in cell and cell.replace(",", "").isdigit() for _, cells in raw.rows for cell in cells)


def _written(cell: str | float, decimal: str) -> str:
    return cell if isinstance(cell, str) else f"{cell:.8g}".replace(".", decimal)


def _longer_xlsx(path: Path, rows: Sequence[NewRow], columns: Mapping[str, str]) -> bytes:
    import openpyxl  # slow to import

    raw = _raw(path)
    names = _headings(raw, columns, rows)
    book = openpyxl.load_workbook(path)
    sheet = book.worksheets[0]
    for place in range(len(raw.headings), len(names)):
        sheet.cell(row=raw.heading_row, column=place + 1, value=names[place])
    first = 1 + max([raw.heading_row, *(number for number, _ in raw.rows)])
    for number, row in enumerate(rows, start=first):
        for place, cell in enumerate(_cells(row, names), start=1):
            if cell != "":
                sheet.cell(row=number, column=place, value=cell)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()
