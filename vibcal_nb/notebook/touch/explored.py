"""A result of one test as something to explore: the case as a person changed it, and what comes of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.drawing.light_figure import LightFigure
from vibcal_nb.display.results.figures import alternative_text, draw_into, drawing_of, make_axes
from vibcal_nb.display.results.tables import summary_table
from vibcal_nb.display.results.verdict_html import verdict_reasons_html
from vibcal_nb.display.results.view import Control, WhatIf
from vibcal_nb.display.views import view_named
from vibcal_nb.display.writing.names import subject
from vibcal_nb.display.writing.numbers import coverage, frequency
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY_OF_K_2, coverage_factor
from vibcal_nb.model.case import EXPLORATION, Case
from vibcal_nb.model.names import GAP_CURVE
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.relay.check_rows import CheckRow
from vibcal_nb.notebook.touch.exploration import Stand
from vibcal_nb.notebook.touch.readings_shown import read_rows, readings_of
from vibcal_nb.notebook.touch.subject import RECORD, AnyControl, Choice, Data, Outcome, reason_of
from vibcal_nb.units import Unit, convert, parse_unit

AS_WRITTEN = "as written"
DETECTORS = (AS_WRITTEN, "pk", "rms", "pkpk")
RULES = ("simple", "guarded")
RULE, GUARD, COVERAGE, DETECTOR = "rule", "r", "coverage_probability", "detector"


class ResultSubject:
    """The result of one test of a channel; see `subject.Subject`."""

    base, each = RECORD, "row"
    texts: Mapping[int, str] = MappingProxyType({})

    def __init__(self, result: Result) -> None:
        case = result.case
        self._result, self._case = result, case
        self.name = subject(case)
        self.parts: tuple[str, ...] = (case.channel.tag, case.visit_name, case.test, case.condition)
        self.controls = controls_of(result)
        left_out = {r.row: r.exclude for r in read_rows(case) if r.exclude is not None}
        self.record = Stand(values={c.name: c.value for c in self.controls}, left_out=dict(sorted(left_out.items())))
        self.rows = frozenset(row.row for row in read_rows(case))
        self.units = level_units(case.input_unit) if case.input_unit.detector else []

    def begun(self) -> Outcome:
        """Return what the record shows."""
        return _outcome(self._result)

    def at(self, stand: Stand) -> Outcome:
        """Return what comes of another stand. Raises what the analysis raises."""
        return _outcome(explored(self._case, stand))


def _outcome(result: Result) -> Outcome:
    return Outcome(
        answer=result.verdict,
        figure=figure_of(result),
        readings=readings_of(result),
        summary=summary_table(result).to_html(),
        reasons=lambda: verdict_reasons_html(result),
        result=result,
        grips=what_if_of(result.case).grips(result),
    )


def figure_of(result: Result) -> Data:
    """Return the figure of a result as plain data, as the record draws it."""
    figure = LightFigure(drawing_of(result).height(result))
    draw_into(result, make_axes(result, figure))
    data, ratios = figure.data(), what_if_of(result.case).ratios(result)
    for number, pane in enumerate(data["panes"]):
        pane["ratio"] = number in ratios
    return data | {"text": alternative_text(result)}


def what_if_of(case: Case) -> WhatIf:
    """Return what may be changed of a case. Raises ``TypeError`` where nothing may."""
    what_if = view_named(case.test).what_if
    if what_if is None:
        raise TypeError(f"nothing of an analysis '{case.test}' can be changed in a panel")
    return what_if


def controls_of(result: Result) -> tuple[AnyControl, ...]:
    """Return what can be changed of a result, but for its readings: limits first, then what all analyses share."""
    case = result.case
    decision = case.visit.decision
    own = tuple(_of_frequencies(item, case) for item in what_if_of(case).controls(result))
    shared: list[AnyControl] = [
        Choice(name=RULE, label="decision rule", options=tuple((r, r) for r in RULES), value=decision.rule),
        Control(name=GUARD, label="guard band, r U", kind="share", value=decision.r, most=3.0),
        Choice(
            name=COVERAGE,
            label="U = k u",
            options=_coverages(decision.coverage_probability),
            value=decision.coverage_probability,
        ),
    ]
    if case.readings and case.test != GAP_CURVE:  # a gap has no detector
        written = tuple((d, d) for d in DETECTORS)
        shared.append(Choice(name=DETECTOR, label="applied levels", options=written, value=AS_WRITTEN))
    return (*own, *shared)


def _of_frequencies(control: Control, case: Case) -> AnyControl:
    if control.kind != "frequency":
        return control
    options = sorted({reading.frequency_hz for reading in case.readings} | {control.value})
    named = tuple((frequency(hz), hz) for hz in options)
    return Choice(name=control.name, label=control.label, options=named, value=control.value)


def _coverages(stated: float) -> tuple[tuple[str, float], ...]:
    """The coverage factor k of a normal distribution, by the coverage probability that it stands for."""
    probabilities = sorted({0.90, 0.95, PROBABILITY_OF_K_2, 0.99, 0.9973, stated})
    return tuple((f"k = {coverage_factor(probability=p):.2f} ({coverage(p)})", p) for p in probabilities)


def changed_case(case: Case, stand: Stand) -> Case:
    """Return the case as a stand asks for it. What a person typed in the file is not altered."""
    values = stand.values
    changed = with_left_out(case, stand).with_decision(
        rule=values[RULE], r=values[GUARD], coverage_probability=values[COVERAGE]
    )
    if values.get(DETECTOR, AS_WRITTEN) != AS_WRITTEN:
        changed = changed.with_applied_detector(values[DETECTOR])
    return what_if_of(case).change(changed, values)


def with_left_out(case: Case, stand: Stand) -> Case:
    """Return the case with exactly those readings left out that a stand leaves out, each with its reason."""

    def reason(row: Reading | CheckRow) -> str | None:
        return reason_of(stand.left_out, row.row, row.exclude, EXPLORATION)

    return replace(
        case,
        readings=tuple(replace(row, exclude=reason(row)) for row in case.readings),
        checks=tuple(replace(row, exclude=reason(row)) for row in case.checks),
    )


def explored(case: Case, stand: Stand) -> Result:
    """Analyse a case as a stand asks for it. Raises what the analysis raises."""
    result: Result = what_if_of(case).analyse(changed_case(case, stand))
    return result


def level_units(unit: Unit) -> list[Data]:
    """Return the ways to write a level by another detector, each with the factor to it."""
    ways = DETECTORS[1:]
    others = [d for d in ways if d != unit.detector] if unit.detector in ways else []
    units = [unit, *(parse_unit(f"{unit.symbol} {detector}") for detector in others)]
    return [{"text": other.shown, "factor": float(convert(1.0, unit, other))} for other in units]
