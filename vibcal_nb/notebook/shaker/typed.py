"""What a person types into a field: a number, and a unit where it is another one than the field says."""

from __future__ import annotations

import re

_TYPED = re.compile(r"\s*(?P<number>[+\-\u2212]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(?P<unit>[^\d\s].*)?", re.ASCII)


def typed_value(text: str, unit: str) -> tuple[str, str]:
    """Return the number and the unit that were typed; ``unit`` where none was. What is no number stays as it is.

    A comma is a decimal mark: nobody types thousands at a shaker, and what is not meant so is far outside.
    """
    found = _TYPED.fullmatch(text.strip().replace("µ", "u"))
    if found is None:
        return text.strip(), unit
    number = found["number"].replace("\u2212", "-")
    if number.count(",") == 1 and "." not in number:
        number = number.replace(",", ".")
    return number, (found["unit"] or unit).strip()


def plain_number(value: float) -> str:
    """Write a number as a table holds it, without digits that nobody typed."""
    return f"{value:.10g}"
