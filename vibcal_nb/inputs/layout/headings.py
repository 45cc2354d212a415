"""Which column of a sheet each heading of a layout names."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping

from vibcal_nb.inputs.grids.grid import Grid, letters, parse_letters
from vibcal_nb.inputs.layout.read_layout import BY_LETTER
from vibcal_nb.model.layout import TablePart
from vibcal_nb.problems import Problem, one_of, shown

JOIN = " / "
RPM = ("rpm", "cpm", "1/min", "u/min", "min-1", "min⁻¹", "tr/min")
HZ = ("hz",)


def headings_of(grid: Grid, part: TablePart) -> dict[int, str]:
    """Return the headings by column from 0, those that span several columns before those below them."""
    spanning = ""
    found = {}
    for column in range(grid.width):
        above = grid.at(part.headings_above, column).text if part.headings_above else ""
        spanning = above or spanning
        own = grid.at(part.headings_row, column).text
        if own or above:
            text = JOIN.join(filter(None, (spanning if part.headings_above else "", own)))
            found[column] = re.sub(r"\s+", " ", text).strip()
    return found


def folded(heading: str) -> str:
    """Return a heading for comparison: without regard to case, blanks and compatible characters."""
    return re.sub(r"\s+", " ", unicodedata.normalize("NFKC", heading)).strip().casefold()


def find_columns(
    names: Mapping[str, str], headings: Mapping[int, str], *, file: str, row: int, problems: list[Problem]
) -> dict[int, str]:
    """Return what ``names`` says of each heading, by column from 0; a heading that is not there is noted."""
    by_text: dict[str, list[int]] = {}
    for column, heading in headings.items():
        by_text.setdefault(folded(heading), []).append(column)
    found = {}
    for name, says in names.items():
        lettered = parse_letters(name[1:]) if name.startswith(BY_LETTER) else None
        places = [lettered] if lettered is not None else by_text.get(folded(name), [])
        if len(places) == 1:
            found[places[0]] = says
            continue
        if places:
            where = ", ".join(f"{BY_LETTER}{letters(place)}" for place in places)
            what, remedy = f"the heading {shown(name)} {len(places)} times", f"name the column by its letter: {where}"
        else:
            what, remedy = f"no heading {shown(name)}", one_of(name, headings.values(), most=None)
        problems.append(Problem(file=file, row=row, found=what, remedy=remedy))
    return found
