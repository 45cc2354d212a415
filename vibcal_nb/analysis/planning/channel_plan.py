"""The plan of a visit to one channel: points within the shaker's reach, and what will stay unverified."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from vibcal_nb.analysis.planning.beyond_reach import injection, larger_shaker, reach_of
from vibcal_nb.analysis.planning.expected_output import (
    Expectation,
    expect_band,
    expect_linearity,
    expect_module,
    expect_sensor,
)
from vibcal_nb.analysis.planning.plan import ChannelPlan, OutOfReach, PlannedPoint
from vibcal_nb.analysis.planning.shaker import find_reach
from vibcal_nb.analysis.planning.wanted_points import (
    WantedPoint,
    plan_gaps,
    test_frequencies,
    top_level,
    want_band,
    want_linearity,
    want_module,
    want_sensor,
)
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.model.names import BAND_RESPONSE, GAP_CURVE, LINEARITY, MODULE_ALONE, SENSOR_ALONE, SHAKER_TESTS
from vibcal_nb.problems import NothingToPlan
from vibcal_nb.units import Unit

LEAST_SHARE = 0.2  # of the wanted level: below it a reading drowns in noise and resolution
LEVEL_DIGITS = 3


def plan_channel(
    channel: Channel,
    *,
    shaker: Shaker,
    others: Sequence[Shaker] = (),
    moving_mass_kg: float | None = None,
    tests: Iterable[str] = SHAKER_TESTS,
    without_mass: bool = False,
) -> ChannelPlan:
    """Plan the readings of one channel on ``shaker``; ``others`` are shakers that might cover what it cannot.

    ``moving_mass_kg`` replaces the channel's own. Where neither is known, a plan ``without_mass`` holds no level
    against what the shaker reaches, and has that as its caution. Raises ``NothingToPlan`` where the moving mass is not
    known otherwise or the channel needs no test of those asked for, ``ShakerError`` where the shaker states no limits.
    """
    mass = channel.moving_mass_kg if moving_mass_kg is None else moving_mass_kg
    wanted = tuple(dict.fromkeys(tests))
    unknown = (
        f"The mass that the shaker carries is not known for channel {channel.tag}; give moving_mass_kg in "
        "asset.toml: the sensor with its mounting block and the cable that moves"
    )
    on_the_shaker = not set(wanted) <= {MODULE_ALONE, GAP_CURVE}
    if mass is None and not without_mass and on_the_shaker:
        raise NothingToPlan(f"{unknown}.")
    planner = _Planner(channel, shaker, tuple(s for s in others if s.id != shaker.id), mass)
    for test in wanted:
        planner.plan(test)
    if not planner.points:
        raise NothingToPlan(f"Shaker {shaker.id} reaches no point that channel {channel.tag} needs.")
    if mass is None:
        caution = f"{unknown}. Whether it is reached is not said"
        cautions: tuple[str, ...] = (caution,) if on_the_shaker else ()
    else:
        beside = channel.overhang_mm or 0.0
        cautions = find_reach(shaker, frequency_hz=80.0, moving_mass_kg=mass, overhang_mm=beside).cautions
    return ChannelPlan(
        channel=channel,
        shaker=shaker,
        moving_mass_kg=mass or 0.0,
        points=tuple(planner.points),
        out_of_reach=tuple(planner.out_of_reach),
        cautions=cautions,
        mass_known=mass is not None,
    )


class _Planner:
    """Collects the points of one channel's tests, and what lies out of reach."""

    def __init__(self, channel: Channel, shaker: Shaker, others: tuple[Shaker, ...], mass: float | None) -> None:
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
                lambda f: expect_band(channel, band, frequency_hz=f),
            )
        elif test == SENSOR_ALONE and self.channel.sensor is not None:
            sensor = self.channel.sensor
            self._plan_one_level(
                want_sensor(sensor),
                sensor.input_unit,
                sensor.output_unit,
                lambda f: expect_sensor(self.channel, frequency_hz=f),
            )
        elif test == MODULE_ALONE and self.channel.module is not None:
            module = self.channel.module
            for point in want_module(self.channel):
                expected = expect_module(self.channel, frequency_hz=point.frequency_hz)
                self._add(point, point.level, module.input_unit, module.output_unit, expected, reduced=False)
        elif test == GAP_CURVE:
            self.points += plan_gaps(self.channel)

    def _plan_linearity(self, frequency_hz: float, whose: str) -> None:
        channel, unit = self.channel, self.channel.input_unit
        reached, _ = self._reach(frequency_hz, unit)
        wanted = top_level(channel) or (reached if math.isfinite(reached) else 0.0)
        top = _floored(min(wanted, reached))
        if top <= 0.0:
            self._miss(f"linearity at {frequency_hz:.5g} Hz ({whose})", LINEARITY, frequency_hz, wanted, unit)
            return
        for point in want_linearity(channel, frequency_hz=frequency_hz, top=top):
            reduced = point.level == top < 0.999 * wanted
            named = replace(point, purpose="highest the shaker reaches") if reduced else point
            self._add(named, point.level, unit, channel.output_unit, expect_linearity(channel), reduced=reduced)
        for name, level in channel.set_points:
            if level > top:
                self._miss(f"{name} at {frequency_hz:.5g} Hz ({whose})", LINEARITY, frequency_hz, level, unit)

    def _plan_one_level(
        self,
        wanted: list[WantedPoint],
        unit: Unit,
        output_unit: Unit,
        expect: Callable[[float], Expectation],
    ) -> None:
        """One level at all frequencies, the highest that all reach; a frequency that reaches too little is left out."""
        reaches = {point.frequency_hz: self._reach(point.frequency_hz, unit)[0] for point in wanted}
        usable = [reach for point in wanted if (reach := reaches[point.frequency_hz]) >= LEAST_SHARE * point.level]
        level = _floored(min([wanted[0].level, *usable]), digits=2)
        for point in wanted:
            if reaches[point.frequency_hz] >= level:
                expected = expect(point.frequency_hz)
                self._add(point, level, unit, output_unit, expected, reduced=level < point.level)
            elif point.required:
                what = f"{point.purpose} at {point.frequency_hz:.5g} Hz"
                self._miss(what, point.test, point.frequency_hz, level, unit)

    def _reach(self, frequency_hz: float, unit: Unit) -> tuple[float, str]:
        if self.mass is None:
            return math.inf, "nothing that is known"
        return reach_of(
            self.shaker,
            frequency_hz=frequency_hz,
            moving_mass_kg=self.mass,
            overhang_mm=self.channel.overhang_mm or 0.0,
            unit=unit,
        )

    def _add(
        self,
        point: WantedPoint,
        level: float,
        unit: Unit,
        output_unit: Unit,
        expected: Expectation,
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
                output=expected.at(level),
                output_unit=output_unit,
                purpose=point.purpose,
                reduced=reduced,
                expectation=expected,
                repeat=point.repeat,
            )
        )

    def _miss(self, what: str, test: str, frequency_hz: float, level: float, unit: Unit) -> None:
        if self.mass is None:  # nothing is known to be missed
            return
        reached, limited_by = self._reach(frequency_hz, unit)
        covers = [
            larger_shaker(
                self.shaker,
                self.others,
                frequency_hz=frequency_hz,
                moving_mass_kg=self.mass,
                overhang_mm=self.channel.overhang_mm or 0.0,
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
