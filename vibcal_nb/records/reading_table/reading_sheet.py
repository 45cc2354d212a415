"""A reading table to fill in, as XLSX or CSV: what comes back is read without editing, half-filled too."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.planning.plan import ChannelPlan
from vibcal_nb.analysis.relay.planned_checks import PlannedCheck
from vibcal_nb.display.style import BLUE, ORANGE, tint
from vibcal_nb.inputs.files.table_files import REMARK
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.reading_table.paper_sheet import TITLE, write_paper_sheet
from vibcal_nb.records.reading_table.reading_sheet_rows import (
    CHECK_CAUTIONS,
    COLUMNS,
    FILLED_IN,
    OF_CHECKS,
    PHASE,
    SheetRow,
    asks_phase,
    check_cells,
    gap_sentences,
    heading_remarks,
    place_of,
    sheet_rows,
)
from vibcal_nb.records.reading_table.sheet_checks import hide_unused, offer_words, write_check_rows
from vibcal_nb.records.reading_table.sheet_limits import limit_formulas, write_limits
from vibcal_nb.records.reading_table.sheet_rules import add_rules, mark_input, watch_limits

SPARE_ROWS = 20
_NEAR = (
    ("frequency_hz", "frequency_hz", (0.99, 1.01)),
    ("applied", "planned", (0.97, 1.03)),
)  # column, of, from and to
_WIDTHS = {
    **dict.fromkeys((*COLUMNS, *OF_CHECKS), 12.0),
    "channel": 14.0,
    "test": 15.0,
    "purpose": 24.0,
    "exclude": 26.0,
    "note": 34.0,
    "repeat": 8.0,
    "in_trip": 32.0,
}
_OPEN = (
    *FILLED_IN,
    *("frequency_hz", "applied_unit", "output_unit", "exclude", "note", "repeat", "direction", "condition", PHASE),
)
_HEAD, _CAUTION = (tint(colour, share).lstrip("#") for colour, share in ((BLUE, 0.15), (ORANGE, 0.3)))


def write_sheet_csv(
    path: Path,
    plans: Sequence[ChannelPlan],
    *,
    condition: str,
    remarks: Sequence[str] = (),
    checks: Sequence[PlannedCheck] = (),
) -> None:
    """Write the sheet as CSV (comma, decimal point, UTF-8 with a mark that spreadsheets know it by).

    ``checks`` are rows of set points, votes and electrical items, which stand last. Raises ``OSError``.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    cautions = CHECK_CAUTIONS if checks else ()
    said_above = (*heading_remarks(plans), *cautions, *(f"{said}." for said in remarks), *gap_sentences(plans))
    writer.writerows([f"{REMARK} {said}"] for said in said_above)
    unused = ("outside",) if asks_phase(plans) else ("outside", PHASE)
    columns = [column for column in COLUMNS if column not in unused] + list(OF_CHECKS if checks else ())
    writer.writerow(columns)
    planned = [row.cells() for row in sheet_rows(plans, condition=condition)]
    planned += [check_cells(check, condition=condition) for check in checks]
    for cells in planned:
        writer.writerow(["" if cells.get(column) is None else cells[column] for column in columns])
    write_atomically(path, text.getvalue().encode("utf-8-sig"))


def write_sheet_xlsx(
    path: Path,
    plans: Sequence[ChannelPlan],
    *,
    condition: str,
    remarks: Sequence[str] = (),
    checks: Sequence[PlannedCheck] = (),
) -> None:
    """Write the sheet as a workbook: cautions on top, headings frozen, units fixed, plausibility watched.

    What is planned is locked without a password; the cells to fill in, frequencies, units, remarks, and spare rows
    below are open. Limits follow the unit and the level, also of a reading that is taken again below. A sheet to print
    stands beside. ``checks`` are rows of set points, votes and electrical items, which stand below the readings.
    Raises ``OSError``.
    """
    import openpyxl  # slow to import

    book = openpyxl.Workbook()
    sheet: Any = book.active
    sheet.title = "readings"
    cautions = CHECK_CAUTIONS if checks else ()
    said_above = (*heading_remarks(plans), *cautions, *(f"{said}." for said in remarks))
    columns = (*COLUMNS, *(OF_CHECKS if checks else ()))
    rows = sheet_rows(plans, condition=condition)
    heading = len(said_above) + 1
    _write_remarks(sheet, (f"{said_above[0]} To fill in by hand, print the sheet '{TITLE}'.", *said_above[1:]))
    _write_headings(sheet, heading, columns)
    last = heading + len(rows) + len(checks)
    for number, row in enumerate(rows, start=heading + 1):
        _write_row(sheet, number, row, spare=last + 1)
    write_check_rows(sheet, heading + len(rows) + 1, checks, condition=condition)
    _write_spare_rows(sheet, last + 1, columns)
    last += SPARE_ROWS
    tags = dict.fromkeys([*(plan.channel.tag for plan in plans), *(check.channel for check in checks)])
    add_rules(sheet, heading + 1, last, list(tags))
    if checks:
        offer_words(sheet, heading + 1, last, checks)
    if checks and not rows:
        hide_unused(sheet, checks)
    watch_limits(sheet, heading + 1, last)
    sheet.column_dimensions[place_of(PHASE)].hidden = not asks_phase(plans)
    sheet.freeze_panes = f"E{heading + 1}"
    sheet.protection.sheet = True
    sheet.protection.formatColumns = False
    _set_up_page(sheet, heading)
    shaker = ", ".join(dict.fromkeys(plan.shaker.id for plan in plans))
    write_paper_sheet(book, rows, shaker=shaker, checks=checks, condition=condition)
    _write_gaps(book, gap_sentences(plans))
    write_limits(book, plans, first=heading + 1, last=last, place={name: place_of(name) for name in COLUMNS})
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


def _write_headings(sheet: Any, number: int, columns: Sequence[str]) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter

    for place, column in enumerate(columns, start=1):
        cell = sheet.cell(row=number, column=place, value=column)
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", fgColor=_HEAD)
        cell.alignment = Alignment(horizontal="center")
        sheet.column_dimensions[get_column_letter(place)].width = _WIDTHS[column]


def _write_row(sheet: Any, number: int, row: SheetRow, *, spare: int) -> None:
    from openpyxl.styles import Alignment, Protection

    for place, (column, value) in enumerate(row.cells().items(), start=1):
        cell = sheet.cell(row=number, column=place, value=value)
        if isinstance(value, str):
            cell.alignment = Alignment(horizontal="left", indent=1)
        if column in _OPEN:
            cell.protection = Protection(locked=False)
        if column in FILLED_IN or (column == PHASE and row.asks_phase):
            mark_input(cell)
    output = row.point.output
    digits = "General" if output is None else _four_digits(output.highest)
    _write_formulas(sheet, number, digits, spare=spare, follow=row.point.expectation is not None)


def _write_formulas(sheet: Any, number: int, digits: str, *, spare: int | None, follow: bool = True) -> None:
    """Write what is worked out of a row; where its limits ``follow`` nothing that is typed, they stand as they are."""
    for column, formula in limit_formulas(number).items() if follow else ():
        cell = sheet[f"{place_of(column)}{number}"]
        cell.value, cell.number_format = formula, digits
    sheet[f"{place_of('outside')}{number}"] = _outside_formula(number, spare=spare)


def _four_digits(largest: float) -> str:
    decimals = 3 - math.floor(math.log10(abs(largest))) if largest else 3
    return "0." + "0" * decimals if decimals > 0 else "0"


def _outside_formula(number: int, *, spare: int | None) -> str:
    """What to say of a row: outside its limits, the level missing, or read again in a row from ``spare`` on."""
    applied, output, lowest, highest = (f"{place_of(c)}{number}" for c in ("applied", "output", "lowest", "highest"))
    judged = f'IF(ISNUMBER({lowest}),IF(OR({output}<{lowest},{output}>{highest}),"OUTSIDE",""),"no limits")'
    still = '""' if spare is None else f'IF({_read_again(number, spare)}>0,"read again","")'
    return f'=IF(ISNUMBER({output}),IF(ISNUMBER({applied}),{judged},"applied?"),{still})'


def _read_again(number: int, spare: int) -> str:
    """How many readings from the row ``spare`` on are of this row's test, frequency, level, direction and pass."""

    def below(column: str) -> str:
        letter = place_of(column)
        return f"${letter}${spare}:${letter}${spare + SPARE_ROWS - 1}"

    same = [f'{below(c)},{place_of(c)}{number}&""' for c in ("channel", "test", "condition", "direction", "repeat")]
    near = [
        f'{below(column)},"{sign}"&{share}*{place_of(wanted)}{number}'
        for column, wanted, shares in (
            ("frequency_hz", "frequency_hz", (0.99, 1.01)),
            ("applied", "planned", (0.97, 1.03)),
        )
        for sign, share in zip((">=", "<="), shares, strict=True)
    ]
    there = f'{below("output")},"<>"'
    return f"COUNTIFS({','.join([*same, *near, there])})"


def _write_spare_rows(sheet: Any, first: int, columns: Sequence[str]) -> None:
    """Rows for readings that nobody planned, and for those that are taken again: their limits are looked up."""
    from openpyxl.styles import Protection

    for number in range(first, first + SPARE_ROWS):
        for place in range(1, len(columns) + 1):
            sheet.cell(row=number, column=place).protection = Protection(locked=False)
        _write_formulas(sheet, number, "General", spare=None)


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
