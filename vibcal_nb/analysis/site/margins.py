"""How near a result lies to the limit that is nearest: one figure by which thousands of results are compared."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import singledispatch

from vibcal_nb.analysis.band_response.band_response import BandResponseResult
from vibcal_nb.analysis.linearity.linearity import LinearityResult
from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.metrology.conformity.decision import Decision


@dataclass(frozen=True, kw_only=True)
class Margin:
    """What lies nearest to a limit of its own.

    ``margin_pct`` is the distance from the nearer limit in % of the room there is (half the width of a
    two-sided tolerance, the limit itself of a one-sided one): 100 in the middle, 0 on a limit, negative outside.
    """

    name: str
    value_pct: float
    margin_pct: float


def margin_of(name: str, decision: Decision) -> Margin | None:
    """Return the margin of a judged value; None where its tolerance leaves no room to compare with."""
    lower, upper, value = decision.limits.lower, decision.limits.upper, decision.value
    if lower is not None and upper is not None:
        room, distance = 0.5 * (upper - lower), min(value - lower, upper - value)
    else:
        room = abs(upper if upper is not None else lower or 0.0)
        distance = upper - value if upper is not None else value - (lower or 0.0)
    if room <= 0.0:
        return None
    return Margin(name=name, value_pct=value, margin_pct=100.0 * distance / room)


def worst_margin(result: object) -> Margin | None:
    """Return the least margin of all that a result was judged by; None where nothing was judged."""
    found = [margin_of(name, decision) for name, decision in _judged(result)]
    return min((item for item in found if item is not None), key=lambda item: item.margin_pct, default=None)


@singledispatch
def _judged(result: object) -> Iterator[tuple[str, Decision]]:
    return iter(())


def _points(points: tuple[JudgedPoint, ...]) -> Iterator[tuple[str, Decision]]:
    for point in points:
        if point.decision is not None:
            yield f"reading in row {point.reading.row} at {point.reading.frequency_hz:.5g} Hz", point.decision


@_judged.register
def _(result: LinearityResult) -> Iterator[tuple[str, Decision]]:
    for item in result.frequencies:
        yield from _points(item.points)
        if item.line is None:
            continue
        yield f"sensitivity at {item.frequency_hz:.4g} Hz", item.line.deviation_decision
        if item.line.nonlinearity_decision is not None:
            yield f"non-linearity at {item.frequency_hz:.4g} Hz", item.line.nonlinearity_decision


@_judged.register
def _(result: BandResponseResult) -> Iterator[tuple[str, Decision]]:
    yield from _points(result.points)
    for item in result.requirements:
        if item.decision is not None:
            yield f"{item.requirement.name} at {item.requirement.frequency_hz:.5g} Hz", item.decision


@_judged.register
def _(result: SensorAloneResult) -> Iterator[tuple[str, Decision]]:
    yield from _points(result.points)
    if result.reference_decision is not None:
        yield f"sensor sensitivity at {result.specification.reference_hz:.4g} Hz", result.reference_decision
