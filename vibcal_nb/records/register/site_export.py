"""The matrix of a site for people's own tables: CSV and XLSX, with no cell that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any
from urllib.parse import quote

from vibcal_nb.analysis.site.channel_state import ChannelState
from vibcal_nb.analysis.site.site_overview import SiteOverview
from vibcal_nb.analysis.site.site_results import SetPointReach
from vibcal_nb.display.views import VIEWS
from vibcal_nb.model.names import CHANNEL_VERDICT
from vibcal_nb.records.files.whole_files import write_atomically

Cell = str | float | int | date | None

_TEST_HEADINGS = tuple(f"{test} {state}" for test in VIEWS for state in ("as found", "as left"))
HEADINGS = (
    "urgency",
    "asset",
    "channel",
    "location",
    "visits",
    "last_visit",
    "overdue_days",
    "verdict",
    *_TEST_HEADINGS,
    "margin_pct",
    "nearest_limit",
    "last_change_pct",
    "E_n",
    "set_points_not_reached",
    "set_points_that_do_not_act",
    "gates",
    "readings_excluded",
    "rows_not_read",
    "reasons",
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "%")


def inert(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula: one that looks like it gets an apostrophe in front.

    Source: OWASP, CSV Injection (from memory): cells that begin with =, +, -, @, tab or line end.
    """
    lead = text.lstrip(" \u00a0\ufeff\u3000")
    full_width = {"＝": "=", "＋": "+", "－": "-", "＠": "@"}
    first = full_width.get(lead[:1], lead[:1])
    return f"'{text}" if first in _FORMULA and first else text


def site_rows(overview: SiteOverview) -> Iterator[tuple[Cell, ...]]:
    """Yield a row of cells a channel, by urgency, under ``HEADINGS``; texts are inert."""
    for state in overview.channels:
        yield tuple(inert(cell) if isinstance(cell, str) else cell for cell in _row(state))


def _row(state: ChannelState) -> tuple[Cell, ...]:
    pairs = {**state.tests, CHANNEL_VERDICT: state.whole or (None, None)}
    verdicts = [word for name in VIEWS for word in pairs.get(name, (None, None))]
    return (
        state.urgency,
        state.asset,
        state.channel,
        state.location,
        state.visits,
        state.last,
        max(state.overdue_days, 0),
        state.verdict,
        *verdicts,
        _rounded(state.margin_pct, 1),
        state.worst,
        None if state.drift is None else _rounded(state.drift.change_pct, 3),
        None if state.drift is None else _rounded(state.drift.E_n, 2),
        _named(state.not_reached),
        _named(state.silent),
        "; ".join(state.gates),
        state.excluded,
        state.not_read,
        "; ".join(state.reasons),
    )


def _named(points: Sequence[SetPointReach]) -> str:
    return "; ".join(f"{s.set_point} {s.level:g} {s.unit} at {s.frequency_hz:.4g} Hz" for s in points)


def _rounded(value: float | None, decimals: int) -> float | None:
    return None if value is None else round(value, decimals) + 0.0  # no minus zero


def write_csv(overview: SiteOverview, path: Path) -> None:
    """Write the matrix as CSV: comma, UTF-8 with the mark that spreadsheets look for. Raises ``OSError``."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer)
    writer.writerow(HEADINGS)
    writer.writerows([["" if c is None else c for c in row] for row in site_rows(overview)])
    write_atomically(path, b"\xef\xbb\xbf" + buffer.getvalue().encode("utf-8", "replace"))


def write_xlsx(overview: SiteOverview, path: Path, *, records: Path | None = None) -> None:
    """Write the matrix as a workbook: headings frozen, filters, dates as dates, one landscape page wide.

    Channels lead to their records where ``records``, the folder that holds these, is given. Raises ``OSError``.
    """
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("channels")
    _lay_out(sheet, 1 + len(overview.channels))
    sheet.append([_heading(sheet, text) for text in HEADINGS])
    for state, row in zip(overview.channels, site_rows(overview), strict=True):
        cells = [_cell(sheet, value) for value in row]
        link = None if records is None else _place(records, state.record, path)
        if link is not None:
            cells[HEADINGS.index("channel")].hyperlink = link
        sheet.append(cells)
    buffer = io.BytesIO()
    book.save(buffer)
    write_atomically(path, buffer.getvalue())


_WIDTHS = {"location": 32.0, "verdict": 14.0, "nearest_limit": 30.0, "reasons": 60.0, "gates": 24.0, "channel": 16.0}
_WIDTH, _WORDS_WIDTH, _NUMBER_WIDTH = 12.0, 14.0, 9.0


_A3 = 8  # ECMA-376 part 1, 18.3.1.63, paperSize


def _lay_out(sheet: Any, rows: int) -> None:
    """Set widths, filters, the page, and a scale of colours on the margin: orange at none, blue at all."""
    from openpyxl.formatting.rule import ColorScaleRule

    for number, name in enumerate(HEADINGS, start=1):
        width = _WORDS_WIDTH if name in _TEST_HEADINGS or name.startswith("set_points") else _NUMBER_WIDTH
        sheet.column_dimensions[_letters(number)].width = _WIDTHS.get(name, _WIDTH if "visit" in name else width)
    sheet.freeze_panes = "D2"
    sheet.auto_filter.ref = f"A1:{_letters(len(HEADINGS))}{rows}"
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = _A3
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    margin = _letters(1 + HEADINGS.index("margin_pct"))
    scale = ColorScaleRule(
        start_type="num", start_value=0, start_color="F2B28C", mid_type="num", mid_value=20, mid_color="FFFFFF",
        end_type="num", end_value=100, end_color="A9D3EE",
    )  # fmt: skip
    sheet.conditional_formatting.add(f"{margin}2:{margin}{max(rows, 2)}", scale)


def _heading(sheet: Any, text: str) -> Any:
    from openpyxl.styles import Alignment, Font, PatternFill

    cell = _cell(sheet, text)
    cell.font, cell.fill = Font(bold=True), PatternFill("solid", fgColor="DDDDDD")
    cell.alignment = Alignment(wrap_text=True, vertical="top")
    return cell


def _cell(sheet: Any, value: Cell) -> Any:
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    if isinstance(value, str):
        cell = WriteOnlyCell(sheet, value=ILLEGAL_CHARACTERS_RE.sub("\ufffd", value))
        cell.data_type = "s"  # never a formula, whatever it begins with
        return cell
    cell = WriteOnlyCell(sheet, value=value)
    if isinstance(value, date):
        cell.number_format = "yyyy-mm-dd"
    return cell


def _place(records: Path, record: str, workbook: Path) -> str | None:
    """Return where the page of a record lies, from the workbook's folder.

    None where the channel has no record, or where its path leads out of the records folder.
    """
    page = (records / record).with_suffix(".html").resolve()
    if not record.endswith(".ipynb") or not page.is_relative_to(records.resolve()):
        return None
    try:
        return quote(Path(os.path.relpath(page, workbook.resolve().parent)).as_posix())
    except ValueError:  # on another drive
        return None


def _letters(column: int) -> str:
    from openpyxl.utils import get_column_letter

    letters: str = get_column_letter(column)
    return letters
