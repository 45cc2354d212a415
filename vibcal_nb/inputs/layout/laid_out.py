"""The rows of a file as its layout makes them out, with the cells that they come from."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from vibcal_nb.inputs.grids.grid import Cell, Grid

NUMBERS = ("frequency_hz", "frequency_rpm", "applied", "output", "repeat", "standard_uncertainty_pct", "phase_deg")
_NUMBER = re.compile(r"[+\-\u2212]?(\d[\d.,\u00a0 ']*|[.,]\d+)(e[+-]?\d+)?\s*%?", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class LaidRow:
    """One reading as it stands in the file: ``cells`` by column of the reading table, with where each comes from.

    ``source`` is, by column, the address of its cell, None of what the layout states. ``stated`` is what the table has
    worked out already, by `model.layout.STATED`, as text. ``row`` is the row of the sheet.
    """

    sheet: str
    row: int
    cells: Mapping[str, str]
    source: Mapping[str, str | None]
    stated: Mapping[str, str]
    keeps_zeros: bool


@dataclass(kw_only=True)
class LaidOut:
    """The rows of a file, and why cells are left out, by sheet and address; ``read`` are the sheets that were read."""

    file: str
    rows: list[LaidRow] = field(default_factory=list)
    why: dict[tuple[str, str], str] = field(default_factory=dict)
    read: list[Grid] = field(default_factory=list)


def looks_like_number(cell: Cell) -> bool:
    """Whether a cell holds a number, as a number or as text."""
    return cell.number is not None or bool(_NUMBER.fullmatch(cell.text))
