"""Alarm reach: the true vibration at which a channel indicates its set points, and how much of that was shown.

For every rotor speed and every set point, in this order: the relay, driven through at that speed; the readings at that
speed (`reach_at_speed`); the line at another frequency, carried to the speed by the band response; sensor and module,
tested one by one up to it. Everything else is *not verified*.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from vibcal_nb.analysis.band_response.band_response import BandResponseResult, response_at
from vibcal_nb.analysis.band_response.response_at import ResponseAt
from vibcal_nb.analysis.channel.channel_tests import ChannelTests
from vibcal_nb.analysis.channel.level_on_line import FoundLevel
from vibcal_nb.analysis.channel.module_alone import ModuleAloneResult
from vibcal_nb.analysis.channel.reach_at_speed import SpeedAnswer, highest_of, reach_at_speed
from vibcal_nb.analysis.channel.reach_by_parts import level_by_parts
from vibcal_nb.analysis.channel.reach_point import DEMONSTRATED, DOES_NOT_ACT, INFERRED, PROVED, ReachAnswer, ReachPoint
from vibcal_nb.analysis.gates.gate import NO_READOUT, NO_REFERENCE
from vibcal_nb.analysis.linearity.linearity import FrequencyLinearity, LinearityResult
from vibcal_nb.analysis.readings.grouping import runs_at, same_speed
from vibcal_nb.analysis.relay.set_points import SetPointsResult
from vibcal_nb.analysis.sensor_alone.sensor_test import SensorTest
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine
from vibcal_nb.model.asset import Channel, Rotor

_UNKNOWN = {NO_REFERENCE: "reference", NO_READOUT: "readout"}
PLAUSIBLE = 2.0  # times the set level, or a part of it: a line that meets it farther off says nothing


def assess_reach(channel: Channel, tests: ChannelTests) -> tuple[ReachPoint, ...]:
    """Assess every set point of a channel at every rotor speed, speeds in the asset's order.

    ``tests`` are those of one condition. A channel that names no rotor is assessed at the frequencies of its
    linearity test.
    """
    return tuple(
        _assess(channel, tests, rotor, speed, name, level)
        for rotor, speed in _speeds(channel, tests.linearity, tests.set_points)
        for name, level in channel.set_points
    )


def _speeds(
    channel: Channel, linearity: LinearityResult | None, set_points: SetPointsResult | None
) -> list[tuple[Rotor | None, float]]:
    if channel.rotors:
        tested = _tested(linearity, set_points)
        return [(rotor, _speed_of(rotor, tested)) for rotor in channel.rotors]
    return [(None, hz) for hz in _tested(linearity, set_points)]


def _speed_of(rotor: Rotor, tested: Sequence[float]) -> float:
    """The speed that a rotor is assessed at: its own, or the tested one nearest to it that stands for it."""
    here = [hz for hz in tested if rotor.between is not None and runs_at(rotor, hz)]
    return min(here, key=lambda hz: abs(hz - rotor.speed_hz), default=rotor.speed_hz)


def _tested(linearity: LinearityResult | None, set_points: SetPointsResult | None) -> list[float]:
    """The frequencies of the linearity test, and those at which relays alone were driven."""
    lines = [] if linearity is None else [item.frequency_hz for item in linearity.frequencies]
    relays = [] if set_points is None else dict.fromkeys(item.frequency_hz for item in set_points.found)
    return lines + [hz for hz in relays if not any(same_speed(hz, line) for line in lines)]


def _assess(
    channel: Channel, tests: ChannelTests, rotor: Rotor | None, speed: float, name: str, level: float
) -> ReachPoint:
    proved = _by_relay(tests, name, rotor, speed)
    if proved is not None:
        return ReachPoint(rotor=rotor, frequency_hz=speed, set_point=name, set_level=level, **vars(proved))
    answer = _by_channel(tests, speed, level, channel.nominal_sensitivity * level)
    if answer.status == NOT_VERIFIED and tests.module is not None and tests.sensor is not None:
        output = channel.nominal_sensitivity * level
        answer = _by_parts(tests.sensor, tests.module, speed, output, answer)
    return ReachPoint(rotor=rotor, frequency_hz=speed, set_point=name, set_level=level, **vars(_known(answer, tests)))


def _known(answer: ReachAnswer, tests: ChannelTests) -> ReachAnswer:
    """The answer, without a true level where nobody stated what the levels or the outputs were read with."""
    gates = () if tests.linearity is None else tests.linearity.gates
    missing = next((_UNKNOWN[gate.gate] for gate in gates if gate.gate in _UNKNOWN), None)
    if missing is None or answer.status not in (DEMONSTRATED, INFERRED):
        return answer
    return ReachAnswer(
        status=NOT_VERIFIED,
        basis=answer.basis,
        highest_level=answer.highest_level,
        reached_pct=answer.reached_pct,
        reason=f"the visit names no {missing}, so that no true level is known",
    )


def _by_relay(tests: ChannelTests, name: str, rotor: Rotor | None, speed: float) -> ReachAnswer | None:
    """What the relay did at that speed; None where it was not tried, or does not tell whether it acts."""
    found = None if tests.set_points is None else tests.set_points.found_at(name, rotor, speed)
    if found is None or found.known_as == NOT_VERIFIED:
        return None
    basis = f"relay rows at {found.frequency_hz:.5g} Hz"
    if found.action is None:
        return ReachAnswer(status=DOES_NOT_ACT, basis=basis, highest_level=found.approaches.highest_not_acted)
    return ReachAnswer(
        status=PROVED,
        basis=basis,
        true_level=found.estimate,
        expanded=found.expanded,
        highest_level=max(level for level, _ in found.approaches.rows),
    )


def _by_channel(tests: ChannelTests, speed: float, level: float, output: float) -> ReachAnswer:
    """What the tests of the whole channel say."""
    if tests.linearity is None:
        return ReachAnswer(status=NOT_VERIFIED, basis="", reason="the channel's linearity was not tested")
    lines = [item for item in tests.linearity.frequencies if item.line is not None]
    here = [item for item in tests.linearity.frequencies if same_speed(item.frequency_hz, speed)]
    if here:
        said = reach_at_speed(tests.linearity, here[0], output)
        return _answer(said, level, output, f"linearity at {here[0].frequency_hz:.5g} Hz")
    if not lines:
        return ReachAnswer(status=NOT_VERIFIED, basis="", reason="no line could be fitted at any frequency")
    nearest = min(lines, key=lambda item: abs(math.log(item.frequency_hz / speed)))
    return _by_band(tests.linearity, nearest, tests.band, speed, level, output)


def _answer(said: SpeedAnswer, level: float, output: float, basis: str) -> ReachAnswer:
    found, shown = said.found, said.status in (DEMONSTRATED, INFERRED)
    top = max((each.y for each in said.levels), default=None)
    return ReachAnswer(
        status=said.status,
        basis=f"readings of the {basis}" if said.off_the_line else basis,
        true_level=found.level if found and shown else None,
        expanded=found.expanded if found and shown else None,
        extrapolated_level=None if shown else _plausible(found, level),
        highest_level=said.silent.x if said.silent else highest_of(said.levels),
        reached_pct=None if top is None else 100.0 * max(top, 0.0) / output,
        silent_pct=100.0 * max(said.silent.y, 0.0) / output if said.silent else None,
        extrapolation_adds=found.bend_adds if found and said.status == INFERRED else None,
        reason=said.reason,
    )


def _plausible(found: FoundLevel | None, level: float, *, ratio: float = 1.0) -> float | None:
    """Where a line would come to the set point, unless that is so far off that it says nothing."""
    if found is None or not level / PLAUSIBLE <= found.level / ratio <= level * PLAUSIBLE:
        return None
    return found.level / ratio


def _by_band(
    result: LinearityResult,
    item: FrequencyLinearity,
    band: BandResponseResult | None,
    speed: float,
    level: float,
    output: float,
) -> ReachAnswer:
    """The line at another frequency, carried to the speed by the band response and its uncertainty."""
    at = f"{item.frequency_hz:.5g} Hz"
    basis = f"linearity at {at} and the band response"
    if band is None:
        reason = f"there is no linearity test at {speed:.5g} Hz and no band response to carry another to it"
        return ReachAnswer(status=NOT_VERIFIED, basis=basis, reason=reason)
    here, there = response_at(band, speed), response_at(band, item.frequency_hz)
    gap = next((r.reason or "the band response there is zero" for r in (here, there) if not r.response_pct), None)
    if gap is not None:
        return ReachAnswer(status=NOT_VERIFIED, basis=basis, reason=gap)
    ratio = (here.response_pct or 0.0) / (there.response_pct or 0.0)
    said = reach_at_speed(result, item, output)
    if said.status == DOES_NOT_ACT:
        reason = f"at {at} it was driven beyond and did not act"
        return ReachAnswer(status=NOT_VERIFIED, basis=basis, reason=reason)
    found, shown = said.found, said.status in (DEMONSTRATED, INFERRED)
    top, highest = max((each.y for each in said.levels), default=0.0), highest_of(said.levels)
    return ReachAnswer(
        status=INFERRED if shown else NOT_VERIFIED,  # at this speed nothing was driven to it
        basis=basis,
        true_level=found.level / ratio if found and shown else None,
        expanded=_carried(found, ratio, (here, there)) if found and shown else None,
        extrapolated_level=None if shown else _plausible(found, level, ratio=ratio),
        highest_level=None if highest is None else highest / ratio,
        reached_pct=100.0 * max(top, 0.0) / output,
        extrapolation_adds=found.bend_adds / ratio if found and shown else None,
        reason=said.reason,
    )


def _carried(found: FoundLevel, ratio: float, responses: tuple[ResponseAt, ResponseAt]) -> Expanded:
    """U of a level that is carried over frequency, with that of the responses at both."""
    level = found.level / ratio
    return combine(
        (level * found.common_pct / 100.0, math.inf),
        (found.own / ratio, found.nu),
        *((level * r.expanded.u / r.response_pct, r.expanded.nu) for r in responses if r.expanded and r.response_pct),
        probability=found.probability,
    )


def _by_parts(
    sensor: SensorTest, module: ModuleAloneResult, speed: float, output: float, otherwise: ReachAnswer
) -> ReachAnswer:
    """Sensor alone times module alone, where the whole channel was not driven far enough."""
    found = level_by_parts(sensor, module, speed_hz=speed, output=output)
    if found is None:
        return otherwise
    gap = f"; the whole channel: {otherwise.reason}" if otherwise.reason else ""
    return ReachAnswer(
        status=INFERRED,
        basis=f"sensor alone times module alone at {speed:.5g} Hz, without the joint and the cable{gap}",
        true_level=found.level,
        expanded=found.expanded,
        highest_level=found.highest,
        reached_pct=found.reached_pct,
        extrapolation_adds=None,
    )
