"""The matrix of a site for people's own tables: CSV and XLSX, with no cell that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any

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


def write_xlsx(overview: SiteOverview, path: Path) -> None:
    """Write the matrix as a workbook, headings frozen, with filters. Raises ``OSError``."""
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    book = Workbook(write_only=True)
    sheet = book.create_sheet("channels")
    sheet.freeze_panes = "D2"
    sheet.append(HEADINGS)
    count = 1
    for row in site_rows(overview):
        cells: list[Any] = []
        for value in row:
            if isinstance(value, str):
                cell = WriteOnlyCell(sheet, value=ILLEGAL_CHARACTERS_RE.sub("\ufffd", value))
                cell.data_type = "s"  # never a formula, whatever it begins with
                cells.append(cell)
            else:
                cells.append(value)
        sheet.append(cells)
        count += 1
    sheet.auto_filter.ref = f"A1:{_letters(len(HEADINGS))}{count}"
    buffer = io.BytesIO()
    book.save(buffer)
    write_atomically(path, buffer.getvalue())


def _letters(column: int) -> str:
    from openpyxl.utils import get_column_letter

    letters: str = get_column_letter(column)
    return letters
