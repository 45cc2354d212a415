"""Gap curve of an eddy-current probe, judged against what its channel states.

API 670 (from memory) judges increments and the deviation from the best straight line of the stated slope. Each run over
the gaps has a line and a place of its own, so that backlash moves no limit; the average and the least-squares
sensitivity are of all runs together.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.gap_curve.backlash import Backlash, find_backlash
from vibcal_nb.analysis.gap_curve.gap_errors import GapErrors, assess_gaps
from vibcal_nb.analysis.gap_curve.gap_runs import GapRun, gap_runs
from vibcal_nb.analysis.gap_curve.increments import STEP_SHARE, Increment, deviation_pct, increments_of
from vibcal_nb.analysis.gap_curve.linear_range import find_linear_range
from vibcal_nb.analysis.gap_curve.rest_gap import RestGap, find_rest_gap
from vibcal_nb.analysis.gates.gate import Gate
from vibcal_nb.analysis.gates.gates import gated
from vibcal_nb.analysis.gates.left_out import LeftOut
from vibcal_nb.analysis.readings.judged_point import judge, state_rule
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.result import Judged, Result, StatedSensitivity
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.conformity.decision import Decision, DecisionRule, Verdict, whole_verdict
from vibcal_nb.metrology.straight_line.stated_slope import LEAST_SQUARES, MINIMAX, StatedSlopeLine, line_of_stated_slope
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.coverage import Expanded
from vibcal_nb.metrology.uncertainty.dominant_rectangle import expand_budget
from vibcal_nb.model.asset import GapCurveSpecification
from vibcal_nb.model.case import Case
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.units import convert, parse_gap_unit

FEWEST_GAPS = 3
_UM = parse_gap_unit("um")


@dataclass(frozen=True, kw_only=True, eq=False)
class GapSensitivity:
    """A sensitivity of the whole curve, in output unit per input unit with its sign; its budget and U in %."""

    value: float
    deviation_pct: float
    budget: Budget
    expanded: Expanded


@dataclass(frozen=True, kw_only=True, eq=False)
class LineDeviation:
    """The largest deviation from the best line of the nominal slope, in um, over all runs; ``kind`` places the lines.

    ``lines`` are those of each run, their deviations in the input unit. ``decision`` is None where no limit holds.
    """

    kind: str
    value_um: float
    expanded: Expanded
    lines: tuple[StatedSlopeLine, ...]
    decision: Decision | None = None


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class GapCurveResult(Result):
    """The gap curve of one probe in one condition, with the case it was made from.

    ``all_runs`` hold every used reading, ``runs`` those within the stated range. ``average`` is from the lowest to the
    highest gap, ``least_squares`` of all readings, ``from_line`` by kind. What could not be determined is None, with
    its reason in ``undetermined``.
    """

    case: Case
    uncertainty: GapErrors
    rule: DecisionRule
    specification: GapCurveSpecification
    all_runs: tuple[GapRun, ...]
    runs: tuple[GapRun, ...]
    increments: tuple[Increment, ...]
    average: GapSensitivity | None
    least_squares: GapSensitivity | None
    from_line: Mapping[str, LineDeviation]
    linear_range: tuple[float, float] | None
    rest: RestGap | None
    backlash: Backlash | None
    undetermined: Mapping[str, str]
    not_verified: tuple[str, ...]
    verdict: Verdict
    gates: tuple[Gate, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    method: str = "increments, and deviation from the best straight line of the nominal slope (API 670, from memory)"

    @property
    def worst_increment(self) -> Increment | None:
        """The increment farthest from nominal: of those that are judged, else of all."""
        judged = [item for item in self.increments if item.decision is not None]
        return max(judged or self.increments, key=lambda item: abs(item.deviation_pct), default=None)

    @property
    def is_reversed(self) -> bool:
        """Whether the voltage moves the other way than the stated sensitivity says."""
        return self.average is not None and self.average.value / self.specification.nominal_sensitivity < 0.0

    def judged(self) -> Iterator[Judged]:
        """Yield the decisions on increments, on the deviation from the line, and on the rest gap."""
        unit = self.specification.input_unit.text
        for item in self.increments:
            if item.decision is not None:
                yield f"increment from {item.low:.4g} to {item.high:.4g} {unit}", item.decision
        for line in self.from_line.values():
            if line.decision is not None:
                yield "deviation from the best line", line.decision, "um"
        if self.rest is not None and self.rest.voltage_decision is not None:
            yield "voltage at the rest gap", self.rest.voltage_decision, self.specification.output_unit.text
        if self.rest is not None and self.rest.gap_decision is not None:
            yield "rest gap in the linear range", self.rest.gap_decision, unit

    def sensitivities(self) -> Iterator[StatedSensitivity]:
        """Yield the average sensitivity over the range."""
        if self.average is not None:
            yield StatedSensitivity(
                quantity="average sensitivity of the gap curve",
                frequency_hz=0.0,
                deviation_pct=self.average.deviation_pct,
                budget=self.average.budget,
                tolerance_pct=self.specification.incremental_pct,
            )


@refusing
def analyse_gap_curve(case: Case) -> GapCurveResult:
    """Analyse the gap-curve readings of a case.

    Raises ``NothingToAnalyse`` with a sentence where the channel states no gap curve.
    """
    specification = case.channel.gap_curve
    if specification is None:
        raise NothingToAnalyse(
            f"Channel {case.channel.tag} has no [gap_curve] table in asset.toml; add it to judge its gap curve."
        )
    readings = scale_readings(case)
    errors, rule = assess_gaps(case, readings), state_rule(case.visit.decision)
    um = float(convert(1.0, _UM, specification.input_unit))
    all_runs = gap_runs(readings)
    runs = _in_range(all_runs, specification)
    increments = tuple(item for run in all_runs for item in increments_of(run, errors, specification, rule))
    linear = find_linear_range(all_runs, increments, specification, um=um)
    rest = find_rest_gap(all_runs, errors, specification, rule, linear_range=linear)
    lines = _from_line(runs, errors, specification, rule, um)
    gaps = tuple(_gaps(runs, increments, specification, rest, linear))
    result = GapCurveResult(
        case=case,
        uncertainty=errors,
        rule=rule,
        specification=specification,
        all_runs=all_runs,
        runs=runs,
        increments=increments,
        average=_average(runs, errors, specification),
        least_squares=_least_squares(runs, errors, specification),
        from_line=lines,
        linear_range=linear,
        rest=rest,
        backlash=find_backlash(all_runs, errors, slope=specification.nominal_sensitivity),
        undetermined=_undetermined(runs, increments, specification, linear, rest),
        not_verified=gaps,
        verdict=_verdict(increments, lines, rest, gaps),
    )
    return gated(result, readings, analyse=analyse_gap_curve)


def _in_range(runs: tuple[GapRun, ...], specification: GapCurveSpecification) -> tuple[GapRun, ...]:
    if specification.range is None:
        return tuple(run for run in runs if len(run) > 1)
    low, high = specification.range
    margin = STEP_SHARE * (specification.step or (high - low) / 10.0)
    return tuple(part for run in runs if len(part := run.within(low - margin, high + margin)) > 1)


def _average(
    runs: tuple[GapRun, ...], errors: GapErrors, specification: GapCurveSpecification
) -> GapSensitivity | None:
    """From the lowest to the highest gap of each run; the mean of the runs."""
    if not runs:
        return None
    of_voltage = np.zeros(len(errors.readings))
    for run in runs:
        weights = np.zeros(len(run))
        weights[-1] = 1.0 / float(run.gap[-1] - run.gap[0])
        weights[0] = -weights[-1]
        of_voltage += run.spread(weights, of_voltage.size) / len(runs)
    return _sensitivity(of_voltage, errors, specification)


def _least_squares(
    runs: tuple[GapRun, ...], errors: GapErrors, specification: GapCurveSpecification
) -> GapSensitivity | None:
    """One slope, and each run its own place: ordinary least squares (ISO/TS 28037:2010, clause 6, equal u)."""
    centred = [run.gap - run.gap.mean() for run in runs]
    square = sum(float(own @ own) for own in centred)
    if not square:
        return None
    of_voltage = sum(
        (run.spread(own / square, len(errors.readings)) for run, own in zip(runs, centred, strict=True)),
        start=np.zeros(len(errors.readings)),
    )
    return _sensitivity(of_voltage, errors, specification)


def _sensitivity(of_voltage: FloatArray, errors: GapErrors, specification: GapCurveSpecification) -> GapSensitivity:
    value, nominal = float(of_voltage @ errors.readings.y), specification.nominal_sensitivity
    budget = errors.budget(of_voltage, -value * of_voltage, scale=100.0 / nominal, stated=100.0 * value / nominal)
    return GapSensitivity(
        value=value,
        deviation_pct=deviation_pct(value, nominal),
        budget=budget,
        expanded=expand_budget(budget, probability=errors.probability),
    )


def _from_line(
    runs: tuple[GapRun, ...],
    errors: GapErrors,
    specification: GapCurveSpecification,
    rule: DecisionRule,
    um: float,
) -> dict[str, LineDeviation]:
    """The worst run counts; the minimax line is judged."""
    if not runs:
        return {}
    return {
        kind: _line_deviation(kind, runs, errors, specification, um, rule if kind == MINIMAX else None)
        for kind in (MINIMAX, LEAST_SQUARES)
    }


def _line_deviation(
    kind: str,
    runs: tuple[GapRun, ...],
    errors: GapErrors,
    specification: GapCurveSpecification,
    um: float,
    rule: DecisionRule | None,
) -> LineDeviation:
    slope = specification.nominal_sensitivity
    lines = tuple(line_of_stated_slope(run.gap, run.voltage, slope=slope, kind=kind) for run in runs)
    worst = max(range(len(runs)), key=lambda i: lines[i].max_deviation)
    spread = runs[worst].spread(lines[worst].weights, len(errors.readings))
    expanded = errors.expanded(spread / slope, -spread, scale=1.0 / um)
    value, limit = lines[worst].max_deviation / um, specification.deviation_um
    decision = None if rule is None or limit is None else judge(value, expanded, rule, lower=None, upper=limit)
    return LineDeviation(kind=kind, value_um=value, expanded=expanded, lines=lines, decision=decision)


def _gaps(
    runs: tuple[GapRun, ...],
    increments: tuple[Increment, ...],
    specification: GapCurveSpecification,
    rest: RestGap | None,
    linear: tuple[float, float] | None,
) -> Iterator[str]:
    unit = specification.input_unit
    longest = max((len(run) for run in runs), default=0)
    if longest < FEWEST_GAPS:
        yield f"readings at {longest} gaps of one run, where {FEWEST_GAPS} are needed for a curve"
        return
    if specification.range is not None:
        yield from _short_of_range(runs, specification, specification.range)
    wide = [item for item in increments if item.too_wide]
    if wide and specification.incremental_pct is not None:
        item = wide[0]
        yield (
            f"readings from {item.low:g} to {item.high:g} {unit} without one between, where increments of "
            f"{specification.step:g} {unit} are judged"
        )
    if rest is not None and rest.why is not None and specification.rest_voltage is not None:
        yield rest.why
    if rest is not None and linear is None and specification.incremental_pct is not None:
        yield f"no linear range was found that could hold the rest gap of {rest.gap:g} {unit}"


def _short_of_range(
    runs: tuple[GapRun, ...], specification: GapCurveSpecification, stated: tuple[float, float]
) -> Iterator[str]:
    margin = STEP_SHARE * (specification.step or (stated[1] - stated[0]) / 10.0)
    low, high = min(run.gap[0] for run in runs), max(run.gap[-1] for run in runs)
    if low > stated[0] + margin or high < stated[1] - margin:
        yield (
            f"the range runs from {stated[0]:g} to {stated[1]:g} {specification.input_unit} and the readings only "
            f"from {low:g} to {high:g}"
        )


def _undetermined(
    runs: tuple[GapRun, ...],
    increments: tuple[Increment, ...],
    specification: GapCurveSpecification,
    linear: tuple[float, float] | None,
    rest: RestGap | None,
) -> dict[str, str]:
    reasons: dict[str, str] = {}
    if not runs:
        few = "no run holds readings at two gaps within the range"
        reasons |= dict.fromkeys(("average_sensitivity", "least_squares_sensitivity", "deviation_from_line_um"), few)
    if not increments:
        reasons["worst_incremental_pct"] = "no run holds readings at two gaps a step apart"
    if linear is None:
        none = specification.incremental_pct is None and specification.deviation_um is None
        reasons["linear_range"] = (
            "the channel states neither incremental_pct nor deviation_um" if none else "no increment keeps its limit"
        )
    if rest is None:
        reasons["rest_voltage"] = "the channel states no rest_gap"
    elif rest.why is not None:
        reasons["rest_voltage"] = rest.why
    return reasons


def _verdict(
    increments: tuple[Increment, ...],
    lines: Mapping[str, LineDeviation],
    rest: RestGap | None,
    gaps: tuple[str, ...],
) -> Verdict:
    decisions = [item.decision for item in increments] + [line.decision for line in lines.values()]
    decisions += [] if rest is None else [rest.voltage_decision, rest.gap_decision]
    return whole_verdict((decision.verdict for decision in decisions if decision is not None), gaps)
