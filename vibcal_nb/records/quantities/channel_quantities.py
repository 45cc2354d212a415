"""The verdict on a whole channel as records know it: its quantities."""

from __future__ import annotations

from typing import Any, TypedDict, cast

from vibcal_nb.analysis.channel.as_found_as_left import ConditionChange
from vibcal_nb.analysis.channel.attribution import Attribution, AttributionAt
from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict, analyse_channel
from vibcal_nb.analysis.channel.consequence import Consequence
from vibcal_nb.analysis.channel.reach_point import ReachPoint
from vibcal_nb.analysis.faults.explanation import FaultExplanations
from vibcal_nb.analysis.faults.ranking import MOST_WEIGHT
from vibcal_nb.display.channel.channel_statements import consequence_sentences, next_steps
from vibcal_nb.display.faults.fault_sizes import sizes
from vibcal_nb.model.channel_case import list_channel_cases
from vibcal_nb.model.names import CHANNEL_VERDICT
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.records.perform.channel import load_channel_case
from vibcal_nb.records.quantities.analysis import Analysis
from vibcal_nb.records.quantities.digits import plain
from vibcal_nb.records.quantities.gate_entries import GateEntry, gate_entries

LEAST_WEIGHT = 0.005  # below it an explanation is not worth a line


class ReachEntry(TypedDict):
    """Where one set point is indicated at one rotor's speed; levels in the channel's input unit."""

    rotor: str | None
    """Name of the rotor; null where the channel states none."""
    frequency_hz: float | None
    """Its running speed, Hz."""
    set_point: str
    """``alert`` or ``trip``."""
    set_level: float | None
    """Level at which the set point is set."""
    true_level: float | None
    """True level at which the channel indicates it; null where that is not known."""
    expanded_uncertainty: float | None
    """U of the true level."""
    k: float | None
    """Coverage factor of U."""
    reading_error_pct: float | None
    """Error of the indication at the set point, % of the true level."""
    reading_error_expanded_uncertainty_pct: float | None
    """U of that error, %."""
    status: str
    """``proved``, ``demonstrated``, ``inferred``, ``not verified``, or ``does not act`` (driven beyond it in vain)."""
    basis: str
    """What it rests on."""
    highest_level: float | None
    """Highest level driven at that speed; of one that does not act, the level at which it did not."""
    reached_pct: float | None
    """Highest indication, in % of the set point."""
    extrapolation_adds: float | None
    """What a bend too small to be seen adds to U beyond the readings."""
    extrapolated_level: float | None
    """Where the line would meet the set point, where that is no statement."""
    reason: str | None
    """Why it was not verified."""


class AttributionAtEntry(TypedDict):
    """Whose deviation it is, at one frequency."""

    frequency_hz: float | None
    """Frequency, Hz."""
    test: str
    """Test of the whole channel that was used."""
    channel_pct: float | None
    """Deviation of the channel, %."""
    channel_expanded_uncertainty_pct: float | None
    """U of it, %."""
    sensor_pct: float | None
    """Deviation of the sensor, %."""
    sensor_expanded_uncertainty_pct: float | None
    """U of it, %."""
    rest_pct: float | None
    """Deviation of what follows the sensor, %."""
    rest_expanded_uncertainty_pct: float | None
    """U of it, %."""


class AttributionEntry(AttributionAtEntry):
    """Whose deviation it is, at the frequency that decides, and at each."""

    contradictions: list[str]
    """Where the tests contradict each other, in sentences."""
    by_frequency: list[AttributionAtEntry]
    """At each frequency."""


class ConditionChangeEntry(TypedDict):
    """As left against as found."""

    quantity: str
    """What changed."""
    unit: str
    """Unit of the two values."""
    as_found: float | None
    """Value as found."""
    as_left: float | None
    """Value as left."""
    change_pct: float | None
    """Change, %."""
    expanded_uncertainty_pct: float | None
    """U of the change, %."""
    significant: bool
    """Whether the change exceeds its U."""
    tolerance_pct: float | None
    """Tolerance of the quantity, %."""


class IndicatedEntry(TypedDict):
    """What a channel that failed as found indicated, at one frequency."""

    frequency_hz: float | None
    """Frequency, Hz."""
    error_pct: float | None
    """Error of the indication, %."""
    expanded_uncertainty_pct: float | None
    """U of it, %."""
    range_pct: list[float | None]
    """Least and greatest error over the levels, %."""


class ConsequenceEntry(TypedDict):
    """What a failed as-found meant for the machine."""

    statement: str
    """In words."""
    failed_tests: list[str]
    """Tests that failed as found."""
    last_good_visit: str | None
    """Date of the last visit that showed the channel good."""
    last_good_condition: str | None
    """Its condition."""
    indicated: list[IndicatedEntry]
    """What the channel indicated."""
    reach: list[ReachEntry]
    """Where its set points stood."""


class ExplanationEntry(TypedDict):
    """The likeliest explanation of a failure: a finding, on which the verdict does not rest."""

    likeliest: str
    """Name of the fault."""
    size: str
    """Its size in words."""
    cannot_be_told_from: list[str]
    """Faults that the readings cannot tell from it."""
    fits: bool
    """Whether it describes the readings."""
    worst_remainder_pct: float
    """What it leaves of the reading that it fits worst, %."""
    worst_remainder_expanded_uncertainty_pct: float
    """U of that reading, %."""
    asked_first: list[str]
    """Rows that were probably written down wrongly, as questions; the explanation holds for the rows as meant."""
    weights: dict[str, float]
    """Weight of each explanation among the faults known here, 0 to 1, never above what calibration supports."""


class ChannelEntry(TypedDict):
    """The verdict on a whole channel."""

    reach: list[ReachEntry]
    """Every set point at every rotor's speed."""
    attribution: AttributionEntry | None
    """Whose deviation it is; null where it cannot be told."""
    as_found_as_left: list[ConditionChangeEntry] | None
    """As left against as found; null where one of them was not read."""
    consequence: ConsequenceEntry | None
    """What a failed as-found meant; null where there was none."""
    explanation: ExplanationEntry | None
    """What may be wrong; null where no test failed."""
    tests: dict[str, str]
    """Verdict of each test, by name."""
    gates: list[GateEntry]
    """What kept a pass from being said, of all its tests."""
    next_steps: list[str]
    """What to do, the most urgent first."""
    verdict: str
    """Verdict."""


def _quantities(result: ChannelVerdict) -> ChannelEntry:
    changes = result.changes
    entry = {
        "reach": [_reach(point) for point in result.reach],
        "attribution": None if result.attribution is None else _attribution(result.attribution),
        "as_found_as_left": None if changes is None else [_change(change) for change in changes],
        "consequence": None if result.consequence is None else _consequence(result.consequence, result),
        "explanation": None if result.explanations is None else _explanation(result.explanations),
        "tests": dict(result.tests.verdicts),
        "gates": gate_entries(result.gates),
        "next_steps": list(next_steps(result)),
        "verdict": result.verdict,
    }
    return cast(ChannelEntry, entry)


def _explanation(found: FaultExplanations) -> dict[str, Any]:
    """The likeliest explanation, and how likely others are; a weight has no more digits than a person can use."""
    top = found.top
    worst = found.remainder(top)
    return {
        "likeliest": top.name,
        "size": sizes(found, top),
        "cannot_be_told_from": list(top.alike),
        "fits": not found.poor,
        "worst_remainder_pct": plain(100.0 * worst.left),
        "worst_remainder_expanded_uncertainty_pct": plain(200.0 * worst.u),
        "asked_first": [slip.question for slip in found.slips],
        "weights": {
            item.name: round(min(item.weight, MOST_WEIGHT), 3)
            for item in found.explanations
            if item.weight >= LEAST_WEIGHT
        },
    }


def _reach(point: ReachPoint) -> dict[str, Any]:
    return {
        "rotor": None if point.rotor is None else point.rotor.name,
        "frequency_hz": plain(point.frequency_hz),
        "set_point": point.set_point,
        "set_level": plain(point.set_level),
        "true_level": plain(point.true_level),
        "expanded_uncertainty": None if point.expanded is None else plain(point.expanded.U),
        "k": None if point.expanded is None else plain(point.expanded.k),
        "reading_error_pct": plain(point.reading_error_pct),
        "reading_error_expanded_uncertainty_pct": plain(point.reading_error_expanded_pct),
        "status": point.status,
        "basis": point.basis,
        "highest_level": plain(point.highest_level),
        "reached_pct": plain(point.reached_pct),
        "extrapolation_adds": plain(point.extrapolation_adds),
        "extrapolated_level": plain(point.extrapolated_level),
        "reason": point.reason,
    }


def _attribution(attribution: Attribution) -> dict[str, Any]:
    return {
        **_attribution_at(attribution.main),
        "contradictions": list(attribution.contradictions),
        "by_frequency": [_attribution_at(point) for point in attribution.points],
    }


def _attribution_at(point: AttributionAt) -> dict[str, Any]:
    return {
        "frequency_hz": plain(point.frequency_hz),
        "test": point.test,
        "channel_pct": plain(point.channel_pct),
        "channel_expanded_uncertainty_pct": plain(point.channel.U),
        "sensor_pct": plain(point.sensor_pct),
        "sensor_expanded_uncertainty_pct": plain(point.sensor.U),
        "rest_pct": plain(point.rest_pct),
        "rest_expanded_uncertainty_pct": plain(point.rest.U),
    }


def _change(change: ConditionChange) -> dict[str, Any]:
    return {
        "quantity": change.quantity,
        "unit": change.unit,
        "as_found": plain(change.as_found),
        "as_left": plain(change.as_left),
        "change_pct": plain(change.change_pct),
        "expanded_uncertainty_pct": plain(change.expanded.U),
        "significant": change.significant,
        "tolerance_pct": change.tolerance_pct,
    }


def _consequence(consequence: Consequence, result: ChannelVerdict) -> dict[str, Any]:
    good = consequence.last_good
    return {
        "statement": ". ".join(consequence_sentences(result)) + ".",
        "failed_tests": list(consequence.failed_tests),
        "last_good_visit": None if good is None or good.date is None else good.date.isoformat(),
        "last_good_condition": None if good is None else good.condition,
        "indicated": [
            {
                "frequency_hz": plain(error.frequency_hz),
                "error_pct": plain(error.error_pct),
                "expanded_uncertainty_pct": plain(error.expanded_pct),
                "range_pct": [plain(error.least_pct), plain(error.most_pct)],
            }
            for error in consequence.errors
        ],
        "reach": [_reach(point) for point in consequence.reach],
    }


def _perform(folder: VisitFolder, *, channel: str, condition: str) -> ChannelVerdict:
    return analyse_channel(load_channel_case(folder, channel=channel, condition=condition))


ANALYSIS = Analysis(
    name=CHANNEL_VERDICT,
    notebook="channel_verdict.ipynb",
    method="worst of the tests and of the reach; inverse evaluation by ISO/TS 28037:2010, 11.1",
    cases=list_channel_cases,
    perform=_perform,
    quantities=_quantities,
    reads_history=True,
)
