"""Units and numbers in headings: ``Output [mV pk]``, ``Level, mm/s``, ``5 mm/s``."""

from __future__ import annotations

import re
from dataclasses import dataclass

from vibcal_nb.inputs.layout.headings import HZ, RPM
from vibcal_nb.inputs.propose.trade_words import plain
from vibcal_nb.units import UnitError, parse_unit

PERCENT = ("%", "percent", "prozent")
_BRACKETS = re.compile(r"[\[(]([^\])]*)[\])]")
_VALUE = re.compile(r"[+\-]?\d+(?:[.,]\d+)?")


@dataclass(frozen=True, kw_only=True)
class Head:
    """A heading taken apart: its words, and the unit that stands with it, empty where there is none."""

    words: str
    unit: str


def take_apart(heading: str, below: str = "") -> Head:
    """Return words and unit of a heading; ``below`` is the cell of a units row, which counts before all else."""
    found = _BRACKETS.search(heading)
    words = _BRACKETS.sub(" ", heading)
    unit = below or (found[1] if found else "")
    if not unit and "," in words:
        words, _, unit = words.rpartition(",")
    if not unit:
        first, _, last = words.strip().rpartition(" ")
        if first and is_unit(last):
            words, unit = first, last
        elif is_unit(words):
            unit = words.strip()
    return Head(words=plain(words), unit=unit.strip())


def is_unit(text: str) -> bool:
    """Whether a text names a unit, with its detector or without, or a frequency's, or a percentage."""
    return plain(text) in (*RPM, *HZ, *PERCENT) or unit_symbol(text) is not None


def unit_symbol(text: str) -> tuple[str, str | None] | None:
    """Return a unit's text and None, or its symbol and what would complete it; None where it is no such unit."""
    if not text.strip():
        return None
    try:
        return parse_unit(text).text, None
    except UnitError as error:
        if "detector too" in error.remedy:
            symbol = error.remedy.partition("one of ")[2].partition(" ")[0]
            return symbol, error.remedy.partition("one of ")[2]
        return None


def value_in(heading: str) -> str | None:
    """Return the number that a heading is, such as ``5`` of ``5 mm/s``; None where it says more than that."""
    found = _VALUE.match(heading.strip())
    if found is None:
        return None
    rest = heading.strip()[found.end() :].strip()
    return found[0].replace(",", ".") if not rest or is_unit(rest) else None
