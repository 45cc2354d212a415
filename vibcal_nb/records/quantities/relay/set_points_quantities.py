"""Set points as records know them: their quantities."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypedDict

from vibcal_nb.analysis.relay.set_points import SetPointFound, SetPointsResult, analyse_set_points
from vibcal_nb.model.names import SET_POINT, SET_POINTS
from vibcal_nb.records.quantities.analysis import analysis_of_test
from vibcal_nb.records.quantities.digits import plain as _plain
from vibcal_nb.records.quantities.judged_points import expanded_quantities


class ActionEntry(TypedDict):
    """One set point at one frequency; levels in the channel's input unit."""

    set_point: str
    """Its name."""
    frequency_hz: float | None
    """Frequency at which it was driven, Hz."""
    rotors: list[str]
    """Rotors that run at it."""
    set_level: float | None
    """Level at which it is set."""
    known: str
    """How it is known: ``proved``, ``does not act`` or ``not verified``."""
    approaches: int
    """Approaches with levels on both sides."""
    highest_not_acted: float | None
    """Highest level at which the relay had not acted (lowest of one that acts where the level falls)."""
    lowest_acted: float | None
    """Lowest level at which it had acted (highest of one that acts where the level falls)."""
    estimate: float | None
    """Level of action: the middle of both."""
    u_bracket: float | None
    """Standard uncertainty of what lies between both, width over the square root of 12."""
    standard_uncertainty: float | None
    """Standard uncertainty of the estimate, the reference's part included."""
    expanded_uncertainty: float | None
    """U of the estimate."""
    k: float | None
    """Coverage factor of U."""
    effective_degrees_of_freedom: float | None
    """Degrees of freedom of U; null where infinitely many."""
    deviation_pct: float | None
    """Estimate against the set level, %."""
    allowed_pct: float | None
    """How far it may lie from it to either side, %."""
    release: float | None
    """Level of release on the other way."""
    hysteresis: float | None
    """Estimate less release."""
    delay_s: float | None
    """Mean delay, s."""
    delay_expanded_uncertainty_s: float | None
    """U of it, s: last digit and scatter."""
    delay_verdict: str | None
    """Verdict on it; null where none is stated or none was taken."""
    verdict: str
    """Verdict on the set point."""


def _quantities(result: SetPointsResult) -> list[ActionEntry]:
    return [_entry(item) for item in result.found]


def _entry(item: SetPointFound) -> ActionEntry:
    delay, expanded, approaches = item.delay, item.expanded, item.approaches
    u = expanded_quantities(expanded, "expanded_uncertainty")
    return ActionEntry(
        set_point=item.set_point.name,
        frequency_hz=_plain(item.frequency_hz),
        rotors=[rotor.name for rotor in item.rotors],
        set_level=_plain(item.set_point.level),
        known=item.known_as,
        approaches=0 if item.action is None else item.action.approaches,
        highest_not_acted=_plain(approaches.highest_not_acted),
        lowest_acted=_plain(approaches.lowest_acted),
        estimate=_plain(item.estimate),
        u_bracket=None if item.action is None else _plain(item.action.u_bracket),
        standard_uncertainty=None if expanded is None else _plain(expanded.u),
        expanded_uncertainty=u["expanded_uncertainty"],
        k=u["k"],
        effective_degrees_of_freedom=u["effective_degrees_of_freedom"],
        deviation_pct=_plain(item.deviation_pct, beside=1.0),
        allowed_pct=_plain(item.allowed_pct),
        release=None if item.release is None else _plain(item.release.estimate),
        hysteresis=_plain(item.hysteresis, beside=item.set_point.level),
        delay_s=None if delay is None else _plain(delay.mean_s),
        delay_expanded_uncertainty_s=None if delay is None else _plain(delay.expanded.U),
        delay_verdict=None if delay is None or delay.decision is None else delay.decision.verdict,
        verdict=item.verdict,
    )


def _undetermined(result: SetPointsResult, _: Any) -> Mapping[str, str]:
    return result.undetermined


ANALYSIS = analysis_of_test(
    SET_POINT,
    analyse_set_points,
    name=SET_POINTS,
    notebook="set_points.ipynb",
    method="levels held at the relay: middle and width of what did not act and what did (JCGM 100:2008, 4.3.7)",
    quantities=_quantities,
    undetermined=_undetermined,
)
