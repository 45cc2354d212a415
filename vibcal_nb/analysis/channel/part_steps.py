"""What each part of a channel adds to its deviation, in the order of the signal, and which part is to blame.

(1 + d_channel) = (1 + d_sensor)(1 + d_joint)(1 + d_module)(1 + d_filter) at one frequency. The module alone was read
with its filter; what the filter takes there is the band response between that frequency and the reference. What is
left over belongs to the joint and the cable. A part that was not read by itself stands with the next that was.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from vibcal_nb.analysis.channel.attribution import AttributionAt
from vibcal_nb.analysis.channel.channel_tests import ChannelTests
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.metrology.conformity.decision import FAILING
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine

SENSOR, JOINT, MODULE, FILTER = "sensor", "joint, cable", "module", "filter"
PARTS = (SENSOR, JOINT, MODULE, FILTER)


@dataclass(frozen=True, kw_only=True)
class PartStep:
    """What one or several neighbouring parts add: deviation in % of what comes in, with its U in %.

    ``parts`` are of `PARTS`, in the order of the signal.
    """

    parts: tuple[str, ...]
    deviation_pct: float
    expanded: Expanded


def part_steps(main: AttributionAt, tests: ChannelTests) -> tuple[PartStep, ...]:
    """Divide the deviation at the main frequency of an attribution into steps, in the order of the signal.

    Their product is the channel's deviation. Uncertainties are combined as if the tests shared nothing, which is too
    much where they share a readout.
    """
    sensor = PartStep(parts=(SENSOR,), deviation_pct=main.sensor_pct, expanded=main.sensor)
    rest = PartStep(parts=PARTS[1:], deviation_pct=main.rest_pct, expanded=main.rest)
    module, taken = _module(main, tests), _filter(main, tests)
    if module is not None:
        ends = (_less(module, taken, MODULE), taken) if taken is not None else (module,)
        return (sensor, _less(rest, module, JOINT), *ends)
    return (sensor, rest) if taken is None else (sensor, _less(rest, taken, JOINT, MODULE), taken)


def parts_to_blame(tests: ChannelTests, steps: tuple[PartStep, ...], tolerance_pct: float) -> frozenset[str]:
    """Return the parts whose own test fails; where none does and the channel is off, those that take it farthest."""
    own = {SENSOR: tests.sensor, MODULE: tests.module, FILTER: tests.band}
    failing = frozenset(part for part, result in own.items() if result is not None and result.verdict in FAILING)
    if failing or not steps or tests.linearity is None or tests.linearity.verdict not in FAILING:
        return failing
    worst = max(steps, key=lambda step: abs(step.deviation_pct))
    return frozenset(worst.parts) if abs(worst.deviation_pct) > 0.5 * tolerance_pct else frozenset()


def _module(main: AttributionAt, tests: ChannelTests) -> PartStep | None:
    if tests.module is None:
        return None
    for item in tests.module.frequencies:
        if item.line is not None and same_frequency(item.frequency_hz, main.frequency_hz):
            value, expanded = item.line.deviation_pct, item.line.deviation_expanded
            return PartStep(parts=(MODULE, FILTER), deviation_pct=value, expanded=expanded) if _passes(value) else None
    return None


def _filter(main: AttributionAt, tests: ChannelTests) -> PartStep | None:
    """What the band filter takes at the frequency, re the reference; None where both are one or it is not known."""
    for response, expanded in _responses(main, tests):
        return PartStep(parts=(FILTER,), deviation_pct=response - 100.0, expanded=expanded)
    return None


def _responses(main: AttributionAt, tests: ChannelTests) -> Iterator[tuple[float, Expanded]]:
    band = tests.band
    if band is None or same_frequency(main.frequency_hz, band.specification.reference_hz):
        return
    for item in band.rotors:
        response = item.response
        if response.response_pct is None or response.expanded is None:
            continue
        if same_frequency(item.rotor.speed_hz, main.frequency_hz) and _passes(response.response_pct - 100.0):
            yield response.response_pct, response.expanded


def _less(whole: PartStep, known: PartStep, *parts: str) -> PartStep:
    """Return what is left of a step when a known part of it is divided out."""
    gain = 100.0 + known.deviation_pct
    ratio = (100.0 + whole.deviation_pct) / gain
    shares = [
        (100.0 * step.expanded.u / gain * share, step.expanded.nu) for step, share in ((whole, 1.0), (known, ratio))
    ]
    return PartStep(
        parts=parts,
        deviation_pct=100.0 * (ratio - 1.0),
        expanded=combine(*shares, probability=whole.expanded.probability),
    )


def _passes(deviation_pct: float) -> bool:
    """Whether enough comes through a part for what follows it to be told from it."""
    return deviation_pct > -90.0
