"""What a workbook offers, asks and shows while a sheet is filled in; whatever was read may still be entered."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.display.style import INK, VERMILION, YELLOW, tint
from vibcal_nb.model.names import CONDITIONS, DIRECTIONS, TESTS
from vibcal_nb.records.reading_table.reading_sheet_rows import place_of
from vibcal_nb.records.reading_table.sheet_limits import OFFERED, UNITS

OUTSIDE_FILL = tint(VERMILION, 0.3).lstrip("#")
_INPUT = tint(YELLOW, 0.2).lstrip("#")


def add_rules(sheet: Any, first: int, last: int, tags: Sequence[str]) -> None:
    """Drop-downs where words are chosen, and a question where a number is implausible; a fault may still be entered.

    ``tags`` are the channels and groups that are offered.
    """
    for column, choices in (
        ("channel", tags),
        ("test", TESTS),
        ("condition", CONDITIONS),
        ("direction", DIRECTIONS),
    ):
        offer(sheet, f"{place_of(column)}{first}:{place_of(column)}{last}", choices)
    for column in ("applied_unit", "output_unit"):
        _offer_units(sheet, f"{place_of(column)}{first}:{place_of(column)}{last}")
    top = f"IF(ISNUMBER({place_of('planned')}{first}),1.5*{place_of('planned')}{first},1E+9)"
    _question(sheet, "applied", first, last, ("0", top), "above what was planned")
    between = (f"{place_of('lowest')}{first}", f"{place_of('highest')}{first}")
    _question(sheet, "output", first, last, between, "outside what a good channel puts out")


def mark_input(cell: Any) -> None:
    """Show that a cell is to be filled in."""
    from openpyxl.styles import Border, PatternFill, Side

    edge = Side(style="thin", color="999999")
    cell.fill = PatternFill("solid", fgColor=_INPUT)
    cell.border = Border(left=edge, right=edge, top=edge, bottom=edge)


def offer(sheet: Any, cells: str, choices: Sequence[str]) -> None:
    """Offer the words in a drop-down beside ``cells``; nothing else is taken there."""
    from openpyxl.worksheet.datavalidation import DataValidation

    listed = ",".join(choices)
    if len(listed) > 250:  # the format ends there; a longer list is not offered rather than cut
        return
    rule = DataValidation(type="list", formula1=f'"{listed}"', allow_blank=True, showErrorMessage=True)
    rule.error, rule.errorTitle = f"Choose one of {listed}."[:250], "Not in the list"
    sheet.add_data_validation(rule)
    rule.add(cells)


def _offer_units(sheet: Any, cells: str) -> None:
    """Offer every unit there is, from the hidden sheet that holds them: a list in the rule itself would be too long."""
    from openpyxl.worksheet.datavalidation import DataValidation

    listed = f"{UNITS}!$A$2:$A${len(OFFERED) + 1}"
    rule = DataValidation(type="list", formula1=listed, allow_blank=True, showErrorMessage=True)
    rule.error, rule.errorTitle = "Choose a unit with its detector, such as mm/s pk; a gap has none.", "Not in the list"
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
    rule.add(f"{place_of(column)}{first}:{place_of(column)}{last}")


def watch_limits(sheet: Any, first: int, last: int) -> None:
    """The column that turns visible, and the output with it."""
    from openpyxl.formatting.rule import FormulaRule
    from openpyxl.styles import Font, PatternFill

    cell = f"${place_of('outside')}{first}"
    rule = FormulaRule(
        formula=[f'{cell}<>""'],
        fill=PatternFill("solid", bgColor=OUTSIDE_FILL, fgColor=OUTSIDE_FILL),
        font=Font(bold=True, color=INK.lstrip("#")),
    )
    for column in ("outside", "output"):
        sheet.conditional_formatting.add(f"{place_of(column)}{first}:{place_of(column)}{last}", rule)
