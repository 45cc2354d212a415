"""What stands in each region of the screen, as HTML, made of a session."""

from __future__ import annotations

from collections import Counter
from html import escape
from typing import Any

from vibcal_nb.analysis.entry.steps import Step, expected_at
from vibcal_nb.analysis.planning.expected_output import ExpectedOutput
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.display.entry.answer_words import answer_html, now_html, typed_text
from vibcal_nb.display.entry.sketch import Mark, sketch_svg
from vibcal_nb.display.entry.step_words import nothing_left_html, step_html, unit_text
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.model.names import BAND_RESPONSE, CONDITIONS, SENSOR_ALONE
from vibcal_nb.model.readings import Reading
from vibcal_nb.notebook.shaker.pages import page_html
from vibcal_nb.notebook.shaker.recordings import offer_html
from vibcal_nb.notebook.shaker.session import Session
from vibcal_nb.units import Unit, convert, is_convertible

ROWS = 4
ACTS = (
    ("undo", "", "Take back", "F3"),
    ("page", "again", "Read again", "F4"),
    ("page", "remark", "Remark", "F2"),
    ("later", "", "Later", ""),
    ("page", "steps", "Steps", "F9"),
    ("page", "coming off", "May it come off?", "F8"),
    ("page", "hand-over", "Hand-over", ""),
    ("page", "serial", "Serial", ""),
    ("page", "head", "Visit", ""),
    ("page", "help", "Help", "F1"),
)
LISTEN = ("listen", "", "Listen", "")


def view_of_session(session: Session, *, others: tuple[str, ...] = ()) -> dict[str, Any]:
    """Return all that the screen shows; ``others`` are sentences on who else is there."""
    step = session.step
    return {
        "regions": {
            "top": _top(session),
            "step": _step(session, step),
            "said": _said(session, others),
            "rows": _rows(session),
            "ask": _ask(session) or ("" if session.offered is None else offer_html(session.offered)),
            "answer": _answer(session),
            "sketch": _sketch(session, step),
            "acts": _acts(session),
            "page": page_html(session),
        },
        "units": {
            "level": "" if step is None else unit_text(step.applied_unit),
            "output": "" if step is None else unit_text(step.output_unit),
        },
        "asking": session.asked is not None,
        "returned": session.returned,
        "focus": "output" if session.returned.get("level") and not session.returned.get("output") else "level",
    }


def _top(session: Session) -> str:
    visit = session.visit
    planned = Counter(step.channel for step in visit.steps(session.condition))
    left = Counter(step.channel for step in visit.open_steps(session.condition))
    channels = "".join(
        _button(
            "channel", f"{tag} · {left[tag] or ('✓' if planned[tag] else 0)}", pressed=tag == session.channel, tag=tag
        )
        for tag in visit.channels
    )
    conditions = "".join(
        _button("condition", spoken(name), pressed=name == session.condition, name=name) for name in CONDITIONS
    )
    where = f"{visit.base.asset.tag} {visit.path.name}"
    whole = _button("whole", "Whole screen")
    return f"<span class='where'>{escape(where)}</span>{channels}<span class='end'>{conditions}{whole}</span>"


def _button(act: str, text: str, *, pressed: bool | None = None, **data: object) -> str:
    attributes = "".join(f' data-{name}="{escape(str(value))}"' for name, value in data.items())
    state = "" if pressed is None else f' aria-pressed="{str(pressed).lower()}"'
    return f'<button type="button" data-do="{act}"{attributes}{state}>{escape(text)}</button>'


def _step(session: Session, step: Step | None) -> str:
    if step is None:
        others = len([s for s in session.visit.open_steps(session.condition) if s.channel != session.channel])
        return nothing_left_html(session.channel, others)
    left = len(session.open)
    return step_html(step, expected_of(session, step), place=f"{left} left on {session.channel}")


def expected_of(session: Session, step: Step) -> ExpectedOutput | None:
    """Return what a good channel puts out at a step."""
    if step.level is None:
        return None
    return expected_at(
        session.visit.base.asset.channel(step.channel, step.condition),
        step.test,
        frequency_hz=step.frequency_hz,
        applied=step.level,
        applied_unit=step.applied_unit,
        output_unit=step.output_unit,
    )


def _said(session: Session, others: tuple[str, ...]) -> str:
    refused = f"<div class='refused'>{escape(session.refused)}</div>" if session.refused else ""
    problems = [problem.sentence for problem in session.visit.table.problems[:2]]
    told = [*session.told, *problems, *others]
    return refused + "".join(f"<div class='told'>{escape(text)}</div>" for text in told)


def _rows(session: Session) -> str:
    rows = sorted(session.visit.readings, key=lambda reading: -reading.row)[:ROWS]
    if not rows:
        return ""
    body = "".join(_row(reading) for reading in rows)
    return f"<table><tr><th>row</th><th>at</th><th>level</th><th>output</th><th></th></tr>{body}</table>"


def _row(reading: Reading) -> str:
    level = typed_text(reading.applied, reading.applied_decimals, reading.applied_unit)
    output = typed_text(reading.output, reading.output_decimals, reading.output_unit)
    at = f"{reading.frequency_hz:.5g} Hz" if reading.frequency_hz else ""
    struck = reading.exclude is not None
    act = (
        _button("put back", "put back", row=reading.row)
        if struck
        else _button("page", "again", name=f"again {reading.row}")
    )
    title = f' title="{escape(reading.exclude)}"' if reading.exclude else ""
    return (
        f"<tr{' class=struck' if struck else ''}{title}><td class='n'>{reading.row}</td><td class='n'>{at}</td>"
        f"<td class='n'>{escape(level)}</td><td class='n'>{escape(output)}</td><td>{act}</td></tr>"
    )


def _ask(session: Session) -> str:
    if session.asked is None:
        return ""
    buttons = "".join(
        f'<button type="button" data-do="answer" data-letter="{choice.letter}"><kbd>{choice.letter}</kbd> '
        f"{escape(choice.text)}</button>"
        for choice in session.asked.choices
    )
    return f"<div class='ask'><p><b>{escape(session.asked.slip.question)}</b></p>{buttons}</div>"


def _answer(session: Session) -> str:
    answer = session.answer
    if answer is None:
        return ""
    reading = session.visit.reading_at(session.row) if session.row is not None else None
    said = answer_html(answer, row=session.row, excluded=reading is not None and reading.exclude is not None)
    now = "" if session.performed is None else now_html(session.performed, answer.reading.test)
    return said + now


def _sketch(session: Session, step: Step | None) -> str:
    last = session.answer.reading if session.answer is not None else None
    of = last or step
    if of is None or (of.channel, of.condition) != (session.channel, session.condition):
        return ""
    sweep = of.test in (BAND_RESPONSE, SENSOR_ALONE)
    channel = session.visit.base.asset.channel(session.channel, session.condition)
    marks = []
    for reading in session.visit.readings:
        same = (reading.channel, reading.test, reading.condition) == (of.channel, of.test, of.condition)
        at_one = sweep or same_frequency(reading.frequency_hz, of.frequency_hz)
        if same and at_one and reading.exclude is None:
            marks += [mark] if (mark := _mark(session, reading, unit=of.applied_unit, sweep=sweep)) else []
    planned = [s for s in session.visit.steps(session.condition) if (s.channel, s.test) == (of.channel, of.test)]
    reach = [s.frequency_hz if sweep else s.level or 0.0 for s in planned if sweep or s.frequency_hz == of.frequency_hz]
    over = "frequency, Hz" if sweep else f"level, {unit_text(of.applied_unit)}"
    fits = not sweep and of.applied_unit == channel.input_unit
    lines = [(name, level) for name, level in channel.set_points] if fits and marks else []
    return sketch_svg(marks, over=over, logarithmic=sweep, lines=lines, reach=reach)


def _mark(session: Session, reading: Reading, *, unit: Unit, sweep: bool) -> Mark | None:
    departure = session.visit.departure(reading)
    if departure is None or not is_convertible(reading.applied_unit, unit):
        return None
    hz = reading.frequency_hz
    level = float(convert(reading.applied, reading.applied_unit, unit, frequency_hz=hz or None))
    off, low, high = departure
    return Mark(at=hz if sweep else level, off_pct=off, low=low, high=high, now=reading.row == session.row)


def _acts(session: Session) -> str:
    acts = ACTS if session.recordings is None else (*ACTS, LISTEN)
    return "".join(
        f'<button type="button" data-do="{act}" data-name="{name}">{escape(text)}{_key(key)}</button>'
        for act, name, text, key in acts
    )


def _key(key: str) -> str:
    return f"<kbd>{key}</kbd>" if key else ""
