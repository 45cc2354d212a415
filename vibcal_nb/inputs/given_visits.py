"""Visits given in memory in place of files: those that a record states it was made from, to perform it again.

One process performs one record, so that what is given holds for the whole process until something else is.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import InputRefused, Problem


@dataclass(frozen=True, kw_only=True)
class GivenVisit:
    """A visit in place of the folder at ``path``; ``held`` is None where that could not be read."""

    path: Path
    held: VisitFolder | None


_given: dict[Path, GivenVisit] = {}
_earlier: dict[Path, list[Path]] = {}


def give_visits(visits: Sequence[GivenVisit]) -> None:
    """Have these visits read in place of their folders: the first, and those before it, the latest first."""
    _given.clear()
    _earlier.clear()
    _given.update({_place(visit.path): visit for visit in visits})
    if visits:
        first, *others = (visit.path for visit in visits)
        _earlier[_place(first)] = others[::-1]


def given_visit(path: Path) -> VisitFolder | None:
    """Return the visit that was given for a folder, None where none was. Raises ``InputRefused`` as reading would."""
    found = _given.get(_place(path))
    if found is None:
        return None
    if found.held is None:
        raise InputRefused([Problem(file=path.name, found="a visit that could not be read", remedy="mend its files")])
    return found.held


def given_earlier(path: Path) -> list[Path] | None:
    """Return the folders before a given one, the earliest first; None where it was not given."""
    return _earlier.get(_place(path))


def _place(path: Path) -> Path:
    return Path(os.path.abspath(path))  # noqa: PTH100  # a link is not followed
