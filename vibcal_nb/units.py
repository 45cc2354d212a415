"""Units of vibration levels and of what a channel puts out, with their detectors.

A level is the amplitude of a sine, and a level without its detector is ambiguous by 41 %: a unit here is
always a symbol and a detector, such as ``mm/s pk``. Exact constants: standard gravity
g_n = 9.80665 m/s2 (3rd CGPM, 1901; ISO 80000-3), 1 in = 25.4 mm (international inch, 1959).
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, overload

import numpy as np

from vibcal_nb.arrays import FloatArray
from vibcal_nb.problems import Refused

G_N = 9.80665
"""Standard gravity in m/s2, exact."""

INCH = 0.0254
"""International inch in m, exact."""

DAYS_PER_YEAR = 365.25
"""Of the Julian year."""

_SYMBOLS: dict[str, tuple[str, float]] = {
    "m/s2": ("acceleration", 1.0),
    "g": ("acceleration", G_N),
    "m/s": ("velocity", 1.0),
    "mm/s": ("velocity", 1e-3),
    "in/s": ("velocity", INCH),
    "m": ("displacement", 1.0),
    "mm": ("displacement", 1e-3),
    "um": ("displacement", 1e-6),
    "in": ("displacement", INCH),
    "mil": ("displacement", INCH * 1e-3),
    "V": ("voltage", 1.0),
    "mV": ("voltage", 1e-3),
    "A": ("current", 1.0),
    "mA": ("current", 1e-3),
    "uA": ("current", 1e-6),
    "nC": ("charge", 1e-9),
    "pC": ("charge", 1e-12),
}
# Order of integration from acceleration: for a sine of angular frequency w, a = w v = w^2 d.
_INTEGRATIONS = {"acceleration": 0, "velocity": 1, "displacement": 2}
_PEAK_OF = {"pk": 1.0, "rms": math.sqrt(2.0), "pkpk": 0.5}

# What people type, after compatibility normalisation (so that µ, ² and full-width letters are plain ones).
_SPELLINGS: dict[str, tuple[str, ...]] = {
    "m/s2": ("m/s/s", "m/sec2", "ms-2", "m.s-2", "m·s-2", "m⋅s-2", "M/S2"),
    "g": ("G", "gn", "g_n"),
    "m/s": ("m/sec", "M/S"),
    "mm/s": ("mm/sec", "MM/S"),
    "in/s": ("in/sec", "inch/s", "ips", "IPS", "IN/S"),
    "um": ("μm", "micron", "microns"),
    "in": ("inch",),
    "mil": ("mils", "thou", "MIL", "MILS"),
    "V": ("v",),
    "mV": ("mv",),
    "A": ("a",),
    "mA": ("ma",),
    "uA": ("μA", "ua", "μa"),
    "nC": ("nc",),
    "pC": ("pc",),
}
GAP: Final = "gap"
_GAPS = ("m", "mm", "um", "in", "mil")

_SYMBOL_OF = {name: name for name in _SYMBOLS} | {
    spelling: name for name, spellings in _SPELLINGS.items() for spelling in spellings
}
_DETECTORS = {
    "pkpk": r"pk-?to-?pk|peak-?to-?peak|pk-?pk|peak-?peak|p-?p|p-?to-?p",
    "pk": r"pk|peak|0-?pk|0-?p|0-?to-?pk|0-?to-?peak|zero-?to-?peak",
    "rms": r"rms|r\.m\.s\.?",
    "dc": r"dc|d\.c\.?",
}
_TEXT = re.compile(
    r"(?P<symbol>.+?)[\s_,(\[]*(?:"
    + "|".join(f"(?P<{name}>{pattern})" for name, pattern in _DETECTORS.items())
    + r")[)\]]?",
    re.IGNORECASE,
)


class UnitError(Refused, ValueError):
    """A unit that cannot be used; the message is one sentence saying what would be accepted.

    ``found`` is what stood there, ``remedy`` what would be accepted.
    """

    def __init__(self, found: str, remedy: str) -> None:
        """Compose the message from what was found and what would be accepted."""
        super().__init__(f"found {found}; {remedy}.")
        self.found = found
        self.remedy = remedy

    def __reduce__(self) -> tuple[type[UnitError], tuple[str, str]]:
        """Rebuild from both parts, so that the error crosses process borders."""
        return type(self), (self.found, self.remedy)


@dataclass(frozen=True, kw_only=True)
class Unit:
    """A symbol with a detector: ``mm/s pk``, ``g rms``, ``um pkpk``, ``mV rms``, ``mA dc``, ``pC pk``.

    A gap (``mm``, ``um``, ``mil``) is no level and has none: ``detector`` is empty. ``si_factor`` times a value gives
    the SI unit of ``quantity`` (m/s2, m/s, m, V, A, C), same detector.
    """

    text: str
    symbol: str
    quantity: str
    si_factor: float
    detector: str

    @property
    def is_vibration(self) -> bool:
        """Whether this is an acceleration, velocity or displacement."""
        return self.quantity in _INTEGRATIONS

    @property
    def shown(self) -> str:
        """The unit as it is printed for a person: ``m/s² pk``, ``µm pkpk``."""
        return as_printed(self.text)

    def __str__(self) -> str:
        return self.text


def as_printed(unit_text: str) -> str:
    """Return the text of a unit as it is printed: with a raised 2, and the sign for micro.

    Examples
    --------
    >>> as_printed("mV pk per m/s2 pk")
    'mV pk per m/s² pk'
    """
    return re.sub(r"\bu(?=[mAVC]\b)", "µ", unit_text).replace("m/s2", "m/s²")


@lru_cache(maxsize=1024)
def parse_unit(text: str) -> Unit:
    """Return the unit that ``text`` names, under its canonical text.

    Spellings of the trade are understood (``peak``, ``p-p``, ``m/s²``, ``µm``, ``ips``, ``Vrms``); a
    letter's case is not changed where it would change the prefix.

    Raises
    ------
    UnitError
        If the symbol is not known, the detector is missing, or the detector does not go with the symbol.

    Examples
    --------
    >>> parse_unit("in/sec peak").text
    'in/s pk'
    """
    plain = unicodedata.normalize("NFKC", text).strip()
    found = _TEXT.fullmatch(plain)
    if found is None or _symbol_of(plain) is not None:
        raise _without_detector(text, _symbol_of(plain))
    symbol = _symbol_of(found["symbol"])
    if symbol is None:
        raise _unknown_symbol(text)
    detector = next(name for name in _DETECTORS if found[name])
    if detector not in _detectors_for(symbol):
        raise UnitError(repr(text), f"give one of {_with_detectors(symbol)}")
    quantity, si_factor = _SYMBOLS[symbol]
    return Unit(text=f"{symbol} {detector}", symbol=symbol, quantity=quantity, si_factor=si_factor, detector=detector)


@lru_cache(maxsize=64)
def parse_gap_unit(text: str) -> Unit:
    """Return the unit of a gap that ``text`` names: a length without a detector, for a gap is no amplitude.

    Raises
    ------
    UnitError
        If it is no length, or has a detector.

    Examples
    --------
    >>> parse_gap_unit("µm").text
    'um'
    """
    symbol = _symbol_of(unicodedata.normalize("NFKC", text).strip())
    if symbol not in _GAPS:
        raise UnitError(repr(text), f"give a length without a detector, one of {', '.join(_GAPS)}")
    return Unit(text=symbol, symbol=symbol, quantity=GAP, si_factor=_SYMBOLS[symbol][1], detector="")


def unit_of_text(text: str) -> Unit:
    """Return the unit of a canonical text: that of a gap, or one with its detector. Raises ``UnitError``."""
    return parse_gap_unit(text) if text in _GAPS else parse_unit(text)


def gap_unit_texts() -> tuple[str, ...]:
    """Return the text of every unit of a gap."""
    return _GAPS


def unit_texts() -> tuple[str, ...]:
    """Return the text of every unit that there is: each symbol with each detector that goes with it."""
    return tuple(f"{symbol} {detector}" for symbol in _SYMBOLS for detector in _detectors_for(symbol))


def _symbol_of(text: str) -> str | None:
    return _SYMBOL_OF.get(re.sub(r"\s|\^|\*\*", "", text))


def _detectors_for(symbol: str) -> tuple[str, ...]:
    steady = _SYMBOLS[symbol][0] in {"voltage", "current"}
    return ("pk", "rms", "pkpk", "dc") if steady else ("pk", "rms", "pkpk")


def _with_detectors(symbol: str) -> str:
    return ", ".join(f"{symbol} {detector}" for detector in _detectors_for(symbol))


def _without_detector(text: str, symbol: str | None) -> UnitError:
    if symbol is None:
        return _unknown_symbol(text)
    return UnitError(repr(text), f"give the detector too, one of {_with_detectors(symbol)}")


def _unknown_symbol(text: str) -> UnitError:
    symbols = ", ".join(_SYMBOLS)
    return UnitError(repr(text), f"give one of {symbols}, then a detector pk, rms, pkpk or dc, such as 'mm/s pk'")


def lead_deg(from_unit: Unit, to_unit: Unit) -> float:
    """Return by how many degrees the quantity of ``to_unit`` leads that of ``from_unit``, both of one sine.

    Velocity leads displacement by 90 degrees, and acceleration leads velocity by as much.

    >>> lead_deg(parse_unit("g pk"), parse_unit("mm/s pk"))
    -90.0
    """
    return 90.0 * (_INTEGRATIONS[from_unit.quantity] - _INTEGRATIONS[to_unit.quantity])


def is_convertible(from_unit: Unit, to_unit: Unit) -> bool:
    """Whether ``convert`` accepts the pair (given a frequency where the vibration quantities differ)."""
    same_kind = from_unit.quantity == to_unit.quantity or (from_unit.is_vibration and to_unit.is_vibration)
    return same_kind and (from_unit.detector == "dc") == (to_unit.detector == "dc")


@overload
def convert(value: float, from_unit: Unit, to_unit: Unit, *, frequency_hz: float | None = None) -> float: ...
@overload
def convert(
    value: FloatArray, from_unit: Unit, to_unit: Unit, *, frequency_hz: float | FloatArray | None = None
) -> FloatArray: ...
@overload
def convert(value: float, from_unit: Unit, to_unit: Unit, *, frequency_hz: FloatArray) -> FloatArray: ...
def convert(
    value: float | FloatArray,
    from_unit: Unit,
    to_unit: Unit,
    *,
    frequency_hz: float | FloatArray | None = None,
) -> float | FloatArray:
    """Return ``value`` (a number or an array), given in ``from_unit``, in ``to_unit``.

    For a sine pk = sqrt(2) rms, pkpk = 2 pk, and a = w v = w^2 d with w = 2 pi ``frequency_hz``, which is
    needed only where the two vibration quantities differ; it broadcasts against ``value``. A dc value
    converts only to dc.

    Raises
    ------
    UnitError
        If the quantities are unlike, if only one is dc, if a needed frequency is missing or not positive,
        or if the result is not finite.
    """
    if from_unit == to_unit:
        factor: float | FloatArray = 1.0
    else:
        factor = _factor(from_unit, to_unit, frequency_hz)
    result = np.asarray(value, dtype=np.float64) * factor
    if not np.isfinite(result).all():
        raise UnitError(f"a level in {from_unit} without a finite value in {to_unit}", "give finite levels")
    return float(result) if result.ndim == 0 else result


def _factor(from_unit: Unit, to_unit: Unit, frequency_hz: float | FloatArray | None) -> float | FloatArray:
    if not is_convertible(from_unit, to_unit):
        raise UnitError(repr(from_unit.text), f"give {acceptable_for(to_unit)}")
    ratio = from_unit.si_factor / to_unit.si_factor
    if from_unit.detector != to_unit.detector:
        ratio *= _PEAK_OF[from_unit.detector] / _PEAK_OF[to_unit.detector]
    if from_unit.quantity == to_unit.quantity:
        return ratio
    if frequency_hz is None:
        raise UnitError(f"{from_unit} to be given in {to_unit} without a frequency", "give the frequency in Hz")
    if not np.all(np.isfinite(frequency_hz) & (np.asarray(frequency_hz) > 0)):
        raise UnitError(f"frequency {frequency_hz} Hz", "give a frequency above 0 Hz")
    power = _INTEGRATIONS[from_unit.quantity] - _INTEGRATIONS[to_unit.quantity]
    with np.errstate(over="ignore", divide="ignore"):
        return ratio * np.power(2.0 * np.pi * np.asarray(frequency_hz, dtype=np.float64), power)


def acceptable_for(unit: Unit) -> str:
    """Say which units convert to ``unit``, as the end of a sentence."""
    if unit.quantity == GAP:
        return f"a length without a detector, such as '{unit}'"
    if unit.is_vibration:
        return "an acceleration, velocity or displacement with its detector, such as 'mm/s pk'"
    detectors = "dc" if unit.detector == "dc" else "pk, rms or pkpk"
    symbols = [symbol for symbol, (quantity, _) in _SYMBOLS.items() if quantity == unit.quantity]
    return f"a {unit.quantity} in {' or '.join(symbols)} with detector {detectors}, such as '{unit}'"


@overload
def convert_sensitivity(
    value: float,
    *,
    from_output: Unit,
    from_input: Unit,
    to_output: Unit,
    to_input: Unit,
    frequency_hz: float | None = None,
) -> float: ...
@overload
def convert_sensitivity(
    value: FloatArray,
    *,
    from_output: Unit,
    from_input: Unit,
    to_output: Unit,
    to_input: Unit,
    frequency_hz: float | FloatArray | None = None,
) -> FloatArray: ...
def convert_sensitivity(
    value: float | FloatArray,
    *,
    from_output: Unit,
    from_input: Unit,
    to_output: Unit,
    to_input: Unit,
    frequency_hz: float | FloatArray | None = None,
) -> float | FloatArray:
    """Return a sensitivity given in ``from_output`` per ``from_input`` in ``to_output`` per ``to_input``.

    Sensitivity is output over input, so the input's factor divides. Raises UnitError as `convert` does.
    """
    output = convert(np.asarray(value, dtype=np.float64), from_output, to_output)
    result = output / convert(np.asarray(1.0), from_input, to_input, frequency_hz=frequency_hz)
    return float(result) if np.ndim(result) == 0 else result


@overload
def hz_from_rpm(rpm: float) -> float: ...
@overload
def hz_from_rpm(rpm: FloatArray) -> FloatArray: ...
def hz_from_rpm(rpm: float | FloatArray) -> float | FloatArray:
    """Return the frequency in Hz of a speed in revolutions (or cycles) per minute."""
    return rpm / 60.0


@overload
def rpm_from_hz(hz: float) -> float: ...
@overload
def rpm_from_hz(hz: FloatArray) -> FloatArray: ...
def rpm_from_hz(hz: float | FloatArray) -> float | FloatArray:
    """Return the speed in revolutions (or cycles) per minute of a frequency in Hz."""
    return hz * 60.0
