"""What a notebook's cells call to show something: one call, one display."""

from __future__ import annotations

import base64
from html import escape

from vibcal_nb.analysis.band_response import BandResponseResult
from vibcal_nb.analysis.conformity import decision_rule_sentence
from vibcal_nb.analysis.drift import DriftResult
from vibcal_nb.analysis.linearity import LinearityResult
from vibcal_nb.analysis.sensor_alone import SensorAloneResult
from vibcal_nb.analysis.uncertainty import Budget
from vibcal_nb.display.figures import alternative_text, budget_png, figure_png
from vibcal_nb.display.input_tables import readings_table, specification_table
from vibcal_nb.display.points_and_whole import word_points_and_whole
from vibcal_nb.display.statements import Result, basis_in_short, compose_statement, word_result
from vibcal_nb.display.style import VERDICT_LOOKS, verdict_text
from vibcal_nb.display.table import Table
from vibcal_nb.display.tables import budget_table, points_tables, summary_table
from vibcal_nb.display.wording import NEVER_SHOWN, frequency, subject
from vibcal_nb.inputs.case import Case

SCREEN_WIDTH = 900


def html(content: str, text: str) -> None:
    """Show HTML; ``text`` is for whatever shows no HTML."""
    from IPython.display import display

    display({"text/html": content, "text/plain": text}, raw=True)


def table(*tables: Table) -> None:
    """Show tables one below the other."""
    html("".join(item.to_html() for item in tables), "\n\n".join(item.to_text() for item in tables))


def sentence(text: str) -> None:
    """Show one sentence."""
    html(f"<p>{escape(text)}</p>", text)


def inputs(case: Case) -> None:
    """Show what the channel should do, and the readings as they were typed."""
    table(specification_table(case), readings_table(case))


def summary(result: Result) -> None:
    """Show the figures of a result."""
    table(summary_table(result))


def points(result: Result) -> None:
    """Show what was made of each reading."""
    table(*points_tables(result))


def figure(result: Result, *, speed_axis: bool = False) -> None:
    """Show the figure of a result; its alternative text is the result in words."""
    png(figure_png(result, speed_axis=speed_axis), alternative_text(result))


def png(png: bytes, text: str) -> None:
    """Show a picture with its alternative text."""
    data = base64.b64encode(png).decode("ascii")
    html(f'<img alt="{escape(text)}" width="{SCREEN_WIDTH}" src="data:image/png;base64,{data}">', f"[figure] {text}")


def budget(result: Result) -> None:
    """Show the uncertainty budget of the sensitivity as a table and as bars."""
    for name, lines in _budgets(result):
        caption = f"Uncertainty of the sensitivity at {name}, in % of nominal"
        table(budget_table(lines, caption=caption, probability=result.uncertainty.probability))
        largest = max(lines.lines, key=lambda line: line.contribution)
        text = f"Bars of the contributions to the uncertainty at {name}; the largest is {largest.name}."
        png(budget_png(lines), text)


def _budgets(result: Result) -> list[tuple[str, Budget]]:
    if isinstance(result, LinearityResult):
        return [(frequency(f.frequency_hz), f.line.budget) for f in result.frequencies if f.line is not None]
    reference = frequency(result.specification.reference_hz)
    return [] if result.reference_budget is None else [(reference, result.reference_budget)]


def verdict(result: Result | DriftResult) -> None:
    """Show the verdict, why it is so, what was not verified, and the decision rule."""
    html(verdict_html(result), compose_statement(result))


def verdict_html(result: Result | DriftResult) -> str:
    """Return the verdict as HTML: word and marker first, then findings, gaps, remarks and the rule."""
    return verdict_head_html(result) + verdict_reasons_html(result)


def verdict_head_html(result: Result | DriftResult) -> str:
    """Return the verdict's word and marker, and what it is of, as one line of HTML."""
    return head_html(result.verdict, subject(result.case))


def head_html(verdict: str, text: str) -> str:
    """Return a verdict's word and marker, and a text beside it, as one line of HTML."""
    return (
        f'<p style="font-size: 130%"><b style="color: {VERDICT_LOOKS[verdict].colour}">'
        f"{escape(verdict_text(verdict))}</b> &nbsp; {escape(text)}</p>"
    )


def verdict_reasons_html(result: Result | DriftResult) -> str:
    """Return why the verdict is so, what was not verified, what else was seen, and the rule, as HTML."""
    said = word_result(result)
    parts = [("Findings", said.findings), ("Not verified", said.gaps), ("Also seen", said.remarks)]
    if not isinstance(result, DriftResult):
        parts.append(("Each reading, and all together", word_points_and_whole(result)))
    body = "".join(list_html(title, items) for title, items in parts if items)
    return f"{body}<p>{escape(_basis(result))}</p>"


def _basis(result: Result | DriftResult) -> str:
    if isinstance(result, DriftResult):
        return f"{basis_in_short(result)}."
    return decision_rule_sentence(result.rule)


def list_html(title: str, items: tuple[str, ...]) -> str:
    """Return items, which are sentences without their full stops, as a list under a title."""
    return f"<p><b>{title}</b></p><ul>" + "".join(f"<li>{escape(item)}.</li>" for item in items) + "</ul>"


def not_shown(result: Result | DriftResult) -> None:
    """Show what the record does not show, so that a reader does not assume it."""
    listed("This record does not show", list_not_shown(result))


def listed(title: str, items: tuple[str, ...]) -> None:
    """Show items, which are sentences without their full stops, under a title."""
    html(list_html(title, items), f"{title}: " + "; ".join(items) + ".")


def list_not_shown(result: Result | DriftResult) -> tuple[str, ...]:
    """List what a result does not show: what was not verified, where its readings end, what was not tested."""
    said = word_result(result)
    return (*said.gaps, *_own_limits(result), *NEVER_SHOWN)


def _own_limits(result: Result | DriftResult) -> tuple[str, ...]:
    if isinstance(result, DriftResult):
        return ("that the channel will go on as it did: a forecast knows no faults, and no change of use",)
    channel = result.case.channel
    if isinstance(result, LinearityResult):
        return tuple(
            f"anything above {item.max_applied:.3g} {channel.input_unit.text} at {frequency(item.frequency_hz)}, "
            f"where the trip is {channel.trip:g}"
            for item in result.frequencies
            if channel.trip is not None and item.max_applied is not None and item.max_applied < channel.trip
        )
    if isinstance(result, BandResponseResult):
        used = [p.reading.frequency_hz for p in result.points if p.used]
        return (f"the response below {min(used):g} Hz and above {max(used):g} Hz",) if used else ()
    if isinstance(result, SensorAloneResult):
        return ("the cable, the conditioning module and the monitor: the sensor stood alone",)
    return ()
