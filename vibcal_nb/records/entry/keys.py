"""What tells one row of a reading table from another, however a spreadsheet writes its numbers."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from vibcal_nb.inputs.files.numbers_as_typed import NumberRefused, read_number
from vibcal_nb.model.keys.reading_columns import OF_CHECKS
from vibcal_nb.units import hz_from_rpm

Cells = Mapping[str, str]
Key = tuple[str, ...]

PLACE = ("channel", "test", "condition", "frequency_hz", "applied_unit", "output_unit", "direction")
"""What a row is a reading of, but for its numbers."""
KEYED = (*PLACE, "applied", "output", "repeat", *OF_CHECKS)
_READ = (*KEYED, "frequency_rpm")
_WORDS = ("test", "condition", "direction")


def key_of(cells: Cells) -> Key:
    """Return what tells a row from the others of its table: all but its reason, its remark and what a sheet says."""
    return _keyed(tuple(cells.get(name, "") for name in _READ))


@lru_cache(maxsize=20_000)  # a table is looked through at every reading
def _keyed(texts: tuple[str, ...]) -> Key:
    cells = dict(zip(_READ, texts, strict=True))
    return tuple(_plain(name, cells) for name in KEYED)


def place_of(cells: Cells) -> Key:
    """Return what a row is a reading of, without what was read."""
    return tuple(_plain(name, cells) for name in PLACE)


def is_open(cells: Cells) -> bool:
    """Whether a row is planned and was not read."""
    return not any(cells.get(name) for name in ("output", *OF_CHECKS)) and bool(cells.get("channel"))


def _plain(name: str, cells: Cells) -> str:
    if name == "frequency_hz":
        return _frequency(cells)
    text = " ".join(cells.get(name, "").split())
    if name in _WORDS:
        return text.lower().replace(" ", "-").replace("_", "-")
    return as_number(text)


def as_number(text: str, *, digits: int = 12) -> str:
    """Return a number as it is whoever wrote it: ``44.10``, ``44,1`` and ``44.1`` are one; other texts as they are."""
    try:
        value, _ = read_number(text, decimal_comma=True)
    except NumberRefused:
        return text
    return f"{value:.{digits}g}"


def _frequency(cells: Cells) -> str:
    """In Hz, whichever of the two columns a table has."""
    if cells.get("frequency_hz"):
        return as_number(cells["frequency_hz"], digits=6)
    try:
        rpm, _ = read_number(cells.get("frequency_rpm", ""), decimal_comma=True)
    except NumberRefused:
        return cells.get("frequency_rpm", "")
    return f"{hz_from_rpm(rpm):.6g}"
