"""The explanations of a channel's readings as something to explore: what speaks for which, without which readings."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from types import MappingProxyType
from typing import Any

from vibcal_nb.analysis.faults.explanation import Explanation, FaultExplanations
from vibcal_nb.analysis.faults.faults import explain_channel
from vibcal_nb.analysis.faults.next_measurement import candidate_points, suggest_checks, suggest_readings
from vibcal_nb.display.drawing.light_figure import LightFigure
from vibcal_nb.display.faults.fault_plots import HEIGHT, draw_both, explanation_text, make_columns
from vibcal_nb.display.faults.fault_sentences import share, top_sentence
from vibcal_nb.display.faults.fault_sizes import sizes
from vibcal_nb.display.faults.fault_tables import ranking_table, suggestions_table
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.model.case import Case
from vibcal_nb.notebook.touch.exploration import Stand
from vibcal_nb.notebook.touch.explored import level_units, with_left_out
from vibcal_nb.notebook.touch.readings_shown import table_of, typed, with_u
from vibcal_nb.notebook.touch.subject import RECORD, AnyControl, Choice, Data, Outcome, Rows

Cases = tuple[Case, ...]
TELLING = 0.005  # nats below which a further reading would separate nothing
EXPLANATION, LIKELIEST = "explanation", "the likeliest"
FAULTS = "fault-finding"
_K = 2.0
_LISTED = 8


def next_steps(found: FaultExplanations) -> tuple[Any, ...]:
    """The readings and checks that are expected to tell something."""
    items = (*suggest_readings(found, candidate_points(found)), *suggest_checks(found))
    return tuple(item for item in items if item.information > TELLING)


class FaultSubject:
    """All tests of one channel in one condition, explained; see `subject.Subject`."""

    base, each = RECORD, "row"
    texts: Mapping[int, str] = MappingProxyType({})

    def __init__(self, cases: Cases, found: FaultExplanations | None = None) -> None:
        self._found = explain_channel(cases) if found is None else found
        first, channel = cases[0], cases[0].channel
        self._cases = cases
        self.name = f"{channel.tag}, fault finding, {spoken(first.condition)}"
        self.parts: tuple[str, ...] = (channel.tag, first.visit_name, FAULTS, first.condition)
        names = [item.name for item in self._found.explanations[:_LISTED]]
        options = ((LIKELIEST, LIKELIEST), *((name, name) for name in names))
        choice = Choice(name=EXPLANATION, label="explanation drawn", options=options, value=LIKELIEST)
        self.controls: tuple[AnyControl, ...] = (choice,)
        readings = [reading for case in cases for reading in case.readings]
        out = {r.row: r.exclude for r in readings if r.exclude is not None}
        self.record = Stand(values={EXPLANATION: LIKELIEST}, left_out=dict(sorted(out.items())))
        self.rows = frozenset(reading.row for reading in readings)
        self.units = level_units(channel.input_unit)

    def begun(self) -> Outcome:
        """Return what explains the readings as the file has them."""
        return _outcome(self._found, self.record)

    def at(self, stand: Stand) -> Outcome:
        """Return what explains them without others. Raises ``NothingToAnalyse`` where none is left."""
        if stand.left_out == self.record.left_out:
            return _outcome(self._found, stand)
        return _outcome(explain_channel([with_left_out(case, stand) for case in self._cases]), stand)


def _outcome(found: FaultExplanations, stand: Stand) -> Outcome:
    item = _drawn(found, stand)
    top = found.top
    return Outcome(
        answer=f"{top.name} ({share(top.weight)})",
        figure=_figure(found, item),
        readings=_readings(found),
        summary=f"<p><b>{escape(top_sentence(found))}</b></p>{ranking_table(found).to_html()}",
        reasons=lambda: _next(found),
        result=found,
        further={"explanation": top.name, "weight": round(top.weight, 4), "size": sizes(found, top)},
    )


def _drawn(found: FaultExplanations, stand: Stand) -> Explanation:
    name = stand.values[EXPLANATION]
    return next((item for item in found.explanations if item.name == name), found.top)


def _figure(found: FaultExplanations, item: Explanation) -> Data:
    figure = LightFigure(HEIGHT)
    draw_both(found, item, make_columns(found, figure))
    data = figure.data()
    for number, pane in enumerate(data["panes"]):
        pane["ratio"] = number < len(data["panes"]) // 2
    return data | {"text": explanation_text(found, item)}


def _next(found: FaultExplanations) -> str:
    steps = next_steps(found)
    return suggestions_table(found, steps).to_html() if steps else ""


def _readings(found: FaultExplanations) -> Data:
    """Every reading of every test, and by how much it departs from nominal where it is used."""
    used = {r.row: n for n, r in enumerate(found.readings.readings)}
    readings = [reading for case in found.readings.cases for reading in case.readings]
    ratio, u = found.readings.ratio, found.readings.u_ratio
    away = [None if r.row not in used else 100.0 * float(ratio[used[r.row]] - 1.0) for r in readings]
    wide = [None if r.row not in used else 100.0 * _K * float(u[used[r.row]]) for r in readings]
    texts = [with_u(value, half) for value, half in zip(away, wide, strict=True)]
    judged = Rows(heading="deviation from nominal, %", texts=texts, numbers=away)
    return table_of(readings, (*typed(readings, tests=True), judged))
