"""The readings of a result, one table: as they were typed, what was made of each, against which limits; worst first."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.writing.numbers import NONE, as_typed, fixed, rounded_pair, true_minus
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.conformity.decision import VERDICTS
from vibcal_nb.units import Unit

RISING, FALLING = "▲", "▼"


@dataclass(frozen=True, kw_only=True)
class Column:
    """A further column: its heading, and what stands in it for a point."""

    heading: str
    text: Callable[[JudgedPoint], str]


def readings_table(
    points: Sequence[JudgedPoint],
    *,
    caption: str,
    value: str,
    signed: bool = True,
    with_frequency: bool = True,
    further: Iterable[Column] = (),
    note: str = "",
) -> Table:
    """Lay out judged points, the worst first and those left out last; ``value`` names what is judged, with its unit."""
    columns = [*_typed_columns(points, with_frequency), *_judged_columns(value, signed), *further, *_remarks(points)]
    ordered = sorted(points, key=_severity, reverse=True)
    rows = [
        Row(cells=tuple(column.text(p) for column in columns), struck=p.excluded, verdict=p.verdict) for p in ordered
    ]
    texts = [place for place, column in enumerate(columns) if column.heading in _TEXTS]
    return Table(
        caption=caption,
        headings=(*(column.heading for column in columns), "verdict"),
        rows=tuple(rows),
        text_columns=(*texts, len(columns)),
        note=note,
    )


_LEFT_OUT, _NOTE = "left out because", "note"
_TEXTS = (_LEFT_OUT, _NOTE)


def _severity(point: JudgedPoint) -> tuple[bool, int, float]:
    if point.decision is None or point.value_pct is None:
        return not point.excluded, 0, 0.0
    low, high = point.lower_pct, point.upper_pct
    if low is None or high is None:
        return True, VERDICTS.index(point.decision.verdict), abs(point.value_pct)
    half = 0.5 * (high - low) or 1.0
    return True, VERDICTS.index(point.decision.verdict), abs(point.value_pct - 0.5 * (low + high)) / half


def _typed_columns(points: Sequence[JudgedPoint], with_frequency: bool) -> Iterable[Column]:
    readings = [point.reading for point in points]
    yield Column(heading="row", text=lambda p: str(p.reading.row))
    if with_frequency:
        yield Column(heading="frequency, Hz", text=lambda p: f"{p.reading.frequency_hz:.5g}")
    applied, output = _one_unit(r.applied_unit for r in readings), _one_unit(r.output_unit for r in readings)
    yield Column(
        heading=_headed("level", applied),
        text=lambda p: _typed(
            p.reading.applied, p.reading.applied_decimals, None if applied else p.reading.applied_unit
        ),
    )
    if any(r.reference_output is not None for r in readings):
        yield Column(heading="output of the reference", text=_reference_output)
    yield Column(
        heading=_headed("output", output),
        text=lambda p: _typed(p.reading.output, p.reading.output_decimals, None if output else p.reading.output_unit),
    )
    if any(r.direction for r in readings):
        yield Column(
            heading="way", text=lambda p: {"rising": RISING, "falling": FALLING}.get(p.reading.direction or "", "")
        )
    if any(r.repeat is not None for r in readings):
        yield Column(heading="round", text=lambda p: "" if p.reading.repeat is None else str(p.reading.repeat))


def _reference_output(point: JudgedPoint) -> str:
    """What was written down of a reference's own output, with its id."""
    reading = point.reading
    if reading.reference_output is None or reading.reference_output_unit is None:
        return ""
    return f"{reading.reference_output:g} {reading.reference_output_unit.shown}, {reading.reference}"


def _judged_columns(value: str, signed: bool) -> Iterable[Column]:
    yield Column(heading=value, text=lambda p: _value_and_u(p, signed)[0])
    yield Column(heading="U", text=lambda p: _value_and_u(p, signed)[1])
    yield Column(heading="allowed", text=_allowed)


def _remarks(points: Sequence[JudgedPoint]) -> Iterable[Column]:
    if any(point.reading.exclude for point in points):
        yield Column(heading=_LEFT_OUT, text=lambda p: p.reading.exclude or "")
    if any(point.reading.note for point in points):
        yield Column(heading=_NOTE, text=lambda p: p.reading.note or "")


def _one_unit(units: Iterable[Unit]) -> str | None:
    texts = {unit.shown for unit in units}
    return texts.pop() if len(texts) == 1 else None


def _headed(name: str, unit: str | None) -> str:
    return name if unit is None else f"{name}, {unit}"


def _typed(value: float, decimals: int | None, unit: Unit | None) -> str:
    """A number with the digits that were typed, and none besides."""
    return true_minus(as_typed(value, decimals)) + ("" if unit is None else f" {unit.shown}")


def _value_and_u(point: JudgedPoint, signed: bool) -> tuple[str, str]:
    if point.failure_signal:
        return "failure signal", NONE
    if point.value_pct is None or point.expanded is None or not math.isfinite(point.value_pct):
        return NONE, NONE
    if point.expanded.U == 0.0:
        return fixed(point.value_pct, signed=signed), NONE
    return rounded_pair(point.value_pct, point.expanded, signed=signed)


def _allowed(point: JudgedPoint) -> str:
    low, high = point.lower_pct, point.upper_pct
    if low is None or high is None:
        return NONE
    if abs(low + high) <= 1e-9 * abs(high - low):
        return f"± {high:.3g}"
    return true_minus(f"{low:.1f} to {high:.1f}")
