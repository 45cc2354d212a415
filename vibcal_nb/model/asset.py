"""An asset: its rotors, and what each of its vibration channels should do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property

from vibcal_nb.model.items import Item
from vibcal_nb.model.names import ALERT, AS_FOUND, AS_LEFT, TRIP
from vibcal_nb.model.relay.electrical import ElectricalLimit
from vibcal_nb.model.relay.set_points import Indication, SetPoint, VotingGroup
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.units import Unit


@dataclass(frozen=True, kw_only=True)
class Rotor:
    """A shaft and a speed that it runs at.

    A shaft whose speed varies is three of them: at its slowest, between, at its fastest. ``between`` holds the ends in
    Hz of the middle one, which any speed between them stands for; None of the others.
    """

    name: str
    speed_hz: float
    between: tuple[float, float] | None = None


def rotors_of(name: str, low_hz: float, high_hz: float) -> tuple[Rotor, ...]:
    """Return a shaft as rotors: one where its speed is one, else three, at either end of its speeds and between."""
    if low_hz == high_hz:
        return (Rotor(name=name, speed_hz=low_hz),)
    return (
        Rotor(name=f"{name}, slowest", speed_hz=low_hz),
        Rotor(name=f"{name}, between", speed_hz=0.5 * (low_hz + high_hz), between=(low_hz, high_hz)),
        Rotor(name=f"{name}, fastest", speed_hz=high_hz),
    )


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
    corner. ``filter`` is the kind of the channel's filters, one of ``names.FILTERS``. What the channel does not state
    is None.
    """

    reference_hz: float
    flat_hz: tuple[float, float] | None = None
    flat_pct: float | None = None
    corner_low_hz: float | None = None
    corner_high_hz: float | None = None
    corner_db: tuple[float, float] = (-4.0, -2.0)
    limits: tuple[ResponseLimit, ...] = ()
    filter: str | None = None


@dataclass(frozen=True, kw_only=True)
class PhaseLimit:
    """Allowed phase of the output against the level at one frequency, in degrees; a lag is negative."""

    frequency_hz: float
    min_deg: float
    max_deg: float


@dataclass(frozen=True, kw_only=True)
class PhaseSpecification:
    """What the phase of the output against the level, both in the part's own quantities, should be.

    ``polarity`` is one of ``names.POLARITIES``; ``delay_ms`` (lowest, highest) is allowed of the delay. What is not
    stated is None, or empty.
    """

    polarity: str | None = None
    limits: tuple[PhaseLimit, ...] = ()
    delay_ms: tuple[float, float] | None = None


@dataclass(frozen=True, kw_only=True)
class TemperatureLimit:
    """Allowed change of a sensor's sensitivity at a temperature, in % of that at room temperature."""

    temperature_c: float
    min_pct: float
    max_pct: float


@dataclass(frozen=True, kw_only=True)
class SensorSpecification:
    """What the sensor alone should do: output per input at ``reference_hz``, and how flat around it.

    ``natural_frequency_hz`` and ``damping_ratio`` (lowest, highest) are of a second-order sensor, a moving coil say.
    ``phase`` is what its own phase should be, ``hot`` how its sensitivity may change with temperature.
    """

    input_unit: Unit
    output_unit: Unit
    nominal_sensitivity: float
    tolerance_pct: float
    reference_hz: float
    flat_hz: tuple[float, float] | None = None
    flat_pct: float | None = None
    natural_frequency_hz: tuple[float, float] | None = None
    damping_ratio: tuple[float, float] | None = None
    phase: PhaseSpecification | None = None
    hot: tuple[TemperatureLimit, ...] = ()


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
class GapCurveSpecification:
    """What an eddy-current probe should give against the gap before a target at rest.

    ``nominal_sensitivity`` is signed, in ``output_unit`` per ``input_unit``. Gaps are in ``input_unit``: limits hold
    within ``range`` (lowest, highest); increments are of ``step``; ``rest_gap`` is that at rest.
    ``incremental_pct`` is allowed of each increment, ``deviation_um`` of the readings from the best line of the nominal
    slope, ``rest_voltage`` (lowest, highest) at the rest gap. ``target`` is the material before the probe. What is not
    stated is None, or empty.
    """

    input_unit: Unit
    output_unit: Unit
    nominal_sensitivity: float
    range: tuple[float, float] | None = None
    step: float | None = None
    incremental_pct: float | None = None
    deviation_um: float | None = None
    rest_gap: float | None = None
    rest_voltage: tuple[float, float] | None = None
    target: str = ""


@dataclass(frozen=True, kw_only=True)
class Channel:
    """A vibration channel from sensor to monitor.

    ``alert``, ``trip`` and ``full_scale`` are in ``input_unit``; ``nominal_sensitivity`` is output per
    input; ``output_zero`` is the live zero in ``output_unit``, and ``zero_tolerance_span_pct`` how far the output at no
    vibration may lie from it, in % of span, which is ``full_scale`` times the nominal sensitivity.
    ``moving_mass_kg`` is what a shaker carries: sensor, mounting block and the part of the cable that moves;
    ``overhang_mm`` how far its centre lies beside the shaker's axis; ``transverse_pct`` the sensor's transverse
    sensitivity in % of that along its axis.
    ``relays`` are the set points that are stated with their relays, ``indication`` what the monitor shows,
    ``electrical`` what may be read at rest, ``phase`` what the output's phase should be. ``group`` is there where this
    stands for channels that vote, and has nothing else of them.
    ``items`` are those installed, ``kind`` names what its limits are shared with, ``formerly`` its older tags. What the
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
    overhang_mm: float | None = None
    transverse_pct: float | None = None
    band: BandSpecification | None = None
    sensor: SensorSpecification | None = None
    module: ModuleSpecification | None = None
    relays: tuple[SetPoint, ...] = ()
    indication: Indication | None = None
    electrical: tuple[ElectricalLimit, ...] = ()
    group: VotingGroup | None = None
    gap_curve: GapCurveSpecification | None = None
    phase: PhaseSpecification | None = None
    kind: str | None = None
    items: tuple[Item, ...] = ()
    formerly: tuple[str, ...] = ()

    @property
    def tolerance_pct(self) -> float:
        """How far the sensitivity may lie from nominal, in %: what the tolerance allows at full scale."""
        return self.tolerance.allowed_pct(self.full_scale or 1.0, full_scale=self.full_scale)

    @property
    def set_points(self) -> tuple[tuple[str, float], ...]:
        """Name and level of each set point that the channel states, in ``input_unit``."""
        short = ((ALERT, self.alert), (TRIP, self.trip))
        further = ((relay.name, relay.level) for relay in self.relays if relay.name not in (ALERT, TRIP))
        return (*((name, level) for name, level in short if level is not None), *further)

    def relay_of(self, set_point: str) -> SetPoint:
        """Return a set point with its relay, as far as one is stated. Raises ``KeyError``."""
        level = dict(self.set_points)[set_point]
        stated = next((relay for relay in self.relays if relay.name == set_point), None)
        return SetPoint(name=set_point, level=level) if stated is None else replace(stated, level=level)


def channel_of(group: VotingGroup, *, input_unit: Unit, output_unit: Unit) -> Channel:
    """Return a group that votes as a channel: of its channels it has the units alone."""
    return Channel(
        tag=group.tag,
        location=f"{group.logic} of {', '.join(group.channels)}",
        input_unit=input_unit,
        output_unit=output_unit,
        nominal_sensitivity=1.0,
        tolerance=Tolerance(),
        group=group,
    )


@dataclass(frozen=True, kw_only=True)
class Asset:
    """A machine on one day, with its rotors and its channels, the channels under their tags.

    ``channels`` are as a visit on that day found them, ``as_left`` those that it left otherwise (an item was
    exchanged). ``groups`` are the groups that vote, each as a channel of its own. ``formerly`` are older tags of the
    asset; ``retired`` is the first day on which it is no longer in service, and so of ``retired_channels``, which are
    none of ``channels``.
    """

    tag: str
    name: str
    rotors: tuple[Rotor, ...]
    channels: Mapping[str, Channel]
    as_left: Mapping[str, Channel] = field(default_factory=dict)
    formerly: tuple[str, ...] = ()
    retired: date | None = None
    retired_channels: Mapping[str, date] = field(default_factory=dict)
    groups: Mapping[str, Channel] = field(default_factory=dict)

    @cached_property
    def by_older_tag(self) -> Mapping[str, str]:
        """The channels' tags of today by their older ones."""
        return {older: tag for tag, channel in self.channels.items() for older in channel.formerly}

    def channel(self, tag: str, condition: str = AS_FOUND) -> Channel:
        """Return a channel as it was found, or left, or a group that votes. Raises ``KeyError``."""
        if tag in self.groups:
            return self.groups[tag]
        return self.as_left.get(tag, self.channels[tag]) if condition == AS_LEFT else self.channels[tag]
