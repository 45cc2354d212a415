"""The plan of a visit to one channel: points within the shaker's reach, and what will stay unverified."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from vibcal_nb.analysis.planning.beyond_reach import injection, larger_shaker, reach_of
from vibcal_nb.analysis.planning.expected_output import ExpectedOutput, expect_band, expect_linearity, expect_sensor
from vibcal_nb.analysis.planning.shaker import find_reach
from vibcal_nb.analysis.planning.wanted_points import (
    WantedPoint,
    test_frequencies,
    top_level,
    want_band,
    want_linearity,
    want_sensor,
)
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY, SENSOR_ALONE, SHAKER_TESTS
from vibcal_nb.problems import NothingToPlan
from vibcal_nb.units import Unit

LEAST_SHARE = 0.2  # of the wanted level: below it a reading drowns in noise and resolution
LEVEL_DIGITS = 3


@dataclass(frozen=True, kw_only=True)
class PlannedPoint:
    """One reading to take: level in ``applied_unit``, output in ``output_unit`` as a good channel gives it.

    ``reduced`` says that the shaker does not reach the level that was wanted. ``direction`` and ``repeat`` tell
    readings of the same level apart.
    """

    channel: str
    test: str
    frequency_hz: float
    level: float
    applied_unit: Unit
    output: ExpectedOutput
    output_unit: Unit
    purpose: str
    reduced: bool = False
    direction: str | None = None
    repeat: int | None = None


@dataclass(frozen=True, kw_only=True)
class OutOfReach:
    """What the shaker cannot show: the level wanted and reached, in ``unit``, and what would cover it."""

    what: str
    test: str
    frequency_hz: float
    level: float
    reached: float
    unit: Unit
    limited_by: str
    covers: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ChannelPlan:
    """The plan for one channel on one shaker, with what it was made from."""

    channel: Channel
    shaker: Shaker
    moving_mass_kg: float
    points: tuple[PlannedPoint, ...]
    out_of_reach: tuple[OutOfReach, ...]
    cautions: tuple[str, ...]

    def of_test(self, test: str) -> tuple[PlannedPoint, ...]:
        """Return the points of one test."""
        return tuple(point for point in self.points if point.test == test)


def plan_channel(
    channel: Channel,
    *,
    shaker: Shaker,
    others: Sequence[Shaker] = (),
    moving_mass_kg: float | None = None,
    tests: Iterable[str] = SHAKER_TESTS,
) -> ChannelPlan:
    """Plan the readings of one channel on ``shaker``; ``others`` are shakers that might cover what it cannot.

    ``moving_mass_kg`` replaces the channel's own. Raises ``NothingToPlan`` where the moving mass is not known or the
    channel needs no test of those asked for, ``ShakerError`` where the shaker states no limits.
    """
    mass = channel.moving_mass_kg if moving_mass_kg is None else moving_mass_kg
    if mass is None:
        raise NothingToPlan(
            f"The mass that the shaker carries is not known for channel {channel.tag}; give moving_mass_kg in "
            "asset.toml: the sensor with its mounting block and the cable that moves."
        )
    planner = _Planner(channel, shaker, tuple(s for s in others if s.id != shaker.id), mass)
    for test in dict.fromkeys(tests):
        planner.plan(test)
    if not planner.points:
        raise NothingToPlan(f"Shaker {shaker.id} reaches no point that channel {channel.tag} needs.")
    cautions = find_reach(shaker, frequency_hz=80.0, moving_mass_kg=mass).cautions
    return ChannelPlan(
        channel=channel,
        shaker=shaker,
        moving_mass_kg=mass,
        points=tuple(planner.points),
        out_of_reach=tuple(planner.out_of_reach),
        cautions=cautions,
    )


class _Planner:
    """Collects the points of one channel's tests, and what lies out of reach."""

    def __init__(self, channel: Channel, shaker: Shaker, others: tuple[Shaker, ...], mass: float) -> None:
        self.channel, self.shaker, self.others, self.mass = channel, shaker, others, mass
        self.points: list[PlannedPoint] = []
        self.out_of_reach: list[OutOfReach] = []

    def plan(self, test: str) -> None:
        if test == LINEARITY:
            for frequency, whose in test_frequencies(self.channel).items():
                self._plan_linearity(frequency, whose)
        elif test == BAND_RESPONSE and self.channel.band is not None:
            band, channel = self.channel.band, self.channel
            self._plan_one_level(
                want_band(channel, band),
                channel.input_unit,
                channel.output_unit,
                lambda f, x: expect_band(channel, band, frequency_hz=f, level=x),
            )
        elif test == SENSOR_ALONE and self.channel.sensor is not None:
            sensor = self.channel.sensor
            self._plan_one_level(
                want_sensor(sensor),
                sensor.input_unit,
                sensor.output_unit,
                lambda f, x: expect_sensor(self.channel, frequency_hz=f, level=x),
            )

    def _plan_linearity(self, frequency_hz: float, whose: str) -> None:
        channel, unit = self.channel, self.channel.input_unit
        reached, _ = self._reach(frequency_hz, unit)
        wanted = top_level(channel) or reached
        top = _floored(min(wanted, reached))
        if top <= 0.0:
            self._miss(f"linearity at {frequency_hz:.5g} Hz ({whose})", LINEARITY, frequency_hz, wanted, unit)
            return
        for point in want_linearity(channel, frequency_hz=frequency_hz, top=top):
            reduced = point.level == top < 0.999 * wanted
            named = replace(point, purpose="highest the shaker reaches") if reduced else point
            output = expect_linearity(channel, level=point.level)
            self._add(named, point.level, unit, channel.output_unit, output, reduced=reduced)
        for name, level in channel.set_points:
            if level > top:
                self._miss(f"{name} at {frequency_hz:.5g} Hz ({whose})", LINEARITY, frequency_hz, level, unit)

    def _plan_one_level(
        self,
        wanted: list[WantedPoint],
        unit: Unit,
        output_unit: Unit,
        expect: Callable[[float, float], ExpectedOutput],
    ) -> None:
        """One level at all frequencies, the highest that all reach; a frequency that reaches too little is left out."""
        reaches = {point.frequency_hz: self._reach(point.frequency_hz, unit)[0] for point in wanted}
        usable = [reach for point in wanted if (reach := reaches[point.frequency_hz]) >= LEAST_SHARE * point.level]
        level = _floored(min([wanted[0].level, *usable]), digits=2)
        for point in wanted:
            if reaches[point.frequency_hz] >= level:
                output = expect(point.frequency_hz, level)
                self._add(point, level, unit, output_unit, output, reduced=level < point.level)
            elif point.required:
                what = f"{point.purpose} at {point.frequency_hz:.5g} Hz"
                self._miss(what, point.test, point.frequency_hz, level, unit)

    def _reach(self, frequency_hz: float, unit: Unit) -> tuple[float, str]:
        return reach_of(self.shaker, frequency_hz=frequency_hz, moving_mass_kg=self.mass, unit=unit)

    def _add(
        self,
        point: WantedPoint,
        level: float,
        unit: Unit,
        output_unit: Unit,
        output: ExpectedOutput,
        *,
        reduced: bool,
    ) -> None:
        self.points.append(
            PlannedPoint(
                channel=self.channel.tag,
                test=point.test,
                frequency_hz=point.frequency_hz,
                level=level,
                applied_unit=unit,
                output=output,
                output_unit=output_unit,
                purpose=point.purpose,
                reduced=reduced,
            )
        )

    def _miss(self, what: str, test: str, frequency_hz: float, level: float, unit: Unit) -> None:
        reached, limited_by = self._reach(frequency_hz, unit)
        covers = [
            larger_shaker(
                self.shaker,
                self.others,
                frequency_hz=frequency_hz,
                moving_mass_kg=self.mass,
                level=level,
                least=level if test == LINEARITY else LEAST_SHARE * level,  # a response shows at a lower level too
                unit=unit,
            )
        ]
        if test != SENSOR_ALONE:
            covers.append(injection(self.channel, frequency_hz=frequency_hz, level=level, unit=unit))
        self.out_of_reach.append(
            OutOfReach(
                what=what,
                test=test,
                frequency_hz=frequency_hz,
                level=level,
                reached=reached,
                unit=unit,
                limited_by=limited_by,
                covers=tuple(covers),
            )
        )


def _floored(value: float, *, digits: int = LEVEL_DIGITS) -> float:
    """Round down to so many significant digits, as a level that a person sets."""
    if value <= 0.0 or not math.isfinite(value):
        return 0.0
    step = 10.0 ** (math.floor(math.log10(value)) - digits + 1)
    return float(f"{math.floor(value / step * (1 + 1e-12)) * step:.{digits}g}")
