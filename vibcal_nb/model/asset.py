"""An asset: its rotors, and what each of its vibration channels should do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.units import Unit


@dataclass(frozen=True, kw_only=True)
class Rotor:
    """A shaft and its running speed."""

    name: str
    speed_hz: float


@dataclass(frozen=True, kw_only=True)
class ResponseLimit:
    """Allowed response at one frequency, in % of the reading at the reference frequency."""

    frequency_hz: float
    min_pct: float
    max_pct: float


@dataclass(frozen=True, kw_only=True)
class BandSpecification:
    """What the band response should be: relative to the reading at ``reference_hz``.

    ``flat_pct`` holds within ``flat_hz`` (low, high); ``corner_db`` (lowest, highest) is allowed at either
    corner. What the channel does not state is None.
    """

    reference_hz: float
    flat_hz: tuple[float, float] | None = None
    flat_pct: float | None = None
    corner_low_hz: float | None = None
    corner_high_hz: float | None = None
    corner_db: tuple[float, float] = (-4.0, -2.0)
    limits: tuple[ResponseLimit, ...] = ()


@dataclass(frozen=True, kw_only=True)
class SensorSpecification:
    """What the sensor alone should do: output per input at ``reference_hz``, and how flat around it."""

    input_unit: Unit
    output_unit: Unit
    nominal_sensitivity: float
    tolerance_pct: float
    reference_hz: float
    flat_hz: tuple[float, float] | None = None
    flat_pct: float | None = None


@dataclass(frozen=True, kw_only=True)
class ModuleSpecification:
    """What the conditioning module alone should do under electrical injection: output per input.

    Where the module turns one quantity into another (acceleration into velocity), its sensitivity changes with
    frequency and ``nominal_sensitivity`` holds at ``reference_hz``; None where it is the same at all frequencies.
    """

    input_unit: Unit
    output_unit: Unit
    nominal_sensitivity: float
    tolerance_pct: float
    reference_hz: float | None = None


@dataclass(frozen=True, kw_only=True)
class Channel:
    """A vibration channel from sensor to monitor.

    ``alert``, ``trip`` and ``full_scale`` are in ``input_unit``; ``nominal_sensitivity`` is output per
    input; ``output_zero`` is the live zero in ``output_unit``, and ``zero_tolerance_span_pct`` how far the output at no
    vibration may lie from it, in % of span, which is ``full_scale`` times the nominal sensitivity.
    ``moving_mass_kg`` is what a shaker carries: sensor, mounting block and the part of the cable that moves. What the
    channel does not state is None.
    """

    tag: str
    location: str = ""
    rotors: tuple[Rotor, ...] = ()
    input_unit: Unit
    output_unit: Unit
    nominal_sensitivity: float
    output_zero: float = 0.0
    zero_tolerance_span_pct: float | None = None
    tolerance: Tolerance
    nonlinearity_pct: float | None = None
    nonlinearity_kind: str = "independent"
    alert: float | None = None
    trip: float | None = None
    full_scale: float | None = None
    moving_mass_kg: float | None = None
    band: BandSpecification | None = None
    sensor: SensorSpecification | None = None
    module: ModuleSpecification | None = None

    @property
    def tolerance_pct(self) -> float:
        """How far the sensitivity may lie from nominal, in %: what the tolerance allows at full scale."""
        return self.tolerance.allowed_pct(self.full_scale or 1.0, full_scale=self.full_scale)

    @property
    def set_points(self) -> tuple[tuple[str, float], ...]:
        """Name and level of each set point that the channel states, in ``input_unit``."""
        stated = (("alert", self.alert), ("trip", self.trip))
        return tuple((name, level) for name, level in stated if level is not None)


@dataclass(frozen=True, kw_only=True)
class Asset:
    """A machine with its rotors and its channels, the channels under their tags."""

    tag: str
    name: str
    rotors: tuple[Rotor, ...]
    channels: Mapping[str, Channel]
