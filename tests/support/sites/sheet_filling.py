"""Fill a sheet as a person would: output of a channel with a known gain, at levels near the planned ones."""

from __future__ import annotations

import openpyxl


def heading_row(sheet) -> int:
    return next(row for row in range(1, 50) if sheet.cell(row=row, column=1).value == "channel")


def fill_sheet(path, *, gain, skip=lambda cells: False):
    """Fill 'applied' and 'output' of an XLSX sheet in place; return the rows filled as (row, applied, output).

    ``gain(cells)`` gives the output over what is expected; rows for which ``skip(cells)`` holds stay empty.
    """
    book = openpyxl.load_workbook(path)
    sheet = book.worksheets[0]
    top = heading_row(sheet)
    columns = {sheet.cell(row=top, column=c).value: c for c in range(1, sheet.max_column + 1)}
    planned = {row[:3]: row[3:5] for row in book["limits"].iter_rows(min_row=2, values_only=True)}
    filled = []
    for row in range(top + 1, sheet.max_row + 1):
        cells = {name: sheet.cell(row=row, column=column).value for name, column in columns.items()}
        if not cells["channel"] or skip(cells):
            continue
        applied = float(f"{cells['planned'] * (0.99 + 0.02 * (row % 7) / 6):.4g}")
        zero, slope = planned[cells["channel"], cells["test"], cells["frequency_hz"]]
        output = float(f"{zero + slope * applied * gain(cells):.5g}")
        sheet.cell(row=row, column=columns["applied"], value=applied)
        sheet.cell(row=row, column=columns["output"], value=output)
        filled.append((row, applied, output))
    book.save(path)
    return filled
