"""The sheet that is printed and filled in by hand: what is needed on site, in large type, a rule between channels."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.analysis.relay.planned_checks import PlannedCheck
from vibcal_nb.display.style import BLUE, tint
from vibcal_nb.records.reading_table.paper_checks import HEADINGS, MERGED, check_line
from vibcal_nb.records.reading_table.reading_sheet_rows import CAUTIONS, CHECK_CAUTIONS, SheetRow

TITLE = "to print"
_POINTS = 13.0
_ROW_HEIGHT = 24.0
_HEADINGS = ("Hz", "set to", "unit", "applied", "output", "unit", "from", "to", "for")
_WIDTHS = (9.0, 9.0, 11.0, 13.0, 13.0, 9.0, 9.0, 9.0, 27.0)


def write_paper_sheet(
    book: Any, rows: Sequence[SheetRow], *, shaker: str, checks: Sequence[PlannedCheck] = (), condition: str = ""
) -> None:
    """Add the sheet to print: portrait A4 at full width, headings on every page; ``checks`` stand last."""
    from openpyxl.utils import get_column_letter

    sheet = book.create_sheet(TITLE)
    for place, width in enumerate(_WIDTHS, start=1):
        sheet.column_dimensions[get_column_letter(place)].width = width
    cautions = (CAUTIONS[0], *(CHECK_CAUTIONS[:2] if checks else ()))
    _write_line(sheet, 1, " ".join(cautions), size=10.0, height=42.0 * len(cautions))
    number = 3
    _write_cells(sheet, 2, _HEADINGS, bold=True)
    block = None
    for row in rows:
        here = (row.point.channel, row.point.test)
        if here != block:
            _begin_block(sheet, number, row, shaker=shaker, new_channel=block is None or block[0] != here[0])
            block, number = here, number + 1
        _write_cells(sheet, number, _cells(row))
        number += 1
    _write_checks(sheet, number, checks, condition)
    _set_up_page(sheet)


def _write_checks(sheet: Any, number: int, checks: Sequence[PlannedCheck], condition: str) -> None:
    """Write a block for each test of each channel or group, under headings of its own."""
    block = None
    for check in checks:
        if (check.channel, check.test) != block:
            block = (check.channel, check.test)
            _write_line(sheet, number, f"{check.channel}: {check.test}, {condition}", bold=True)
            _write_check_line(sheet, number + 1, HEADINGS[check.test], check.test, bold=True)
            number += 2
        _write_check_line(sheet, number, check_line(check), check.test)
        number += 1


def _write_check_line(sheet: Any, number: int, values: Sequence[Any], test: str, *, bold: bool = False) -> None:
    from openpyxl.styles import Alignment

    _write_cells(sheet, number, values, bold=bold)
    for first, last in MERGED[test]:
        sheet.cell(row=number, column=first).alignment = Alignment(horizontal="left", shrink_to_fit=True)
        sheet.merge_cells(start_row=number, start_column=first, end_row=number, end_column=last)


def _cells(row: SheetRow) -> tuple[Any, ...]:
    point = row.point
    output = point.output
    low, high = ("", "") if output is None else (f"{value:.4g}" for value in (output.lowest, output.highest))
    more = [
        "phase" if row.asks_phase else "",
        point.direction or "",
        "" if point.repeat is None else f"pass {point.repeat}",
    ]
    purpose = ", ".join(part for part in (point.purpose, *more) if part)
    return (
        f"{point.frequency_hz:.5g}" if point.frequency_hz else "",
        f"{point.level:.4g}",
        point.applied_unit.text,
        None,
        None,
        point.output_unit.text,
        low,
        high,
        purpose,
    )


def _begin_block(sheet: Any, number: int, row: SheetRow, *, shaker: str, new_channel: bool) -> None:
    from openpyxl.styles import Border, Side

    where = f", {row.location}" if row.location else ""
    _write_line(sheet, number, f"{row.point.channel}{where}: {row.point.test}, {row.condition} ({shaker})", bold=True)
    if new_channel:
        for place in range(1, len(_HEADINGS) + 1):
            sheet.cell(row=number, column=place).border = Border(top=Side(style="thick"))


def _write_line(
    sheet: Any, number: int, text: str, *, size: float = _POINTS, height: float = _ROW_HEIGHT, bold: bool = False
) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill

    sheet.merge_cells(start_row=number, start_column=1, end_row=number, end_column=len(_HEADINGS))
    cell = sheet.cell(row=number, column=1, value=text)
    cell.font = Font(size=size, bold=bold)
    cell.alignment = Alignment(wrap_text=True, vertical="center")
    if bold:
        cell.fill = PatternFill("solid", fgColor=tint(BLUE, 0.12).lstrip("#"))
    sheet.row_dimensions[number].height = height


def _write_cells(sheet: Any, number: int, values: Sequence[Any], *, bold: bool = False) -> None:
    from openpyxl.styles import Alignment, Border, Font, Side

    thin = Side(style="thin", color="808080")
    for place, value in enumerate(values, start=1):
        cell = sheet.cell(row=number, column=place, value=value)
        cell.font = Font(size=_POINTS, bold=bold)
        cell.alignment = Alignment(horizontal="left" if place in (3, 6, 9) else "center", vertical="center")
        cell.border = Border(left=thin, right=thin, top=thin, bottom=thin)
    sheet.row_dimensions[number].height = _ROW_HEIGHT


def _set_up_page(sheet: Any) -> None:
    sheet.page_setup.orientation = "portrait"
    sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_margins.left = sheet.page_margins.right = 0.4
    sheet.page_margins.top = sheet.page_margins.bottom = 0.5
    sheet.print_title_rows = "2:2"
    sheet.oddFooter.center.text = "&P / &N"
