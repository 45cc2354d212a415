"""A verdict on a whole channel as the JSON object of the results file and of the record."""

from __future__ import annotations

from typing import Any

from vibcal_nb.analysis.channel.as_found_as_left import ConditionChange
from vibcal_nb.analysis.channel.attribution import Attribution, AttributionAt
from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict
from vibcal_nb.analysis.channel.consequence import Consequence
from vibcal_nb.analysis.channel.reach_point import ReachPoint
from vibcal_nb.analysis.faults.faults import FaultExplanations
from vibcal_nb.display.channel.channel_statements import consequence_sentences, next_steps
from vibcal_nb.display.faults.fault_tables import sizes
from vibcal_nb.records.quantities.digits import plain
from vibcal_nb.records.quantities.quantities import quantities

LEAST_WEIGHT = 0.005  # below it an explanation is not worth a line


@quantities.register
def _(result: ChannelVerdict) -> dict[str, Any]:
    changes = result.changes
    return {
        "reach": [_reach(point) for point in result.reach],
        "attribution": None if result.attribution is None else _attribution(result.attribution),
        "as_found_as_left": None if changes is None else [_change(change) for change in changes],
        "consequence": None if result.consequence is None else _consequence(result.consequence, result),
        "explanation": None if result.explanations is None else _explanation(result.explanations),
        "tests": dict(result.tests.verdicts),
        "next_steps": list(next_steps(result)),
        "verdict": result.verdict,
    }


def _explanation(found: FaultExplanations) -> dict[str, Any]:
    """The likeliest explanation, and how likely others are; a weight has no more digits than a person can use."""
    top = found.top
    return {
        "likeliest": top.name,
        "size": sizes(found, top),
        "cannot_be_told_from": list(top.alike),
        "fits": not found.poor,
        "weights": {item.name: round(item.weight, 3) for item in found.explanations if item.weight >= LEAST_WEIGHT},
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
