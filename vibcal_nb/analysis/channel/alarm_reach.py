"""Alarm reach: the true vibration at which a channel indicates its set points, and how much of that was shown.

For every rotor speed and every set point the fitted line is inverted (ISO/TS 28037:2010, 11.1). *Demonstrated*: the
channel was driven to that level at that speed. *Inferred*: the readings are straight and reached two thirds of it
(a judgement, no source); or the speed lies between tested frequencies of the band response; or sensor and module
were tested one by one up to it. Everything else is *not verified*.
"""

from __future__ import annotations

import math

from vibcal_nb.analysis.band_response.band_response import BandResponseResult, response_at
from vibcal_nb.analysis.channel.channel_tests import ChannelTests
from vibcal_nb.analysis.channel.level_on_line import LevelOnLine, goes_on, level_on_line
from vibcal_nb.analysis.channel.module_alone import ModuleAloneResult
from vibcal_nb.analysis.channel.reach_by_parts import level_by_parts
from vibcal_nb.analysis.channel.reach_point import ReachAnswer, ReachPoint, Status
from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.readings.grouping import REACHED, same_speed
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED
from vibcal_nb.metrology.uncertainty.coverage import combine
from vibcal_nb.model.asset import Channel, Rotor
from vibcal_nb.model.case import Case

MOST_EXTRAPOLATION = 1.5  # times the highest level driven: judgement, no source


def assess_reach(channel: Channel, tests: ChannelTests) -> tuple[ReachPoint, ...]:
    """Assess every set point of a channel at every rotor speed, speeds in the asset's order.

    ``tests`` are those of one condition. A channel that names no rotor is assessed at the frequencies of its
    linearity test.
    """
    return tuple(
        _assess(channel, tests, rotor, speed, name, level)
        for rotor, speed in _speeds(channel, tests.linearity)
        for name, level in channel.set_points
    )


def _speeds(channel: Channel, linearity: LinearityResult | None) -> list[tuple[Rotor | None, float]]:
    if channel.rotors:
        return [(rotor, rotor.speed_hz) for rotor in channel.rotors]
    return [] if linearity is None else [(None, item.frequency_hz) for item in linearity.frequencies]


def _assess(
    channel: Channel, tests: ChannelTests, rotor: Rotor | None, speed: float, name: str, level: float
) -> ReachPoint:
    output = channel.nominal_sensitivity * level
    answer = _by_channel(tests, speed, output)
    if answer.status == NOT_VERIFIED and tests.module is not None and tests.sensor is not None:
        answer = _by_parts(tests.sensor, tests.module, speed, output, answer)
    return ReachPoint(rotor=rotor, frequency_hz=speed, set_point=name, set_level=level, **vars(answer))


def _by_channel(tests: ChannelTests, speed: float, output: float) -> ReachAnswer:
    """What the tests of the whole channel say."""
    if tests.linearity is None:
        return ReachAnswer(status=NOT_VERIFIED, basis="", reason="the channel's linearity was not tested")
    lines = [item for item in tests.linearity.frequencies if item.line is not None]
    here = [item for item in tests.linearity.frequencies if same_speed(item.frequency_hz, speed)]
    if here:
        return _by_line(tests.linearity, here[0], output)
    if not lines:
        return ReachAnswer(status=NOT_VERIFIED, basis="", reason="no line could be fitted at any frequency")
    nearest = min(lines, key=lambda item: abs(math.log(item.frequency_hz / speed)))
    return _by_band(tests.linearity, nearest, tests.band, speed, output)


def _by_line(result: LinearityResult, item: FrequencyLinearity, output: float) -> ReachAnswer:
    basis = f"linearity at {item.frequency_hz:.5g} Hz"
    if item.line is None:
        return ReachAnswer(status=NOT_VERIFIED, basis=basis, reason=item.undetermined["sensitivity"])
    found = level_on_line(result, item, output)
    if found is None:
        return ReachAnswer(status=NOT_VERIFIED, basis=basis, reason="the fitted line does not come to the set point")
    status, reason = _status(found, item, output, result.case)
    return _answer(found, status, reason, basis)


def _status(found: LevelOnLine, item: FrequencyLinearity, output: float, case: Case) -> tuple[Status, str | None]:
    at, unit = f"at {item.frequency_hz:.5g} Hz", case.input_unit.text
    reached = 100.0 * found.highest / found.level
    if found.highest >= REACHED * found.level:
        if found.highest_output >= REACHED * output:
            return "demonstrated", None
        return NOT_VERIFIED, f"driven to {found.highest:.3g} {unit} {at}, the channel did not indicate it"
    if item.line is not None and not goes_on(item.line, case.channel.nonlinearity_pct):
        return NOT_VERIFIED, f"the readings {at} end at {found.highest:.3g} {unit} and bend, so no line goes on"
    if found.level > MOST_EXTRAPOLATION * found.highest:
        return NOT_VERIFIED, f"the readings {at} end at {found.highest:.3g} {unit}, {reached:.0f} % of it"
    return "inferred", None


def _answer(found: LevelOnLine, status: Status, reason: str | None, basis: str) -> ReachAnswer:
    shown = status != NOT_VERIFIED
    return ReachAnswer(
        status=status,
        basis=basis,
        true_level=found.level if shown else None,
        expanded=found.expanded if shown else None,
        extrapolated_level=None if shown else found.level,
        highest_level=found.highest,
        reached_pct=100.0 * found.highest / found.level,
        extrapolation_adds=found.bend_adds if status == "inferred" else None,
        reason=reason,
    )


def _by_band(
    result: LinearityResult, item: FrequencyLinearity, band: BandResponseResult | None, speed: float, output: float
) -> ReachAnswer:
    """The line at another frequency, carried to the speed by the band response and its uncertainty."""
    basis = f"linearity at {item.frequency_hz:.5g} Hz and the band response"
    if band is None:
        reason = f"there is no linearity test at {speed:.5g} Hz and no band response to carry another to it"
        return ReachAnswer(status=NOT_VERIFIED, basis=basis, reason=reason)
    here, there = response_at(band, speed), response_at(band, item.frequency_hz)
    gap = next((r.reason or "the band response there is zero" for r in (here, there) if not r.response_pct), None)
    found = level_on_line(result, item, output)
    if gap is not None or found is None:
        reason = gap or "the fitted line does not come to the set point"
        return ReachAnswer(status=NOT_VERIFIED, basis=basis, reason=reason)
    ratio = (here.response_pct or 0.0) / (there.response_pct or 0.0)
    level = found.level / ratio
    expanded = combine(
        (level * found.common_pct / 100.0, math.inf),
        (found.own / ratio, found.nu),
        *(
            (level * r.expanded.u / r.response_pct, r.expanded.nu)
            for r in (here, there)
            if r.expanded and r.response_pct
        ),
        probability=found.probability,
    )
    status, why = _status(found, item, output, result.case)
    status = "inferred" if status == "demonstrated" else status  # at this speed nothing was driven to it
    shown = status != NOT_VERIFIED
    return ReachAnswer(
        status=status,
        basis=basis,
        true_level=level if shown else None,
        expanded=expanded if shown else None,
        extrapolated_level=None if shown else level,
        highest_level=found.highest / ratio,
        reached_pct=100.0 * found.highest / found.level,
        extrapolation_adds=found.bend_adds / ratio if shown else None,
        reason=why,
    )


def _by_parts(
    sensor: SensorAloneResult, module: ModuleAloneResult, speed: float, output: float, otherwise: ReachAnswer
) -> ReachAnswer:
    """Sensor alone times module alone, where the whole channel was not driven far enough."""
    found = level_by_parts(sensor, module, speed_hz=speed, output=output)
    if found is None or found.highest < REACHED * found.level:
        return otherwise
    gap = f"; the whole channel: {otherwise.reason}" if otherwise.reason else ""
    return ReachAnswer(
        status="inferred",
        basis=f"sensor alone times module alone at {speed:.5g} Hz, without the joint and the cable{gap}",
        true_level=found.level,
        expanded=found.expanded,
        highest_level=found.highest,
        reached_pct=100.0 * found.highest / found.level,
        extrapolation_adds=None,
    )
