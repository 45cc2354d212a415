"""A reference's sensitivity over frequency, found in any of the shapes in which a certificate may write it.

The columns are found by the tokens of ``refType``, then by label or name, then by the dimension of their units, and
never by their place. Without an uncertainty a table is refused: it would make a reference that is known exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from vibcal_nb.inputs.certificates.certificate import Certificate, CertificateTable, Column
from vibcal_nb.inputs.certificates.dsi_units import DsiUnit, DsiUnitRefused, parse_dsi
from vibcal_nb.inputs.certificates.read_certificate import CertificateRefused

_HERTZ = parse_dsi("\\hertz").dimension
_OUTPUTS = {"V": parse_dsi("\\volt"), "C": parse_dsi("\\coulomb"), "A": parse_dsi("\\ampere")}
_INPUTS = {
    "m/s2": parse_dsi("\\metre\\second\\tothe{-2}"),
    "m/s": parse_dsi("\\metre\\second\\tothe{-1}"),
    "m": parse_dsi("\\metre"),
}
USUAL_K = 2.0


@dataclass(frozen=True, kw_only=True)
class CertifiedPoint:
    """The sensitivity at one frequency: ``value`` in the table's unit, ``phase_deg`` None where none is stated.

    ``expanded_pct`` is U in % of the value with its ``k``; k is 2 where the certificate states a standard uncertainty.
    """

    hz: float
    value: float
    phase_deg: float | None
    expanded_pct: float
    k: float


@dataclass(frozen=True, kw_only=True)
class CertifiedSensitivity:
    """A sensitivity over frequency, ascending: ``output`` is V, C or A, ``input`` m/s2, m/s or m, values in both."""

    output: str
    input: str
    title: str
    points: tuple[CertifiedPoint, ...]

    @property
    def unit(self) -> str:
        """The unit of the values."""
        return f"{self.output}/({self.input})"


def find_sensitivity(certificate: Certificate) -> CertifiedSensitivity:
    """Return the one table of a certificate that states a sensitivity over frequency. Raises ``CertificateRefused``."""
    found = [(table, columns) for table in certificate.tables if (columns := _columns(table)) is not None]
    if not found:
        _refuse(certificate, "no sensitivity over frequency", "give the certificate of a vibration sensor")
    if len(found) > 1:
        titles = ", ".join(f"'{table.title}'" for table, _ in found[:5])
        _refuse(certificate, f"{len(found)} tables of sensitivity: {titles}", "give a certificate with one of them")
    ((table, columns),) = found
    return _read(certificate, table, *columns)


def _refuse(certificate: Certificate, found: str, remedy: str) -> None:
    raise CertificateRefused(f"{certificate.file}: found {found}; {remedy}.")


def _columns(table: CertificateTable) -> tuple[Column, Column, Column | None] | None:
    """The columns of frequency, sensitivity and phase; None where there is no frequency or no sensitivity."""
    numbers = [column for column in table.columns if column.kind != "words" and len(column.values) > 1]
    frequency = _one(numbers, "frequency", _is_frequency, without=("natural", "resonance", "nominal"))
    nominal = _one(numbers, "frequency", _is_frequency, without=("natural", "resonance"))
    frequency = frequency or nominal
    rest = [column for column in numbers if column is not frequency]
    sensitivity = _one([item for item in rest if item.kind == "magnitude"], "sensitivity", _is_sensitivity, without=())
    sensitivity = sensitivity or _one(rest, "sensitivity", _is_sensitivity, without=("phase", "deviation", "nominal"))
    if frequency is None or sensitivity is None:
        return None
    phases = [item for item in rest if item is not sensitivity]
    phase = _one([item for item in phases if item.kind == "phase"], "phase", _is_phase, without=())
    return frequency, sensitivity, phase or _one(phases, "phase", _is_phase, without=("limit",))


def _one(
    columns: list[Column], word: str, fits: Callable[[Column], bool], *, without: tuple[str, ...]
) -> Column | None:
    """The column of a word: by the tokens of its refType, else by label or name, else by its unit; it has the unit."""
    fitting = [column for column in columns if fits(column) and not _says(column, without)]
    by_token = [column for column in fitting if any(word in token.casefold() for token in column.ref_types)]
    by_name = [column for column in fitting if word in f"{column.label} {column.name}".casefold()]
    for found in (by_token, by_name, fitting):
        if len(found) == 1:
            return found[0]
    return None


def _says(column: Column, words: tuple[str, ...]) -> bool:
    if column.kind != "real":
        return False
    text = f"{' '.join(column.ref_types)} {column.label} {column.name}".casefold()
    return any(word in text for word in words)


def _unit(column: Column) -> DsiUnit | None:
    try:
        units = [parse_dsi(unit) for unit in column.units]
    except DsiUnitRefused:
        return None
    return units[0] if units and len({unit.dimension for unit in units}) == 1 else None


def _is_frequency(column: Column) -> bool:
    unit = _unit(column)
    return unit is not None and unit.dimension == _HERTZ and column.kind == "real"


def _is_sensitivity(column: Column) -> bool:
    return column.kind != "phase" and _kind_of(column) is not None


def _is_phase(column: Column) -> bool:
    unit = _unit(column)
    return unit is not None and bool(unit.names & {"degree", "radian", "arcminute", "arcsecond"})


def _kind_of(column: Column) -> tuple[str, str] | None:
    unit = _unit(column)
    for output, a in _OUTPUTS.items():
        for given, b in _INPUTS.items():
            quotient = tuple(x - y for x, y in zip(a.dimension, b.dimension, strict=True))
            if unit is not None and unit.dimension == quotient:
                return output, given
    return None


def _read(
    certificate: Certificate, table: CertificateTable, frequency: Column, sensitivity: Column, phase: Column | None
) -> CertifiedSensitivity:
    count = len(sensitivity.values)
    for column in (frequency, *(() if phase is None else (phase,))):
        if len(column.values) != count:
            lengths = f"{len(column.values)} values of '{column.title}' for {count} of '{sensitivity.title}'"
            _refuse(certificate, lengths, "ask who issued it for one whose lists are of one length")
    if sensitivity.standard is None:
        _refuse(certificate, f"no uncertainty of '{sensitivity.title}'", "a reference needs one")
    hz, values = _in_si(frequency), _in_si(sensitivity)
    degrees = [None] * count if phase is None else [_degrees(item) for item in _in_si(phase)]
    points = []
    for place in range(count):
        u, value, f = (sensitivity.standard or ())[place], sensitivity.values[place], hz[place]
        if value is None or f is None or values[place] is None:
            continue  # a gap: nothing is stated at that frequency
        if u is None or not (u > 0.0 and value != 0.0 and f > 0.0):
            _refuse(certificate, f"no usable value and uncertainty at {f:g} Hz", "a reference needs both")
        k = (sensitivity.k or (None,) * count)[place] or USUAL_K
        points.append(
            CertifiedPoint(
                hz=f,
                value=abs(values[place] or 0.0),
                phase_deg=degrees[place],
                expanded_pct=100.0 * k * (u or 0.0) / abs(value),
                k=k,
            )
        )
    output, given = _kind_of(sensitivity) or ("", "")
    ordered = sorted(points, key=lambda point: point.hz)
    if not ordered or len({point.hz for point in ordered}) < len(ordered):
        _refuse(certificate, "one frequency twice, or none at all", "ask who issued it which value holds")
    return CertifiedSensitivity(output=output, input=given, title=table.title, points=tuple(ordered))


def _in_si(column: Column) -> list[float | None]:
    units = column.units if len(column.units) == len(column.values) else column.units * len(column.values)
    factors = [parse_dsi(unit).factor for unit in units]
    return [
        None if value is None else value if factor == 1.0 else value * factor
        for value, factor in zip(column.values, factors, strict=True)
    ]


def _degrees(radians: float | None) -> float | None:
    return None if radians is None else round(math.degrees(radians), 9)
