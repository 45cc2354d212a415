"""Electrical health of a channel at rest: which units are understood, and the limits of an item."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass

_PREFIXES = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6, "G": 1e9}
_SYMBOLS: Mapping[str, str] = {"V": "voltage", "A": "current", "ohm": "resistance", "F": "capacitance"}
_TEXT = re.compile(r"(?P<prefix>[pnuµμmkMG]?)(?P<symbol>V|A|F|ohm|Ohm|OHM|Ω)(?:\s*(?:dc|DC))?")
UNITS = "V, mV, mA, ohm, kohm, Mohm, Gohm, pF or nF"


@dataclass(frozen=True, kw_only=True)
class ElectricalUnit:
    """A unit of a steady electrical quantity: its canonical text, the quantity, and how many SI units it is."""

    text: str
    quantity: str
    si_factor: float


def parse_electrical_unit(text: str) -> ElectricalUnit | None:
    """Return the unit that ``text`` names, None where it names none; a letter's case tells milli from mega.

    >>> parse_electrical_unit("MΩ").text
    'Mohm'
    """
    found = _TEXT.fullmatch(unicodedata.normalize("NFC", text.replace("\u2126", "Ω")).strip())
    if found is None:
        return None
    prefix = found["prefix"].replace("µ", "u").replace("μ", "u")
    symbol = "ohm" if found["symbol"].lower() in ("ohm", "ω") else found["symbol"]
    return ElectricalUnit(text=prefix + symbol, quantity=_SYMBOLS[symbol], si_factor=_PREFIXES[prefix])


@dataclass(frozen=True, kw_only=True)
class ElectricalLimit:
    """What an item may read at rest, in ``unit``: from ``lower`` to ``upper``, None where that side is open."""

    item: str
    unit: str
    lower: float | None = None
    upper: float | None = None
