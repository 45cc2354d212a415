"""Table files as rows of text: CSV in the forms that spreadsheets write, and XLSX."""

from __future__ import annotations

import csv
import io
import warnings
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.files.merge_marks import REMEDY, merge_marks
from vibcal_nb.inputs.files.workbook_parts import Excess, check_parts
from vibcal_nb.problems import Problem, Refused

MOST_ROWS = 200_000
MOST_CELLS = 5_000_000
MOST_BYTES = 50_000_000  # of the file, and of the text in its cells
MOST_COLUMNS = 200
REMARK = "#"
SEPARATORS = (";", "\t", ",")
STATED = "sep="


@dataclass(frozen=True, kw_only=True)
class RawTable:
    """Headings and the rows below, with their numbers as a spreadsheet counts; cells are texts.

    Remarks may stand above the headings: rows whose first cell begins with ``#``. Otherwise headings are row 1.

    ``decimal_comma`` says whether a comma may be a decimal mark; ``keeps_zeros`` whether a number's last zeros
    are as typed, which a workbook does not keep.
    """

    headings: tuple[str, ...]
    heading_row: int
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    decimal_comma: bool
    keeps_zeros: bool


class TableRefused(Refused):
    """A file that is no table; ``found`` and ``remedy`` make its sentence."""

    def __init__(self, found: str, remedy: str) -> None:
        super().__init__(found)
        self.found, self.remedy = found, remedy


def read_table(path: Path, problems: list[Problem]) -> RawTable | None:
    """Read a table file; None, with the problem noted, where it is none."""
    try:
        if not path.is_file():  # reading a pipe would wait for whoever writes to it
            raise TableRefused("a folder, a pipe or a device where a file belongs", "put the table itself there")
        if path.stat().st_size > MOST_BYTES:
            raise TableRefused(f"more than {MOST_BYTES // 1_000_000} MB", "split the table by visit")
        return _read_xlsx(path) if path.suffix.lower() == ".xlsx" else _read_csv(path.read_bytes())
    except TableRefused as refused:
        problems.append(Problem(file=path.name, found=refused.found, remedy=refused.remedy))
    except OSError as error:
        problems.append(
            Problem(file=path.name, found=f"a file that cannot be read ({error.strerror})", remedy="make it readable")
        )
    return None


def _read_csv(data: bytes) -> RawTable:
    text = _decode(data)
    marks = merge_marks(text)
    if marks is not None:
        raise TableRefused(marks, REMEDY)
    separator = stated_separator(text) or find_separator(_first_line(text))
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=False)
    return make_table(_csv_rows(reader), decimal_comma=separator != ",", keeps_zeros=True)


def _decode(data: bytes) -> str:
    encoding = find_encoding(data)
    if encoding != "utf-16" and b"\0" in data:
        raise TableRefused("NUL bytes, which no text file has", "export the table again as CSV or XLSX")
    return data.decode(encoding, errors="replace")


def find_encoding(data: bytes) -> str:
    """Return what a table's text is encoded in; ``utf-8-sig`` only where the mark is there."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "utf-16"
    if data.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _first_line(text: str) -> str:
    lines = (line for line in text.splitlines() if line.strip() and not line.lstrip('"').startswith(REMARK))
    return next(lines, "")


def find_separator(heading: str) -> str:
    """Return the one of comma, semicolon and tab that the heading row holds most of."""
    return max(SEPARATORS, key=heading.count)


def stated_separator(text: str) -> str | None:
    """Return what a first line ``sep=;`` says, which some spreadsheets write for others; None without one."""
    first = text.removeprefix("\ufeff").lstrip()[:8].strip('"').lower()
    return first[4:5] if first.startswith(STATED) and first[4:5] in SEPARATORS else None


def _csv_rows(reader: Iterator[list[str]]) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Number the rows as a spreadsheet does: a quoted line break does not begin a new one."""
    number = 0
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise TableRefused(f"row {number + 1} that is no CSV ({error})", "export the table again") from None
        number += 1
        if len(cells) > 10 * MOST_COLUMNS:
            raise TableRefused(f"{len(cells):,} cells in row {number}", "keep the columns of a reading table only")
        yield number, tuple(cell.strip() for cell in cells)


def make_table(numbered: Iterable[tuple[int, tuple[str, ...]]], *, decimal_comma: bool, keeps_zeros: bool) -> RawTable:
    """Return headings and the rows below of numbered rows of texts. Raises ``TableRefused``."""
    headings: tuple[str, ...] | None = None
    rows = []
    first = 1
    count = size = 0
    for number, cells in numbered:
        if number > MOST_ROWS:
            raise TableRefused(f"more than {MOST_ROWS:,} rows", "split the table by visit")
        if not any(cells):
            continue
        count += len(cells)
        size += sum(map(len, cells))
        if count > MOST_CELLS or size > MOST_BYTES:
            raise TableRefused(
                f"more than {MOST_CELLS:,} cells or {MOST_BYTES // 1_000_000} MB of text", "split the table by visit"
            )
        if headings is None:
            if cells[0].startswith(REMARK) or (number == 1 and cells[0].lower().startswith(STATED)):
                first = number + 1
                continue
            if number > first and first == 1:
                raise TableRefused("an empty first row", "put the headings into row 1")
            headings, first = cells, number
            continue
        rows.append((number, cells))
    if headings is None:
        raise TableRefused("an empty file", "put the headings into row 1 and one reading into each row below")
    if len(headings) > MOST_COLUMNS:
        raise TableRefused(f"{len(headings)} columns", "keep the columns of a reading table only")
    return RawTable(
        headings=headings,
        heading_row=first,
        rows=tuple(rows),
        decimal_comma=decimal_comma,
        keeps_zeros=keeps_zeros,
    )


def _read_xlsx(path: Path) -> RawTable:
    check_workbook(path)
    import openpyxl  # slow to import, and few tables need it

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of formats and extensions that the reader leaves out
            with (
                _first_sheet(openpyxl, path, values=True) as sheet,
                _first_sheet(openpyxl, path, values=False) as typed,
            ):
                return make_table(_xlsx_rows(sheet, typed), decimal_comma=False, keeps_zeros=False)
    except TableRefused:
        raise
    except Exception as error:  # the reader raises whatever a broken file makes it raise
        raise TableRefused(
            f"a file that is no readable XLSX table ({type(error).__name__})", "save it again from a spreadsheet"
        ) from None


def check_workbook(path: Path) -> None:
    """Measure a workbook before a reader builds anything of it. Raises ``TableRefused``, ``OSError``."""
    try:
        check_parts(path)
    except Excess as excess:
        raise TableRefused(str(excess), "give a table of the size a person writes") from None
    except OSError:
        raise
    except Exception:  # an archive breaks in as many ways as it has fields
        raise TableRefused("a file that is no XLSX", "save it again from a spreadsheet") from None


@contextmanager
def _first_sheet(openpyxl: Any, path: Path, *, values: bool) -> Iterator[Any]:
    """Open the first sheet: with the ``values`` that formulas had when last calculated, or with the formulas."""
    book = openpyxl.load_workbook(path, read_only=True, data_only=values)
    try:
        sheet = book.worksheets[0]
        sheet.reset_dimensions()  # a file may claim a million columns
        yield sheet
    finally:
        book.close()


def _xlsx_rows(sheet: Any, typed: Any) -> Iterator[tuple[int, tuple[str, ...]]]:
    """A formula that no spreadsheet has calculated has no value; it stands for itself, and is no empty cell."""
    width = MOST_COLUMNS + 1
    both = zip(
        sheet.iter_rows(max_col=width, values_only=True), typed.iter_rows(max_col=width, values_only=True), strict=True
    )
    for number, (row, formulas) in enumerate(both, start=1):
        if formulas.count(None) == row.count(None) == width:
            yield number, ()
            continue
        cells = zip(row, formulas, strict=True)
        yield number, _trimmed(tuple(_cell_text(formula if value is None else value) for value, formula in cells))


def _trimmed(cells: tuple[str, ...]) -> tuple[str, ...]:
    end = len(cells)
    while end and not cells[end - 1]:
        end -= 1
    return cells[:end]


def _cell_text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return str(value).strip()
