"""A reading table to fill in, as XLSX or CSV: what comes back is read without editing, half-filled too."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.planning.channel_plan import ChannelPlan
from vibcal_nb.display.style import BLUE, INK, ORANGE, VERMILION, YELLOW, tint
from vibcal_nb.inputs.files.table_files import REMARK
from vibcal_nb.model.names import CONDITIONS, DIRECTIONS, TESTS
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.reading_table.reading_sheet_rows import (
    COLUMNS,
    FILLED_IN,
    SheetRow,
    gap_sentences,
    heading_remarks,
    sheet_rows,
)

SPARE_ROWS = 20
_WIDTHS = {
    **dict.fromkeys(COLUMNS, 12.0),
    "channel": 14.0,
    "test": 15.0,
    "purpose": 24.0,
    "exclude": 26.0,
    "note": 34.0,
    "repeat": 8.0,
}
_INPUT, _OUTSIDE, _HEAD, _CAUTION = (
    tint(colour, share).lstrip("#") for colour, share in ((YELLOW, 0.2), (VERMILION, 0.3), (BLUE, 0.15), (ORANGE, 0.3))
)


def write_sheet_csv(path: Path, plans: Sequence[ChannelPlan], *, condition: str) -> None:
    """Write the sheet as CSV (comma, decimal point, UTF-8 with a mark that spreadsheets know it by).

    Raises ``OSError``.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerows([f"{REMARK} {said}"] for said in (*heading_remarks(plans), *gap_sentences(plans)))
    columns = [column for column in COLUMNS if column != "outside"]
    writer.writerow(columns)
    for row in sheet_rows(plans, condition=condition):
        cells = row.cells()
        writer.writerow(["" if cells[column] is None else cells[column] for column in columns])
    write_atomically(path, text.getvalue().encode("utf-8-sig"))


def write_sheet_xlsx(path: Path, plans: Sequence[ChannelPlan], *, condition: str) -> None:
    """Write the sheet as a workbook: cautions on top, headings frozen, units fixed, plausibility watched.

    What is planned is locked without a password; the cells to fill in, remarks, and spare rows below are open.
    Raises ``OSError``.
    """
    import openpyxl  # slow to import

    book = openpyxl.Workbook()
    sheet: Any = book.active
    sheet.title = "readings"
    remarks = heading_remarks(plans)
    rows = sheet_rows(plans, condition=condition)
    heading = len(remarks) + 1
    _write_remarks(sheet, remarks)
    _write_headings(sheet, heading)
    for number, row in enumerate(rows, start=heading + 1):
        _write_row(sheet, number, row)
    last = heading + len(rows)
    _open_spare_rows(sheet, last + 1)
    _validate(sheet, heading + 1, last, plans)
    _watch(sheet, heading + 1, last)
    sheet.freeze_panes = f"E{heading + 1}"
    sheet.protection.sheet = True
    sheet.protection.formatColumns = False
    _set_up_page(sheet, heading)
    _write_gaps(book, gap_sentences(plans))
    content = io.BytesIO()
    book.save(content)
    write_atomically(path, content.getvalue())


def _write_remarks(sheet: Any, remarks: Sequence[str]) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill

    for number, said in enumerate(remarks, start=1):
        sheet.merge_cells(start_row=number, start_column=1, end_row=number, end_column=len(COLUMNS))
        cell = sheet.cell(row=number, column=1, value=f"{REMARK} {said}")
        cell.alignment = Alignment(wrap_text=True, vertical="center")
        cell.font = Font(bold=number == 1)
        cell.fill = PatternFill("solid", fgColor=_HEAD if number == 1 else _CAUTION)
        sheet.row_dimensions[number].height = 16.0 if len(said) < 200 else 30.0


def _write_headings(sheet: Any, number: int) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter

    for place, column in enumerate(COLUMNS, start=1):
        cell = sheet.cell(row=number, column=place, value=column)
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", fgColor=_HEAD)
        cell.alignment = Alignment(horizontal="center")
        sheet.column_dimensions[get_column_letter(place)].width = _WIDTHS[column]


def _write_row(sheet: Any, number: int, row: SheetRow) -> None:
    from openpyxl.styles import Alignment, Protection

    for place, (column, value) in enumerate(row.cells().items(), start=1):
        cell = sheet.cell(row=number, column=place, value=value)
        if isinstance(value, str):
            cell.alignment = Alignment(horizontal="left", indent=1)
        if column in ("lowest", "expected", "highest"):
            cell.value = _limit_formula(number, row, float(value or 0.0))
            cell.number_format = _four_digits(row.point.output.highest)
        if column == "outside":
            cell.value = _outside_formula(number)
        if column in (*FILLED_IN, "exclude", "note", "repeat", "direction", "condition"):
            cell.protection = Protection(locked=False)
        if column in FILLED_IN:
            _mark_input(cell)


def _four_digits(largest: float) -> str:
    decimals = 3 - math.floor(math.log10(abs(largest))) if largest else 3
    return "0." + "0" * decimals if decimals > 0 else "0"


def _mark_input(cell: Any) -> None:
    from openpyxl.styles import Border, PatternFill, Side

    edge = Side(style="thin", color="999999")
    cell.fill = PatternFill("solid", fgColor=_INPUT)
    cell.border = Border(left=edge, right=edge, top=edge, bottom=edge)


def _place(column: str) -> str:
    return "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[COLUMNS.index(column)]


def _limit_formula(number: int, row: SheetRow, value: float) -> str:
    """The limit at the level that was really applied, and at the planned one until then."""
    applied, planned = f"{_place('applied')}{number}", f"{_place('planned')}{number}"
    slope = (value - row.zero) / row.point.level
    return f"={row.zero:.8g}+{slope:.8g}*IF(ISNUMBER({applied}),{applied},{planned})"


def _outside_formula(number: int) -> str:
    applied, output, lowest, highest = (f"{_place(c)}{number}" for c in ("applied", "output", "lowest", "highest"))
    judged = f'IF(OR({output}<{lowest},{output}>{highest}),"OUTSIDE","")'
    return f'=IF(ISNUMBER({output}),IF(ISNUMBER({applied}),{judged},"applied?"),"")'


def _open_spare_rows(sheet: Any, first: int) -> None:
    """Rows for readings that nobody planned."""
    from openpyxl.styles import Protection

    for number in range(first, first + SPARE_ROWS):
        for place in range(1, len(COLUMNS) + 1):
            sheet.cell(row=number, column=place).protection = Protection(locked=False)


def _validate(sheet: Any, first: int, last: int, plans: Sequence[ChannelPlan]) -> None:
    """Drop-downs where words are chosen, and a question where a number is implausible; a fault may still be entered."""
    spare = last + SPARE_ROWS
    tags = [plan.channel.tag for plan in plans]
    inputs = sorted({point.applied_unit.text for plan in plans for point in plan.points})
    outputs = sorted({point.output_unit.text for plan in plans for point in plan.points})
    for column, choices in (
        ("channel", tags),
        ("test", TESTS),
        ("condition", CONDITIONS),
        ("applied_unit", inputs),
        ("output_unit", outputs),
        ("direction", DIRECTIONS),
    ):
        _offer(sheet, f"{_place(column)}{first}:{_place(column)}{spare}", choices)
    _question(sheet, "applied", first, last, ("0", f"1.5*{_place('planned')}{first}"), "above what was planned")
    between = (f"{_place('lowest')}{first}", f"{_place('highest')}{first}")
    _question(sheet, "output", first, last, between, "outside what a good channel puts out")


def _offer(sheet: Any, cells: str, choices: Sequence[str]) -> None:
    from openpyxl.worksheet.datavalidation import DataValidation

    listed = ",".join(choices)
    if len(listed) > 250:  # the format ends there; a longer list is not offered rather than cut
        return
    rule = DataValidation(type="list", formula1=f'"{listed}"', allow_blank=True, showErrorMessage=True)
    rule.error, rule.errorTitle = f"Choose one of {listed}."[:250], "Not in the list"
    sheet.add_data_validation(rule)
    rule.add(cells)


def _question(sheet: Any, column: str, first: int, last: int, between: tuple[str, str], said: str) -> None:
    from openpyxl.worksheet.datavalidation import DataValidation

    rule = DataValidation(
        type="decimal",
        operator="between",
        formula1=between[0],
        formula2=between[1],
        allow_blank=True,
        showErrorMessage=True,
        errorStyle="warning",
    )
    rule.errorTitle, rule.error = "Please look again", f"This is {said}. Keep it if it is what you read."
    sheet.add_data_validation(rule)
    rule.add(f"{_place(column)}{first}:{_place(column)}{last}")


def _watch(sheet: Any, first: int, last: int) -> None:
    """The column that turns visible, and the output with it."""
    from openpyxl.formatting.rule import FormulaRule
    from openpyxl.styles import Font, PatternFill

    cell = f"${_place('outside')}{first}"
    rule = FormulaRule(
        formula=[f'{cell}<>""'],
        fill=PatternFill("solid", bgColor=_OUTSIDE, fgColor=_OUTSIDE),
        font=Font(bold=True, color=INK.lstrip("#")),
    )
    for column in ("outside", "output"):
        sheet.conditional_formatting.add(f"{_place(column)}{first}:{_place(column)}{last}", rule)


def _set_up_page(sheet: Any, heading: int) -> None:
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_margins.left = sheet.page_margins.right = 0.3
    sheet.page_margins.top = sheet.page_margins.bottom = 0.4
    sheet.print_title_rows = f"{heading}:{heading}"


def _write_gaps(book: Any, sentences: Sequence[str]) -> None:
    from openpyxl.styles import Alignment, Font

    sheet = book.create_sheet("stays unverified")
    sheet.column_dimensions["A"].width = 140.0
    sheet["A1"] = "What this plan does not reach, and what would cover it" if sentences else "Nothing is out of reach"
    sheet["A1"].font = Font(bold=True)
    for number, sentence in enumerate(sentences, start=2):
        sheet.cell(row=number, column=1, value=sentence).alignment = Alignment(wrap_text=True)
