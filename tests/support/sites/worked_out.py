"""A workbook's formulas worked out cell by cell, by a library that shares nothing with what wrote them."""

from __future__ import annotations

import re
import warnings
from functools import cached_property
from typing import Any

import numpy as np
from openpyxl.utils import range_boundaries

_REFERENCE = re.compile(r"(?:'?(?P<sheet>[^'!]+)'?!)?(?P<range>[^!]+)")


class WorkedOut:
    """The values of a workbook (of openpyxl, as it was written, nothing calculated)."""

    def __init__(self, book: Any) -> None:
        self._sheets = {sheet.title.upper(): sheet for sheet in book.worksheets}
        self._known: dict[tuple[str, int, int], Any] = {}

    @cached_property
    def _parser(self) -> Any:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the library compares with literals by identity
            import formulas

            formulas.get_functions()["COUNTIFS"] = _count_where_all  # its own knows no criterion for an empty cell
            return formulas.Parser()

    def value(self, sheet: str, row: int, column: int) -> Any:
        """Return what a cell shows: a number, a text, or None where it is empty."""
        key = sheet.upper(), row, column
        if key not in self._known:
            written = self._sheets[key[0]].cell(row=row, column=column).value
            is_formula = isinstance(written, str) and written.startswith("=")
            self._known[key] = self._work_out(written, sheet) if is_formula else written
        return self._known[key]

    def _work_out(self, formula: str, sheet: str) -> Any:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            worked = self._parser.ast(formula)[1].compile()
            found = np.ravel(worked(*(self._range(name, sheet) for name in worked.inputs)))[0]
        if isinstance(found, (bool, np.bool_)):
            return bool(found)
        return float(found) if isinstance(found, (int, float, np.number)) else str(found)

    def _range(self, name: str, sheet: str) -> Any:
        match = _REFERENCE.fullmatch(name)
        assert match is not None, name
        title = match["sheet"] or sheet
        last = self._sheets[title.upper()].max_row
        left, top, right, bottom = range_boundaries(match["range"])
        rows = range(top or 1, min(bottom or last, last) + 1)
        values = [[self._cell(title, row, column) for column in range(left, right + 1)] for row in rows]
        return np.array(values, dtype=object)

    def _cell(self, sheet: str, row: int, column: int) -> Any:
        from schedula import EMPTY

        found = self.value(sheet, row, column)
        return EMPTY if found is None else found


def _count_where_all(*pairs: Any) -> int:
    """Count the places at which every range meets its criterion, as a spreadsheet does."""
    met = [[_meets(cell, np.ravel(criterion)[0]) for cell in np.ravel(cells)]
           for cells, criterion in zip(pairs[::2], pairs[1::2], strict=True)]  # fmt: skip
    return sum(all(each) for each in zip(*met, strict=True))


def _meets(cell: Any, criterion: Any) -> bool:
    from schedula import EMPTY

    empty = cell is EMPTY or cell == ""
    if criterion in ("", "<>"):
        return empty is (criterion == "")
    match = re.fullmatch(r"(?P<sign>>=|<=)(?P<number>.+)", str(criterion))
    if match is None:
        return not empty and str(cell) == str(criterion)
    if empty or isinstance(cell, str):
        return False
    return cell >= float(match["number"]) if match["sign"] == ">=" else cell <= float(match["number"])
