"""What of a channel's stated keys can be drawn, whatever is still open or wrong: the readers say what is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from vibcal_nb.model.tolerance import Tolerance


@dataclass(frozen=True, kw_only=True)
class ChannelSketch:
    """What can be drawn of a channel; what is not stated, or cannot be read, is None or missing.

    ``levels`` are alert, trip and full scale by name, in the input unit; ``corners_hz`` by the words low and high;
    ``limits`` are frequency, lowest and highest response in %; ``rotors_hz`` by name.
    """

    tag: str
    input_unit: str = ""
    output_unit: str = ""
    nominal_sensitivity: float | None = None
    output_zero: float = 0.0
    tolerance: Tolerance | None = None
    levels: Mapping[str, float] = field(default_factory=dict)
    reference_hz: float | None = None
    flat_hz: tuple[float, float] | None = None
    flat_pct: float | None = None
    corners_hz: Mapping[str, float] = field(default_factory=dict)
    corner_db: tuple[float, float] = (-4.0, -2.0)
    limits: tuple[tuple[float, float, float], ...] = ()
    rotors_hz: Mapping[str, float] = field(default_factory=dict)

    @property
    def top(self) -> float | None:
        """The level that the sketch reaches: a tenth above the highest that is stated."""
        return 1.1 * max(self.levels.values()) if self.levels else None

    def allowed(self, level: float) -> float | None:
        """How far the indication may lie from a level, to either side, in the input unit."""
        full_scale = self.levels.get("full scale")
        if self.tolerance is None or (full_scale is None and self.tolerance.span_pct is not None):
            return None
        return self.tolerance.allowed(level, full_scale=full_scale)


def sketch_of(tag: str, values: Mapping[str, Any], *, rotors: Mapping[str, Any]) -> ChannelSketch:
    """Return what can be drawn of the stated keys; ``rotors`` are the asset's, by name, as they are stated."""
    band = _table(values.get("band"))
    levels = {name: _positive(values.get(name.replace(" ", "_"))) for name in ("alert", "trip", "full scale")}
    corners = {side: _positive(band.get(f"corner_{side}_hz")) for side in ("low", "high")}
    speeds = {name: _speed(_table(rotors.get(name))) for name in _list(values.get("rotors")) if isinstance(name, str)}
    return ChannelSketch(
        tag=tag,
        input_unit=_text(values.get("input_unit")),
        output_unit=_text(values.get("output_unit")),
        nominal_sensitivity=_positive(values.get("nominal_sensitivity")),
        output_zero=_number(values.get("output_zero")) or 0.0,
        tolerance=_tolerance(values),
        levels={name: level for name, level in levels.items() if level is not None},
        reference_hz=_positive(band.get("reference_hz")),
        flat_hz=_pair(band.get("flat_hz")),
        flat_pct=_positive(band.get("flat_pct")),
        corners_hz={side: hz for side, hz in corners.items() if hz is not None},
        corner_db=_pair(band.get("corner_db")) or (-4.0, -2.0),
        limits=tuple(limit for item in _list(band.get("limits")) if (limit := _limit(_table(item))) is not None),
        rotors_hz={name: speed for name, speed in speeds.items() if speed is not None},
    )


def _limit(item: Mapping[str, Any]) -> tuple[float, float, float] | None:
    hz, low, high = (_number(item.get(name)) for name in ("hz", "min_pct", "max_pct"))
    return None if hz is None or low is None or high is None or hz <= 0.0 or low >= high else (hz, low, high)


def _tolerance(values: Mapping[str, Any]) -> Tolerance | None:
    table = _table(values.get("tolerance"))
    reading = _positive(values.get("tolerance_pct")) or _positive(table.get("reading_pct"))
    parts = {"span_pct": _positive(table.get("span_pct")), "absolute": _positive(table.get("absolute"))}
    if reading is None and not any(parts.values()):
        return None
    rule = "larger" if table.get("rule") == "larger" else "sum"
    return Tolerance(reading_pct=reading, span_pct=parts["span_pct"], absolute=parts["absolute"], rule=rule)


def _speed(rotor: Mapping[str, Any]) -> float | None:
    rpm, hz = (_middle(rotor.get(key)) for key in ("speed_rpm", "speed_hz"))
    return hz or (None if rpm is None else rpm / 60.0)


def _middle(stated: object) -> float | None:
    """A speed, or the middle of the two that it varies between."""
    if not isinstance(stated, list):
        return _positive(stated)
    ends = [end for item in stated if (end := _positive(item)) is not None]
    return sum(ends) / 2.0 if len(ends) == 2 else None


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e12:
        return None
    return float(value)


def _positive(value: object) -> float | None:
    number = _number(value)
    return number if number is not None and number > 1e-12 else None


def _pair(value: object) -> tuple[float, float] | None:
    first, second = (_number(item) for item in value) if isinstance(value, list) and len(value) == 2 else (None, None)
    return None if first is None or second is None or first >= second else (first, second)


def _table(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _list(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""
