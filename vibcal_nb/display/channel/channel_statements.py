"""The verdict on a whole channel in words: one sentence, the reasons, the consequence, and what to do next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.analysis.channel.consequence import Consequence, ReadingErrorAt
from vibcal_nb.analysis.channel.module_alone import ModuleAloneResult
from vibcal_nb.analysis.channel.reach_point import PROVED
from vibcal_nb.display.channel.reach_statements import (
    at_rotor,
    reach_sentence,
    silent_clause,
    stand_in_short,
    stood_sentences,
)
from vibcal_nb.display.faults.fault_sentences import explanation_step
from vibcal_nb.display.relay.service_words import service_remarks
from vibcal_nb.display.results.statements import word_result
from vibcal_nb.display.writing.findings import Wording
from vibcal_nb.display.writing.names import capital, listed, spoken
from vibcal_nb.display.writing.numbers import frequency, percent, with_uncertainty
from vibcal_nb.metrology.conformity.decision import FAILING
from vibcal_nb.model.names import AS_LEFT, SHAKER_TESTS


def word_channel(result: ChannelVerdict) -> Wording:
    """Say what a verdict on a channel found, what it leaves open, and what else is to be seen in it."""
    verdicts = sorted(result.tests.results(), key=lambda item: item[1].verdict not in FAILING)
    findings = [headline(result), *(_test_finding(test, outcome) for test, outcome in verdicts)]
    findings[1:1] = [reach_sentence(point, result) for point in result.silent]
    findings += [reach_sentence(point, result) for point in result.reach if point.true_level is not None]
    attribution = result.attribution
    turned = [] if result.reversed is None else [capital(result.reversed)]
    remarks = [] if attribution is None else [attribution_sentence(result), *map(capital, attribution.contradictions)]
    return Wording(
        findings=tuple(findings),
        gaps=(*_missing(result), *(reach_sentence(point, result) for point in result.unverified)),
        remarks=tuple(dict.fromkeys((*turned, *remarks, *service_remarks(result.case)))),
    )


def headline(result: ChannelVerdict) -> str:
    """Say the verdict and its main reason in one sentence."""
    case = result.case
    who = f"{case.channel.tag} {spoken(case.condition)} on {case.visit.date.isoformat()}: {result.verdict}"
    parts = [] if result.reversed is None else [result.reversed.partition(":")[0].partition(";")[0]]
    failed, stand = _failed_tests(result), stand_in_short(result)
    parts += [silent_clause(point, case.input_unit.shown) for point in result.silent]
    if failed:
        parts.append(f"{listed(failed)} failed")
    elif not parts and (result.unverified or result.tests.missing or result.gates):
        parts.append(listed(_gaps_in_short(result)))
    parts += [stand] if stand else []
    return f"{who}: {'; '.join(parts)}" if parts else who


def _gaps_in_short(result: ChannelVerdict) -> list[str]:
    points = [f"{point.set_point}{at_rotor(point)}" for point in result.unverified]
    tests = [spoken(test) for test in result.tests.missing]
    short = list(dict.fromkeys(gate.gate for gate in result.gates))
    short += [f"{listed(points)} {'was' if len(points) == 1 else 'were'} not reached"] if points else []
    return short + ([f"{listed(tests)} {'was' if len(tests) == 1 else 'were'} not tested"] if tests else [])


def _by_itself(outcome: Any) -> tuple[Any, ...]:
    """The results that a test's outcome consists of: one, or for the module alone one a frequency."""
    return outcome.results if isinstance(outcome, ModuleAloneResult) else (outcome,)


def _test_finding(test: str, outcome: Any) -> str:
    inner = _by_itself(outcome)
    worst = next((item for item in inner if item.verdict == outcome.verdict), inner[0])
    said = word_result(worst)
    first = (*said.findings, *said.gaps)[:1]
    return f"{capital(spoken(test))}: {outcome.verdict}" + "".join(f". {text}" for text in first)


def _failed_tests(result: ChannelVerdict) -> list[str]:
    return [spoken(test) for test, word in result.tests.verdicts.items() if word in FAILING]


def _missing(result: ChannelVerdict) -> Iterator[str]:
    for test, reason in result.tests.missing.items():
        yield f"{capital(spoken(test))} was not verified: {reason}"


def attribution_sentence(result: ChannelVerdict) -> str:
    """Say how much of the deviation is the sensor's and how much everything else's."""
    assert result.attribution is not None  # the caller has asked
    at = result.attribution.main
    channel, sensor, rest = (
        with_uncertainty(value, expanded, signed=True)
        for value, expanded in ((at.channel_pct, at.channel), (at.sensor_pct, at.sensor), (at.rest_pct, at.rest))
    )
    return (
        f"At {frequency(at.frequency_hz)} the channel is {channel} % from nominal: the sensor alone {sensor} %, "
        f"what follows it {rest} %"
    )


# Consequence -------------------------------------------------------------------------------------------------


def consequence_sentences(result: ChannelVerdict) -> tuple[str, ...]:
    """Say what a failed as-found meant for the time before, and no more than the readings support."""
    consequence = result.consequence
    if consequence is None:
        return ()
    tests = listed([spoken(test) for test in consequence.failed_tests])
    sentences = [f"As found on {result.case.visit.date.isoformat()} the channel failed: {tests}"]
    sentences += [_error_sentence(error) for error in consequence.errors]
    sentences += stood_sentences(consequence.reach, result.case.input_unit.shown)
    sentences.append(_since(consequence))
    sentences.append("What that meant for the machine is for a competent person to judge")
    return tuple(sentences)


def _error_sentence(error: ReadingErrorAt) -> str:
    way = "low" if error.error_pct < 0.0 else "high"
    least, most = (percent(value, decimals=1) for value in (error.least_pct, error.most_pct))
    size = f"{abs(error.error_pct):.1f} ± {error.expanded_pct:.1f} %"
    return f"At {frequency(error.frequency_hz)} it indicated {size} {way} (single readings from {least} to {most})"


def _since(consequence: Consequence) -> str:
    good = consequence.last_good
    looked = f" ({'; '.join(consequence.looked_at)})" if consequence.looked_at else ""
    if good is None or good.date is None or good.condition is None:
        return f"No earlier visit in this folder shows the channel good{looked}: the readings do not say since when"
    return (
        f"The last good visit was {good.date.isoformat()} ({spoken(good.condition)}){looked}: the readings do not "
        "say when since then it changed, nor what it indicated in the meantime"
    )


# What this record leaves open, and what to do ----------------------------------------------------------------


_NO_TRAIL = "how protection was inhibited and proved back in service: the visit states nothing of it for this channel"
_AS_STATED = "where the monitor puts its set points: the levels are those of asset.toml, at the nominal sensitivity"


def not_shown(result: ChannelVerdict) -> tuple[str, ...]:
    """Say what the record does not show beyond what was not verified, so that a reader does not assume it."""
    by_parts = any("module alone" in point.basis for point in result.reach)
    parts = ["what the joint and the cable do at levels to which only sensor and module were taken, one by one"]
    beyond = any(point.extrapolation_adds is not None for point in result.reach)
    limit = "a limit that the output runs into above the highest level read: only a demonstrated set point excludes it"
    return (
        *(parts if by_parts else []),
        *([limit] if beyond else []),
        *([_NO_TRAIL] if result.case.visit.trail.of((result.case.channel.tag,)).inhibit is None else []),
        *([_AS_STATED] if not result.reach or any(point.status != PROVED for point in result.reach) else []),
    )


def next_steps(result: ChannelVerdict) -> tuple[str, ...]:
    """Say what the record asks for, the most urgent first; one function a kind of step."""
    steps = [
        *_mend(result),
        *_find(result),
        *_repeat(result),
        *_verify(result),
        *_judge(result),
    ]
    return tuple(steps) or ("Nothing beyond the next visit at its usual interval",)


def _mend(result: ChannelVerdict) -> Iterator[str]:
    for point in result.silent:
        yield (
            f"Do not rely on the {point.set_point}{at_rotor(point)}: mend the channel and drive it through the set "
            "point before it protects again"
        )
    failed = _failed_tests(result)
    if not failed:
        return
    own = [spoken(test) for test, word in result.tests.verdicts.items() if word in FAILING and test in SHAKER_TESTS]
    if own:
        records = "record" if len(own) == 1 else "records"
        yield f"Open the {records} of {listed(own)}: which limit was broken, and where"
    yield from _part_to_mend(result)
    if result.case.condition == AS_LEFT:
        yield "The channel fails as it was left: it does not go back into service as a protection before it is mended"
    elif not result.case.as_left:
        yield "After mending, read every test again as left: this visit holds no as-left reading of the channel"


def _part_to_mend(result: ChannelVerdict) -> Iterator[str]:
    if result.attribution is None:
        return
    at, sensor, channel = result.attribution.main, result.case.channel.sensor, result.case.channel
    if sensor is not None and abs(at.sensor_pct) > sensor.tolerance_pct:
        yield f"The sensor accounts for {percent(at.sensor_pct, decimals=1)}: look at the sensor and its mounting first"
    if abs(at.rest_pct) > channel.tolerance_pct:
        more = "" if result.tests.module else ", and inject into the module alone to tell it from cable and joint"
        yield f"What follows the sensor accounts for {percent(at.rest_pct, decimals=1)}: look at module and cable{more}"


def _find(result: ChannelVerdict) -> Iterator[str]:
    if result.explanations is not None:
        yield explanation_step(result.explanations)


def _repeat(result: ChannelVerdict) -> Iterator[str]:
    if result.attribution is not None and result.attribution.contradictions:
        yield "Repeat the tests that contradict each other before anything is adjusted"


def _verify(result: ChannelVerdict) -> Iterator[str]:
    for gate in result.gates:
        yield f"{gate.found}: {gate.remedy}"
    for test in result.tests.missing:
        yield f"Take the readings of {spoken(test)}, which the channel is asked for"
    if result.unverified:
        levels = listed([f"{point.set_point}{at_rotor(point)}" for point in result.unverified])
        tests = "" if result.tests.sensor else ", and test the sensor alone,"
        yield (
            f"For {levels}: inject into the module alone up to it{tests} or drive the channel to it, the trip path "
            "isolated under the site's permit"
        )


def _judge(result: ChannelVerdict) -> Iterator[str]:
    if result.consequence is not None:
        yield "Have a competent person judge what the as-found failure meant for the machine, and note the judgement"
