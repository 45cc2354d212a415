"""Numbers as people type them: a decimal point or comma, and how many digits stand behind it."""

from __future__ import annotations

import re

from vibcal_nb.problems import Refused

SMALLEST, LARGEST = 1e-15, 1e15  # no quantity of the trade lies outside
_NUMBER = re.compile(r"(?P<sign>[+-]?)(?P<whole>\d*)(?:\.(?P<part>\d*))?(?:[eE](?P<power>[+-]?\d{1,4}))?", re.ASCII)


class NumberRefused(Refused, ValueError):
    """A text that is no usable number; the message says what to do."""


def read_number(text: str, *, decimal_comma: bool) -> tuple[float, int]:
    """Return the number and its digits after the decimal mark (less the power of ten, where one was typed).

    Thousands separators are refused, because '1,234' is a thousand to some and a little over one to others.
    Raises ``NumberRefused``.
    """
    plain = text.strip().replace("\u2212", "-")
    if "," in plain:
        if not decimal_comma:
            raise NumberRefused("give a number with a decimal point and no thousands separator")
        if "." in plain or plain.count(",") > 1:
            raise NumberRefused("give a number with one decimal mark and no thousands separator")
        plain = plain.replace(",", ".")
    found = _NUMBER.fullmatch(plain)
    if found is None or not (found["whole"] or found["part"]):
        raise NumberRefused("give a number such as 12.5")
    value = float(plain)
    nothing = value == 0.0 and not re.search("[1-9]", re.split("[eE]", plain)[0])
    if not nothing and not SMALLEST <= abs(value) <= LARGEST:
        raise NumberRefused("give a number of a size that a reading can have")
    return value, len(found["part"] or "") - int(found["power"] or 0)
