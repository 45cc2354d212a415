"""Cases of prepared reading sheets that somebody filled in, changed: remarks above headings, columns for the reader."""

from __future__ import annotations

import contextlib
import csv
import io
import tempfile
from functools import cache
from pathlib import Path
from random import Random

import openpyxl
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from tests.fuzzing.inputs import check_analyses, check_numbers, load_or_refuse, write_csv
from tests.fuzzing.mutations import mutate_bytes, mutate_rows
from tests.fuzzing.nasty import TEXTS
from tests.support.sites.plants import ASSET, EQUIPMENT, build_site
from tests.support.sites.sheet_filling import fill_sheet, heading_row
from vibcal_nb.running.commands.cli import main

_ASSET = ASSET.replace("alert = ", "moving_mass_kg = 0.2\nalert = ")
_EQUIPMENT = (
    EQUIPMENT
    + '[[shaker]]\nid = "SHK-1"\nforce_n = 45\narmature_kg = 0.2\nfrom_hz = 7\nto_hz = 10000\npayload_kg = 0.8\n'
)
KINDS = {"planned sheet, CSV": "readings.csv", "planned sheet, XLSX": "readings.xlsx"}


@cache
def good_sheet() -> bytes:
    """A sheet as `sheet` makes it, filled in as by a person; made once."""
    with tempfile.TemporaryDirectory() as folder:
        home = build_site(Path(folder), [], asset=_ASSET, equipment=_EQUIPMENT)
        (home / "readings.csv").unlink()
        with contextlib.redirect_stdout(io.StringIO()):
            assert main(["sheet", str(home)]) == 0
        fill_sheet(home / "readings.xlsx", gain=lambda cells: 1.01)
        return (home / "readings.xlsx").read_bytes()


@cache
def _good_rows() -> list[list[str]]:
    """The same as rows of texts; what formulas would give is left out, as it is where nothing calculates them."""
    sheet = openpyxl.load_workbook(io.BytesIO(good_sheet())).worksheets[0]
    rows = [["" if cell is None else str(cell) for cell in row] for row in sheet.iter_rows(values_only=True)]
    rows = [["" if cell.startswith("=") else cell for cell in row] for row in rows]
    top = heading_row(sheet) - 1
    return [*([row[0]] for row in rows[:top]), *rows[top:]]


def _csv(random: Random) -> bytes:
    rows = _good_rows()
    if random.random() < 0.6:
        rows = mutate_rows(rows, random, mildly=False)
    data = write_csv(rows, separator=random.choice(",;\t"))
    return mutate_bytes(data, random) if random.random() < 0.5 else data


def _xlsx(random: Random) -> bytes:
    if random.random() < 0.3:
        return mutate_bytes(good_sheet(), random)
    book = openpyxl.load_workbook(io.BytesIO(good_sheet()))
    sheet = book.worksheets[0]
    for merged in list(sheet.merged_cells.ranges):  # of which but the first cell can hold nothing
        sheet.unmerge_cells(str(merged))
    for _ in range(random.randint(1, 3)):
        kind = random.randrange(8)
        row, column = random.randint(1, sheet.max_row), random.randint(1, sheet.max_column)
        if kind == 0:
            sheet.insert_rows(row)
        elif kind == 1:
            sheet.delete_rows(row)
        elif kind == 2:
            sheet.insert_cols(column)
        elif kind == 3:
            sheet.delete_cols(column)
        elif kind == 4:
            sheet.cell(row=row, column=column).value = random.choice((0, -1, 1e300, 2.5, True, None))
        else:
            sheet.cell(row=row, column=column).value = ILLEGAL_CHARACTERS_RE.sub("", random.choice(TEXTS))
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def prepare() -> None:
    """Make the good sheet, before anything is watched."""
    _good_rows()


def try_sheet(kind: str, seed: int, folder: Path) -> str:
    """Try one case; return 'accepted' or 'refused'."""
    random = Random(f"{kind} {seed}")
    home = build_site(folder, [], asset=_ASSET, equipment=_EQUIPMENT)
    for name in KINDS.values():
        (home / name).unlink(missing_ok=True)
    (home / KINDS[kind]).write_bytes(_csv(random) if kind.endswith("CSV") else _xlsx(random))
    visit = load_or_refuse(home)
    if visit is None:
        return "refused"
    check_numbers(visit, None)
    _check_cells(visit.table.readings, home / KINDS[kind])
    check_analyses(visit)
    return "accepted"


def _check_cells(readings, path: Path) -> None:
    """Each number is the one that another reader finds in its cell: openpyxl as a whole book, or csv."""
    rows = _rows_of(path)
    top = next(row for row in rows if any(row) and not row[0].startswith("#"))
    headings = [cell.strip().lower() for cell in top]
    for reading in readings:
        cells = dict(zip(headings, rows[reading.row - 1], strict=False))
        for name, value in (
            ("frequency_hz", reading.frequency_hz),
            ("applied", reading.applied),
            ("output", reading.output),
        ):
            assert value == float(cells[name].replace(",", ".")), (name, cells[name], value)


def _rows_of(path: Path) -> list[list[str]]:
    if path.suffix == ".xlsx":
        sheet = openpyxl.load_workbook(path, data_only=True).worksheets[0]
        return [["" if cell is None else str(cell) for cell in row] for row in sheet.iter_rows(values_only=True)]
    data = path.read_bytes()
    text = data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig", "replace")
    first = next(line for line in text.splitlines() if line.strip() and not line.lstrip('"').startswith("#"))
    separator = max((";", "\t", ","), key=first.count)
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
