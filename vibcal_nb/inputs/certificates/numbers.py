r"""Numbers as the schema writes them, and lists of them.

A value is ``[-+]?digits`` with a decimal point and an exponent, or ``NaN`` for a gap; a coverage factor has no
exponent and is 1 or more; a probability lies between 0 and 1 and has none either (D-SI 2.2.1, ``decimalType``,
``kValueType``, ``probabilityValueType``).
"""

from __future__ import annotations

import math
import re

from vibcal_nb.problems import Refused, shown

_DECIMAL = re.compile(r"[-+]?(\d*\.\d+|\d+\.?\d*)([Ee][-+]?\d+)?")
_FACTOR = re.compile(r"\+?[1-9]\d*(\.\d*)?")
_PROBABILITY = re.compile(r"\+?(0(\.\d*)?|1(\.0*)?)")
GAP = "NaN"
MOST_VALUES = 100_000


class NumberRefused(Refused):
    """A number that the schema does not admit; the text is what was found, as a phrase."""


def number_text(value: float | None) -> str:
    """Write a number so that it is read back equal; ``NaN`` for one that is not known.

    Raises ``NumberRefused`` for a number that is not finite.
    """
    if value is None:
        return GAP
    if not math.isfinite(value):
        raise NumberRefused("a number that is not finite")
    return repr(float(value))


def plain_text(value: float | None) -> str:
    """Write a coverage factor or a probability: the same, without an exponent."""
    if value is None:
        return GAP
    text = repr(float(value))
    return text if "e" not in text else f"{value:.17f}".rstrip("0")


def read_numbers(text: str | None) -> list[float | None]:
    """Return the numbers of a list; None for a gap. Raises ``NumberRefused``."""
    return [_read(word, _DECIMAL, "a number") for word in _words(text)]


def read_factors(text: str | None) -> list[float | None]:
    """Return coverage factors. Raises ``NumberRefused``."""
    return [_read(word, _FACTOR, "a coverage factor of 1 or more") for word in _words(text)]


def read_probabilities(text: str | None) -> list[float | None]:
    """Return coverage probabilities. Raises ``NumberRefused``."""
    return [_read(word, _PROBABILITY, "a probability from 0 to 1") for word in _words(text)]


def _words(text: str | None) -> list[str]:
    words = (text or "").split()
    if len(words) > MOST_VALUES:
        raise NumberRefused(f"a list of more than {MOST_VALUES:,} values")
    return words


def _read(word: str, form: re.Pattern[str], what: str) -> float | None:
    if word == GAP:
        return None
    if len(word) > 400 or not form.fullmatch(word):
        raise NumberRefused(f"{shown(word)} in place of {what}")
    value = float(word)
    if not math.isfinite(value):
        raise NumberRefused(f"{shown(word)}, which is not finite")
    return value
