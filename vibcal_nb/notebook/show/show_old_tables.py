"""An old table as it stands, each cell with what it was taken for; and what came of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

import numpy as np

from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.style import ALLOWED, GREY, INK
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.inputs.grids.grid import Grid, address, letters
from vibcal_nb.model.asset import Asset
from vibcal_nb.model.names import LINEARITY
from vibcal_nb.model.readings import Reading
from vibcal_nb.notebook.show import show
from vibcal_nb.records.old_tables.bring import Brought
from vibcal_nb.units import convert

MOST_ROWS, MOST_COLUMNS = 40, 14
_USED = "font-weight: bold"
_LEFT = "opacity: 0.55"
_CELL = "border: 1px solid #8884; padding: 1px 6px; text-align: left; vertical-align: top"


def meanings(brought: Brought) -> dict[tuple[str, str, str], tuple[str, bool]]:
    """Return, by file, sheet and address, what a cell was taken for, and whether it is part of a reading."""
    found: dict[tuple[str, str, str], tuple[str, bool]] = {}
    for file in brought.files:
        name = file.path.name
        for item in file.account.left_out:
            found[name, item.sheet, item.address] = (item.why, False)
        for row in file.table.laid.rows:
            for column, place in row.source.items():
                if place is not None:
                    found[name, row.sheet, place] = (column, True)
    return found


def grid_html(grid: Grid, meant: Mapping[str, tuple[str, bool]]) -> str:
    """Return a sheet as a table: below each cell what it was taken for; ``meant`` by address."""
    columns = range(min(grid.width, MOST_COLUMNS))
    head = "".join(f'<th scope="col">{letters(column)}</th>' for column in columns)
    rows = "".join(
        f'<tr><th scope="row">{row}</th>{"".join(_cell_html(grid, row, column, meant) for column in columns)}</tr>'
        for row in range(1, min(len(grid.rows), MOST_ROWS) + 1)
    )
    more = len(grid.rows) - MOST_ROWS
    note = f"<p>... and {more} more rows.</p>" if more > 0 else ""
    caption = f'<caption style="text-align: left">Sheet {escape(grid.name)}</caption>' if grid.name else ""
    return f"<table>{caption}<thead><tr><th></th>{head}</tr></thead><tbody>{rows}</tbody></table>{note}"


def _cell_html(grid: Grid, row: int, column: int, meant: Mapping[str, tuple[str, bool]]) -> str:
    cell = grid.at(row, column)
    if not cell:
        return f'<td style="{_CELL}"></td>'
    says, used = meant.get(address(row, column), ("not accounted for", False))
    mark = escape(says if used else f"left out: {says}")
    style = f"{_CELL}; {_USED if used else _LEFT}"
    return f'<td style="{style}">{escape(cell.text[:60])}<br><small>{mark}</small></td>'


def show_original(brought: Brought, *, sheets: int = 1) -> None:
    """Show the first sheets of each file, cell for cell: what is bold is in a reading, and says as what."""
    meant = meanings(brought)
    parts, plain = [], []
    for file in brought.files:
        for grid in file.table.laid.read[:sheets]:
            own = {
                place: what
                for (name, sheet, place), what in meant.items()
                if (name, sheet) == (file.path.name, grid.name)
            }
            parts.append(grid_html(grid, own))
            plain.append(
                f"{file.path.name} {grid.name}: {sum(used for _, used in own.values())} cells used, of {len(own)}"
            )
    show.html("".join(parts), "; ".join(plain))


def show_left_out(brought: Brought) -> None:
    """Show what is in no reading, by its reason."""
    sheets: dict[tuple[str, str, str, str], list[str]] = {}  # of file, reason, numbers and cells that are the same
    for file in brought.files:
        for (sheet, why), items in file.account.by_reason().items():
            key = file.path.name, why, str(sum(item.is_number for item in items)), _places(items)
            sheets.setdefault(key, []).append(sheet)
    rows = [Row(cells=(key[0], ", ".join(names), *key[1:])) for key, names in sheets.items()]
    show.table(
        Table(
            caption="Left out of the readings",
            headings=("file", "sheets", "because it is", "numbers", "cells"),
            rows=tuple(rows),
            text_columns=(0, 1, 2, 4),
        )
    )


def _places(items: Sequence[Any]) -> str:
    shown = ", ".join(item.address for item in items[:12])
    return shown + (f" and {len(items) - 12} more" if len(items) > 12 else "")


def show_brought(brought: Brought) -> None:
    """Show how many readings each test has, with the first of them."""
    groups: dict[tuple[str, str, str], list[Reading]] = {}
    for reading in brought.readings:
        groups.setdefault((reading.channel, reading.test, reading.condition), []).append(reading)
    rows = [
        Row(cells=(channel, f"{test}, {condition}", str(len(found)), *_range(found)))
        for (channel, test, condition), found in groups.items()
    ]
    show.table(
        Table(
            caption="Readings that the layout makes out",
            headings=("channel", "test", "readings", "frequency", "applied", "output"),
            rows=tuple(rows),
            text_columns=(0, 1),
        )
    )


def _range(readings: Sequence[Reading]) -> tuple[str, str, str]:
    first = readings[0]
    spans = (
        ([r.frequency_hz for r in readings], "Hz"),
        ([r.applied for r in readings], str(first.applied_unit)),
        ([r.output for r in readings], str(first.output_unit)),
    )
    a, b, c = (
        f"{min(v):.4g} to {max(v):.4g} {unit}" if min(v) != max(v) else f"{v[0]:.4g} {unit}" for v, unit in spans
    )
    return a, b, c


def deviations_picture(brought: Brought, asset: Asset) -> Picture:
    """Return the deviation of every reading of a line from nominal, over the level."""
    by_channel = _deviations(brought.readings, asset)
    said = "; ".join(f"{tag}: {values.min():+.1f} to {values.max():+.1f} %" for tag, (_, values) in by_channel.items())

    def draw(figure: Any) -> None:
        ((ax,),) = axes_grid(figure, heights=(1.0,))
        limits = [asset.channels[tag].tolerance_pct for tag in by_channel]
        if limits:
            ax.axhspan(-min(limits), min(limits), color=ALLOWED, lw=0, label="tolerance")
        for number, (tag, (level, values)) in enumerate(by_channel.items()):
            ax.plot(level, values, ls="none", marker="os^Dv*"[number % 6], ms=5, color=INK, mfc="none", label=tag)
        ax.axhline(0.0, color=GREY, lw=0.8)
        ax.set_xlabel("applied level, in the channel's unit")
        ax.set_ylabel("deviation from nominal, %")
        ax.legend(ncols=3)

    text = (
        f"Deviation of the linearity readings from the nominal sensitivity, by channel. {said or 'No such readings'}."
    )
    return draw_picture(2.6, draw, text=text)


def _deviations(readings: Sequence[Reading], asset: Asset) -> dict[str, tuple[Any, Any]]:
    found: dict[str, tuple[list[float], list[float]]] = {}
    for reading in readings:
        channel = asset.channels[reading.channel]
        if reading.test != LINEARITY or reading.applied <= 0.0:
            continue
        level = convert(reading.applied, reading.applied_unit, channel.input_unit, frequency_hz=reading.frequency_hz)
        output = convert(reading.output, reading.output_unit, channel.output_unit) - channel.output_zero
        levels, values = found.setdefault(reading.channel, ([], []))
        levels.append(float(level))
        values.append(100.0 * (float(output / level) / channel.nominal_sensitivity - 1.0))
    return {tag: (np.array(levels), np.array(values)) for tag, (levels, values) in found.items()}
