"""The verdict of a result in words: why it is so, what was seen besides, and the one sentence of the whole."""

from __future__ import annotations

from functools import singledispatch
from typing import TYPE_CHECKING

from vibcal_nb.analysis.band_response.band_response import BandResponseResult
from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.analysis.linearity.linearity import LinearityResult
from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult
from vibcal_nb.display.band_response.band_statements import word_band_response
from vibcal_nb.display.drift.drift_statements import word_drift
from vibcal_nb.display.linearity.linearity_statements import word_linearity
from vibcal_nb.display.sensor_alone.sensor_statements import word_sensor_alone
from vibcal_nb.display.writing.findings import Wording
from vibcal_nb.display.writing.names import subject
from vibcal_nb.metrology.conformity.decision import DecisionRule

if TYPE_CHECKING:
    from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict

Result = LinearityResult | BandResponseResult | SensorAloneResult


def compose_statement(result: Result | DriftResult | ChannelVerdict) -> str:
    """Compose the verdict sentence of a result: the word, then the findings and gaps, then the rule."""
    said = word_result(result)
    parts = [f"{subject(result.case)}: {result.verdict}", *said.findings, *said.gaps, *said.remarks]
    rule = basis_in_short(result)
    return ". ".join(part.rstrip(".") for part in parts) + f". {rule}."


def basis_in_short(result: Result | DriftResult | ChannelVerdict) -> str:
    """Name in a few words what the verdict's word rests on."""
    if isinstance(result, DriftResult):
        settings = result.settings
        return (
            f"Pass: within tolerance with {100.0 * settings.conformity_level:g} % at the end of "
            f"{settings.steps.current_months:g} months"
        )
    return rule_in_short(result.rule)


def rule_in_short(rule: DecisionRule) -> str:
    """Name the decision rule in a few words."""
    if rule.r == 0.0:
        return "Rule: simple acceptance"
    width = "U" if rule.r == 1.0 else f"{rule.r:g} U"
    return f"Rule: guarded acceptance, guard band {width}"


@singledispatch
def word_result(result: Result | DriftResult | ChannelVerdict) -> Wording:
    """Say what a result found, what it leaves open, and what else is to be seen in it."""
    raise TypeError(f"no wording for {type(result).__name__}")


for _word in (word_linearity, word_band_response, word_sensor_alone, word_drift):
    word_result.register(_word)
