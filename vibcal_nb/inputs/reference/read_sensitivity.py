"""The sensitivity of a reference over frequency: as equipment.toml states it, or as its certificate's file does."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Final

from vibcal_nb.inputs.certificates.sensitivity import CertifiedSensitivity
from vibcal_nb.inputs.files.toml_table import TomlTable
from vibcal_nb.model.equipment import ReferenceSensitivity, SensitivityPoint
from vibcal_nb.problems import shown
from vibcal_nb.units import UnitError, parse_unit

FEWEST: Final = 2
_QUOTIENT = re.compile(
    r"\s*(?P<output>[^/()]+?)\s*(?:/\s*\((?P<inner>[^()]+)\)|/\s*(?P<plain>[^()]+)|\s+per\s+(?P<per>.+))\s*"
)
_REMEDY = "give output per level, such as 'pC/(m/s2)' or 'mV/g'"


def read_sensitivity(reference: TomlTable) -> ReferenceSensitivity | None:
    """Read the table ``sensitivity`` of a reference; None, with the problems noted, where there is none.

    What it states of the reference's uncertainty by frequency stands in the reference's own table afterwards, unless
    that has one.
    """
    table = reference.table("sensitivity")
    if table is None:
        return None
    before = len(table.problems)
    output, given = _read_unit(table)
    correlation = table.number("correlation")
    points = [point for item in table.tables("table") if (point := _read_point(item)) is not None]
    table.finish()
    points.sort(key=lambda point: point.frequency_hz)
    if len(table.problems) == before and len(points) < FEWEST:
        table.note("table", f"{len(points)} frequencies", "give two or more, those of the certificate")
    twice = next((a.frequency_hz for a, b in pairwise(points) if a.frequency_hz == b.frequency_hz), None)
    if twice is not None:
        table.note("table", f"{twice:g} Hz twice", "keep the value that holds")
    if len({point.phase_deg is None for point in points}) > 1:
        table.note("table", "a phase_deg at some frequencies and none at others", "give it at all of them, or at none")
    if correlation is not None and "correlation" in reference.values:
        table.note("correlation", "another beside that of the reference", "give one of the two")
    elif correlation is not None:
        reference.give("correlation", correlation)
    if len(table.problems) > before:
        return None
    return ReferenceSensitivity(output=output, input=given, points=tuple(points))


def certified(found: CertifiedSensitivity) -> ReferenceSensitivity:
    """Return what a certificate's file states."""
    return ReferenceSensitivity(
        output=found.output,
        input=found.input,
        points=tuple(
            SensitivityPoint(
                frequency_hz=point.hz,
                value=point.value,
                expanded_pct=point.expanded_pct,
                k=point.k,
                phase_deg=point.phase_deg,
            )
            for point in found.points
        ),
    )


def bands(found: ReferenceSensitivity) -> list[dict[str, float]]:
    """Return the uncertainty between neighbouring frequencies: the larger of both ends, with its k."""
    pairs = ((a, b, max(a, b, key=lambda item: item.expanded_pct / item.k)) for a, b in pairwise(found.points))
    return [
        {"from_hz": a.frequency_hz, "to_hz": b.frequency_hz, "expanded_pct": wider.expanded_pct, "k": wider.k}
        for a, b, wider in pairs
    ]


def _read_unit(table: TomlTable) -> tuple[str, str]:
    text = table.text("unit")
    found = _QUOTIENT.fullmatch(text)
    if not text:
        return "", ""  # noted as missing
    if found is None:
        table.note("unit", shown(text), _REMEDY)
        return "", ""
    given = found["inner"] or found["plain"] or found["per"]
    try:
        output, level = parse_unit(f"{found['output']} rms"), parse_unit(f"{given} rms")
    except UnitError:
        table.note("unit", shown(text), _REMEDY)
        return "", ""
    if output.is_vibration or not level.is_vibration:
        table.note("unit", shown(text), _REMEDY)
    return output.symbol, level.symbol


def _read_point(table: TomlTable) -> SensitivityPoint | None:
    before = len(table.problems)
    fields = table.read("value", "expanded_pct", "k", "phase_deg", "phase_expanded_deg")
    fields["frequency_hz"] = table.number("hz")
    table.finish()
    if "phase_expanded_deg" in table.values and "phase_deg" not in table.values:
        table.note("phase_deg", "nothing", "give it beside phase_expanded_deg")
    return None if len(table.problems) > before else SensitivityPoint(**fields)
