r"""Units as the Digital System of Units writes them, such as ``\milli\volt\second\tothe{2}\metre\tothe{-1}``.

Source: D-SI, "Brochure for the Digital System of Units" (units and prefixes by name; ``\tothe{}`` after a unit,
``\per`` before one), SI Brochure, 9th edition, tables 2, 4, 7 and 8. D-SI has neither standard gravity nor the inch:
what is read in g is written in m/s2, in/s in mm/s, mil in um. No unit has a detector, which a name tells.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from functools import lru_cache

from vibcal_nb.problems import Refused, shown
from vibcal_nb.units import G_N

_PREFIXES = {
    "quetta": 30, "ronna": 27, "yotta": 24, "zetta": 21, "exa": 18, "peta": 15, "tera": 12, "giga": 9, "mega": 6,
    "kilo": 3, "hecto": 2, "deca": 1, "deci": -1, "centi": -2, "milli": -3, "micro": -6, "nano": -9, "pico": -12,
    "femto": -15, "atto": -18, "zepto": -21, "yocto": -24, "ronto": -27, "quecto": -30,
}  # fmt: skip
# name: (factor to coherent SI units, powers of m, kg, s, A, K, mol, cd)
_UNITS: dict[str, tuple[float, tuple[int, ...]]] = {
    "metre": (1.0, (1,)), "gram": (1e-3, (0, 1)), "kilogram": (1.0, (0, 1)), "second": (1.0, (0, 0, 1)),
    "ampere": (1.0, (0, 0, 0, 1)), "kelvin": (1.0, (0, 0, 0, 0, 1)), "mole": (1.0, (0, 0, 0, 0, 0, 1)),
    "candela": (1.0, (0, 0, 0, 0, 0, 0, 1)), "hertz": (1.0, (0, 0, -1)), "newton": (1.0, (1, 1, -2)),
    "pascal": (1.0, (-1, 1, -2)), "joule": (1.0, (2, 1, -2)), "watt": (1.0, (2, 1, -3)), "coulomb": (1.0, (0, 0, 1, 1)),
    "volt": (1.0, (2, 1, -3, -1)), "farad": (1.0, (-2, -1, 4, 2)), "ohm": (1.0, (2, 1, -3, -2)),
    "siemens": (1.0, (-2, -1, 3, 2)), "weber": (1.0, (2, 1, -2, -1)), "tesla": (1.0, (0, 1, -2, -1)),
    "henry": (1.0, (2, 1, -2, -2)), "degreecelsius": (1.0, (0, 0, 0, 0, 1)), "radian": (1.0, ()),
    "steradian": (1.0, ()), "degree": (math.pi / 180.0, ()), "arcminute": (math.pi / 10800.0, ()),
    "arcsecond": (math.pi / 648000.0, ()), "minute": (60.0, (0, 0, 1)), "hour": (3600.0, (0, 0, 1)),
    "day": (86400.0, (0, 0, 1)), "litre": (1e-3, (3,)), "tonne": (1e3, (0, 1)), "bar": (1e5, (-1, 1, -2)),
    "one": (1.0, ()), "percent": (0.01, ()), "ppm": (1e-6, ()), "decibel": (1.0, ()), "bel": (1.0, ()),
    "neper": (1.0, ()),
}  # fmt: skip
_TOKEN = re.compile(r"\\([a-z]+)(?:\{([^{}]*)\})?")
_LOGARITHMIC = ("decibel", "bel", "neper")

SENSITIVITY_SCALE = {"g": ("m/s2", G_N), "in/s": ("mm/s", 25.4), "mil": ("um", 25.4), "in": ("mm", 25.4)}
"""Units that D-SI lacks: the unit in which they are written, and how many of it one of them is."""

_SYMBOLS = {
    "m/s2": (("", "metre", 1), ("", "second", -2)), "m/s": (("", "metre", 1), ("", "second", -1)),
    "mm/s": (("milli", "metre", 1), ("", "second", -1)), "m": (("", "metre", 1),), "mm": (("milli", "metre", 1),),
    "um": (("micro", "metre", 1),), "V": (("", "volt", 1),), "mV": (("milli", "volt", 1),),
    "A": (("", "ampere", 1),), "mA": (("milli", "ampere", 1),), "uA": (("micro", "ampere", 1),),
    "C": (("", "coulomb", 1),), "nC": (("nano", "coulomb", 1),), "pC": (("pico", "coulomb", 1),),
    "Hz": (("", "hertz", 1),), "s": (("", "second", 1),), "ms": (("milli", "second", 1),), "%": (("", "percent", 1),),
    "dB": (("", "decibel", 1),), "°": (("", "degree", 1),), "1": (("", "one", 1),),
    "°C": (("", "degreecelsius", 1),), "Mohm": (("mega", "ohm", 1),), "ohm": (("", "ohm", 1),),
    "kohm": (("kilo", "ohm", 1),), "Gohm": (("giga", "ohm", 1),),
    "pF": (("pico", "farad", 1),), "nF": (("nano", "farad", 1),),
}  # fmt: skip


class DsiUnitRefused(Refused):
    """A unit that is none of D-SI; the text is what was found, as a phrase."""


@dataclass(frozen=True, kw_only=True)
class DsiUnit:
    """A unit of D-SI: ``factor`` times a value is in coherent SI units of ``dimension`` (m, kg, s, A, K, mol, cd).

    ``names`` are the units that it is made of.
    """

    text: str
    factor: float
    dimension: tuple[int, ...]
    names: frozenset[str] = field(default=frozenset())

    @property
    def is_logarithmic(self) -> bool:
        """Whether it is of a level in the sense of logarithms, which no factor converts."""
        return bool(self.names & set(_LOGARITHMIC))


def dsi_text(symbol: str, per: str | None = None) -> str:
    r"""Write the unit of a symbol in D-SI, or that of one ``per`` another.

    Raises ``DsiUnitRefused`` for a symbol that D-SI lacks.

    Examples
    --------
    >>> print(dsi_text("mV", per="m/s2"))
    \milli\volt\second\tothe{2}\metre\tothe{-1}
    """
    if symbol == per:
        return dsi_text("1")
    parts = list(_parts(symbol))
    if per is not None:
        parts += [(prefix, unit, -power) for prefix, unit, power in reversed(_parts(per))]
    return "".join(_written(*part) for part in parts)


def _parts(symbol: str) -> tuple[tuple[str, str, int], ...]:
    if symbol not in _SYMBOLS:
        raise DsiUnitRefused(f"the unit {shown(symbol)}, which D-SI lacks")
    return _SYMBOLS[symbol]


def _written(prefix: str, unit: str, power: int) -> str:
    before = f"\\{prefix}" if prefix else ""
    return f"{before}\\{unit}" + ("" if power == 1 else f"\\tothe{{{power}}}")


@lru_cache(maxsize=1024)
def parse_dsi(text: str) -> DsiUnit:
    r"""Return the unit that a text of D-SI states. Raises ``DsiUnitRefused``.

    Examples
    --------
    >>> parse_dsi(r"\milli\volt\per\metre").dimension
    (1, 1, -3, -1, 0, 0, 0)
    """
    tokens = _tokens(text)
    factor, dimension, names = 1.0, [0] * 7, set()
    while tokens:
        sign = 1
        if tokens[0] == ("per", None):
            sign, tokens = -1, tokens[1:]
        scale = 1.0
        if tokens and tokens[0][0] in _PREFIXES and tokens[0][1] is None:
            scale, tokens = 10.0 ** _PREFIXES[tokens[0][0]], tokens[1:]
        if not tokens or tokens[0][0] not in _UNITS or tokens[0][1] is not None:
            raise DsiUnitRefused(f"{shown(text)}, which is no unit of D-SI")
        (name, _), tokens = tokens[0], tokens[1:]
        power = 1
        if tokens and tokens[0][0] == "tothe":
            power, tokens = _power(tokens[0][1], text), tokens[1:]
        size, powers = _UNITS[name]
        factor *= (scale * size) ** (sign * power)
        for place, own in enumerate(powers):
            dimension[place] += sign * power * own
        names.add(name)
    return DsiUnit(text=text, factor=factor, dimension=tuple(dimension), names=frozenset(names))


def _tokens(text: str) -> list[tuple[str, str | None]]:
    found = [(match[1], match[2]) for match in _TOKEN.finditer(text)]
    written = "".join(match[0] for match in _TOKEN.finditer(text))
    if not found or written != text or len(found) > 40:
        raise DsiUnitRefused(f"{shown(text)}, which is no unit of D-SI")
    return found


def _power(text: str | None, whole: str) -> int:
    if text is None or not re.fullmatch(r"-?[1-9]\d?", text):
        raise DsiUnitRefused(f"{shown(whole)} with a power that is no whole number")
    return int(text)
