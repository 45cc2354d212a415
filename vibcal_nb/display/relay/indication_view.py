"""How what the monitor shows is shown: as a linearity, with each error of the display beside it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.analysis.relay.indication import IndicationResult, indication_points
from vibcal_nb.display.linearity.linearity_card import linearity_quantities, linearity_sentence
from vibcal_nb.display.linearity.linearity_plots import HEIGHT, draw_linearity, linearity_axes
from vibcal_nb.display.linearity.linearity_statements import word_linearity
from vibcal_nb.display.linearity.linearity_tables import linearity_points, linearity_summary
from vibcal_nb.display.relay.service_words import service_remarks
from vibcal_nb.display.results.view import Drawing, View
from vibcal_nb.display.writing.findings import Wording
from vibcal_nb.display.writing.numbers import NONE, fixed, frequency, number
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.uncertainty.budget import Budget

SHOWS = (
    "Error of what the monitor shows, of every reading against the true level, and what a straight line leaves over."
)


def _words(result: IndicationResult) -> Wording:
    said = word_linearity(result.line)
    return Wording(findings=said.findings, gaps=said.gaps, remarks=(*said.remarks, *service_remarks(result.case)))


def _together(result: IndicationResult) -> Iterator[tuple[str, Sequence[JudgedPoint]]]:
    for item in result.line.frequencies:
        yield f" at {frequency(item.frequency_hz)}", item.points


def _errors(result: IndicationResult) -> Table:
    unit = result.indication.unit.shown
    rows = tuple(
        Row(
            cells=(
                str(item.row),
                frequency(item.frequency_hz),
                number(item.applied),
                number(item.indicated),
                fixed(item.error, decimals=3, signed=True),
                fixed(item.error_span_pct, signed=True),
                NONE if item.error_reading_pct is None else fixed(item.error_reading_pct, signed=True),
            ),
            struck=item.excluded is not None,
            verdict=item.verdict,
        )
        for item in indication_points(result)
    )
    step = result.indication.display_step
    note = f"Full scale {result.indication.full_scale:g} {unit}" + (f", last digit {step:g}." if step else ".")
    return Table(
        caption=f"What the monitor shows, {unit}",
        headings=("row", "frequency", "true", "shown", "error", "% of span", "% of reading"),
        rows=rows,
        text_columns=(),
        note=note,
    )


def _columns(result: IndicationResult) -> Mapping[str, Sequence[Any]]:
    points, unit = indication_points(result), result.indication.unit.shown
    return {
        "row": [item.row for item in points],
        "frequency, Hz": [item.frequency_hz for item in points],
        f"true, {unit}": [item.applied for item in points],
        f"shown, {unit}": [item.indicated for item in points],
        "error, % of span": [item.error_span_pct for item in points],
        "verdict": [item.verdict for item in points],
    }


def _budgets(result: IndicationResult) -> tuple[tuple[str, Budget], ...]:
    return tuple((frequency(f.frequency_hz), f.line.budget) for f in result.line.frequencies if f.line is not None)


VIEW = View(
    words=_words,
    sentence=lambda result: linearity_sentence(result.line),
    quantities=lambda result: linearity_quantities(result.line),
    summary=lambda result: linearity_summary(result.line),
    columns=_columns,
    points=lambda result: (_errors(result), *linearity_points(result.line)),
    together=_together,
    budgets=_budgets,
    not_shown=lambda _: ("the electrical output and the relays: this is what a person reads off the monitor",),
    drawing=Drawing(
        axes=lambda result, figure: linearity_axes(result.line, figure),
        draw=lambda result, axes, **given: draw_linearity(result.line, axes, **given),
        shows=SHOWS,
        height=lambda _: HEIGHT,
        columns=lambda result: len(result.line.frequencies),
    ),
)
