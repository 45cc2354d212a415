"""What the monitor shows against the true level: a line of its own, with the same linearity as the electrical output.

Errors are in % of the display's span and of the reading. Its step is the resolution in the budget.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.linearity.linearity import LinearityResult, analyse_linearity
from vibcal_nb.analysis.readings.errors.hidden_by_display import HiddenByDisplay
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.result import DrivenSetPoint, Result, StatedSensitivity
from vibcal_nb.metrology.conformity.decision import Decision, DecisionRule, Verdict
from vibcal_nb.model.case import Case
from vibcal_nb.model.relay.set_points import Indication
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.units import convert


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class IndicationResult(Result):
    """What the monitor shows of one channel in one condition; ``line`` is it as a line of its own.

    In ``case`` the channel is seen from the display: its output unit and sensitivity are the display's.
    """

    case: Case
    rule: DecisionRule
    indication: Indication
    line: LinearityResult
    verdict: Verdict
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = "straight line of the indication by ISO/TS 28037:2010, clause 7"

    def judged(self) -> Iterator[tuple[str, Decision]]:
        """Yield the decisions on readings, sensitivities and non-linearities."""
        return self.line.judged()

    @property
    def uncertainty(self) -> ReadingUncertainty:
        """Uncertainty of the readings of the display."""
        return self.line.uncertainty

    def sensitivities(self) -> Iterator[StatedSensitivity]:
        """Yield the slope at each frequency, named as that of the indication."""
        for item in self.line.sensitivities():
            yield replace(item, quantity=f"indication, {item.quantity}")

    def hidden_by_display(self) -> HiddenByDisplay | None:
        """What displays hide of the readings."""
        return self.line.hidden_by_display()

    def driven(self) -> Iterator[DrivenSetPoint]:
        """Yield nothing: what is shown trips nothing."""
        return iter(())


@dataclass(frozen=True, kw_only=True)
class IndicationPoint:
    """One reading of the display, in its unit: ``applied`` is the true level, ``error`` what it shows more than that.

    ``error_span_pct`` is in % of full scale, ``error_reading_pct`` of the level (None at no level).
    """

    row: int
    frequency_hz: float
    applied: float
    indicated: float
    error: float
    error_span_pct: float
    error_reading_pct: float | None
    excluded: str | None
    verdict: Verdict | None


def indication_points(result: IndicationResult) -> tuple[IndicationPoint, ...]:
    """Return each reading as the display's error, in the order of the result."""
    factor, full_scale = result.case.nominal_sensitivity, result.indication.full_scale
    found = []
    for point in (point for item in result.line.frequencies for point in item.points):
        applied = factor * point.x
        error = point.y - applied
        found.append(
            IndicationPoint(
                row=point.reading.row,
                frequency_hz=point.reading.frequency_hz,
                applied=applied,
                indicated=point.y,
                error=error,
                error_span_pct=100.0 * error / full_scale,
                error_reading_pct=100.0 * error / applied if applied > 0.0 else None,
                excluded=point.reading.exclude,
                verdict=point.verdict,
            )
        )
    return tuple(found)


@refusing
def analyse_indication(case: Case) -> IndicationResult:
    """Analyse what the monitor showed, as `analyse_linearity` does the electrical output. Raises as that does.

    Raises ``NothingToAnalyse`` where the channel states no indication.
    """
    indication = case.channel.indication
    if indication is None:
        raise NothingToAnalyse(
            f"asset.toml has no table [channels.{case.channel.tag}.indication] to judge the display by; add the table."
        )
    line = analyse_linearity(seen_from_display(case, indication))
    return IndicationResult(
        case=line.case,
        rule=line.rule,
        indication=indication,
        line=line,
        verdict=line.verdict,
        gates=line.gates,
        left_out=line.left_out,
    )


def seen_from_display(case: Case, indication: Indication) -> Case:
    """Return the case with the channel as its display has it: in its unit, by its full scale and its tolerance."""
    channel = case.channel
    factor = float(convert(1.0, channel.input_unit, indication.unit))
    tolerance = indication.tolerance
    if tolerance is not None and tolerance.absolute is not None:
        tolerance = replace(tolerance, absolute=tolerance.absolute / factor)
    return case.with_channel(
        output_unit=indication.unit,
        nominal_sensitivity=factor,
        output_zero=0.0,
        zero_tolerance_span_pct=None,
        tolerance=tolerance or channel.tolerance,
        full_scale=indication.full_scale / factor,
    )
