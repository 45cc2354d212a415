"""What is looked at beside the step: the steps, may it come off, the visit's file, help, hand-over."""

from __future__ import annotations

from html import escape
from typing import Any

import numpy as np

from vibcal_nb.analysis.entry.coming_off import FAILS
from vibcal_nb.analysis.entry.gained import gained_by
from vibcal_nb.analysis.faults.faults import explain_channel
from vibcal_nb.analysis.planning.plan import ChannelPlan
from vibcal_nb.analysis.planning.planned_case import Instruments
from vibcal_nb.analysis.planning.simulated_faults import usual_faults
from vibcal_nb.display.entry.answer_words import typed_text
from vibcal_nb.display.entry.coming_off import (
    CAUTION,
    gains_html,
    last_html,
    set_points_html,
    state_html,
    tests_html,
)
from vibcal_nb.display.entry.hand_over import hand_over_html
from vibcal_nb.display.entry.help_pages import help_html
from vibcal_nb.display.entry.step_words import step_name
from vibcal_nb.display.faults.fault_sentences import top_sentence
from vibcal_nb.display.faults.fault_tables import suggestions_table
from vibcal_nb.display.writing.names import plural, spoken
from vibcal_nb.model.equipment import VIBRATION
from vibcal_nb.model.names import LINEARITY, SHAKER_TESTS
from vibcal_nb.notebook.shaker.session import Session
from vibcal_nb.notebook.touch.faults import next_steps
from vibcal_nb.problems import Refused

SEED = 20260519  # the same readings show the same figures
MOST_STEPS = 40


def page_html(session: Session) -> str:
    """Return the page that is looked at; '' where none is."""
    name, _, row = session.page.rpartition(" ") if session.page.rpartition(" ")[2].isdigit() else (session.page, "", "")
    made = {
        "steps": _steps,
        "coming off": _coming_off,
        "head": _head,
        "help": _help,
        "hand-over": _hand_over,
        "serial": _serial,
    }.get(name)
    if name in ("again", "remark"):
        body = _of_a_row(session, name, int(row) if row else session.row or 0)
    elif made is None:
        return ""
    else:
        body = made(session)
    close = '<button type="button" class="close" data-do="page" data-name="">Close <kbd>Esc</kbd></button>'
    return f"<div class='page'>{close}{body}</div>"


def _steps(session: Session) -> str:
    steps = session.open
    items = "".join(
        f'<button type="button" data-do="take" data-number="{place}">{escape(spoken(step.test))}: '
        f"{escape(step_name(step))}</button>"
        for place, step in enumerate(steps[:MOST_STEPS])
    )
    tests = "".join(f'<option value="{test}">{spoken(test)}</option>' for test in SHAKER_TESTS)
    read = dict.fromkeys(
        step.test for step in session.visit.steps(session.condition) if step.channel == session.channel
    )
    more = "".join(
        f'<button type="button" data-do="once more" data-test="{test}">{escape(spoken(test))} once more</button>'
        for test in read
    )
    falling = (
        '<button type="button" data-do="falling">Levels falling, for hysteresis</button>' if LINEARITY in read else ""
    )
    last = '<button type="button" data-do="last check">Last check at the reference frequency</button>'
    return (
        f"<h2>Steps of {escape(session.channel)}</h2><p>{plural(len(steps), 'step')} left. Take any next:</p>"
        f"<div class='list'>{items}</div><h3>Add</h3><div class='list'>{falling}{more}{last}</div>"
        f"<form><label>Test<br><select name='test'>{tests}</select></label>"
        f"<label>Frequency, Hz or rpm{_text('frequency')}</label><label>Level{_text('level')}</label>"
        "<button type='button' data-do='add'>Add this reading</button></form>"
    )


def _text(name: str, value: str = "", *, focus: bool = False) -> str:
    return f'<input type="text" name="{name}" value="{escape(value)}"{" autofocus" if focus else ""}>'


def _of_a_row(session: Session, name: str, row: int) -> str:
    reading = session.visit.reading_at(row)
    if reading is None:
        return "<p>No reading was entered yet.</p>"
    output = typed_text(reading.output, reading.output_decimals, reading.output_unit)
    what = f"row {row}: {output} at {typed_text(reading.applied, reading.applied_decimals, reading.applied_unit)}"
    if name == "remark":
        return (
            f"<h2>Remark</h2><p>{escape(what)}</p><form><label>Remark{_text('text', focus=True)}</label>"
            f"<button type='button' data-do='remark' data-row='{row}'>Write it</button></form>"
        )
    return (
        f"<h2>Read again</h2><p>{escape(what)}. The row stays, struck through, with the reason.</p>"
        f"<form><label>Reason{_text('reason', focus=True)}</label>"
        f"<button type='button' data-do='again' data-row='{row}'>Read it again</button></form>"
    )


def _serial(session: Session) -> str:
    stated = session.visit.serial_of(session.channel, session.condition)
    said = f"asset.toml has sensor {stated} on {session.channel}." if stated else "asset.toml states no serial."
    return (
        f"<h2>Serial of the sensor</h2><p>{escape(said)}</p><form><label>Scanned or typed{_text('text', focus=True)}"
        "</label><button type='button' data-do='serial'>Hold it against the file</button></form>"
    )


def _head(session: Session) -> str:
    visit, equipment = session.visit.base.visit, session.visit.base.equipment
    items: list[Any] = [*equipment.references, *equipment.readouts, *equipment.shakers]
    boxes = "".join(
        f'<label><input type="checkbox" name="equipment" value="{escape(item.id)}"'
        f"{' checked' if item.id in visit.equipment else ''}> {escape(item.id)} {escape(_due(item))}</label>"
        for item in items
    )
    inhibit = visit.trail.inhibit
    ambient = "" if visit.ambient_c is None else f"{visit.ambient_c:g}"
    permit = (
        f"<p>Inhibited since {escape(inhibit.off)} under permit {escape(inhibit.permit)}.</p>"
        if inhibit is not None
        else f"<p class='small'>Only where protection is inhibited for this visit:</p><label>Permit{_text('permit')}"
        f"</label><label>Taken out at, HH:MM{_text('off')}</label>"
        f"<label>Told, with commas between{_text('told')}</label>"
    )
    return (
        "<h2>What the visit's file wants</h2><p>Asked for once, and put into visit.toml.</p><form>"
        f"<label>Who takes the readings{_text('performed_by', visit.performed_by, focus=True)}</label>"
        f"<label>Ambient, °C{_text('ambient_c', ambient)}</label><h3>With what</h3>{boxes}<h3>Permit</h3>{permit}"
        "<p><button type='button' data-do='head'>Put it into the visit's file</button></p></form>"
        "<p class='caution'><b>Caution.</b> A live protection channel is inhibited only under the site's permit and "
        "procedure, with the plant told; taking a sensor off can trip a running machine.</p>"
    )


def _due(item: object) -> str:
    due = getattr(item, "due", None)
    return f"(due {due.isoformat()})" if due is not None else ""


def _help(session: Session) -> str:
    return help_html(_plan(session))


def _plan(session: Session) -> ChannelPlan | None:
    plans = session.visit.plans(session.condition)
    return next((plan for plan in plans if plan.channel.tag == session.channel and plan.points), None)


def _hand_over(session: Session) -> str:
    visit = session.visit
    read = dict.fromkeys((reading.channel, reading.condition) for reading in visit.readings)
    planned = dict.fromkeys((step.channel, step.condition) for step in visit.steps(session.condition))
    standings = [visit.coming_off(tag, condition) for tag, condition in {**planned, **read}]
    return hand_over_html(visit.folder, standings, file=visit.table.path.name)


def _coming_off(session: Session) -> str:
    found = session.coming_off or session.visit.coming_off(session.channel, session.condition)
    channel = session.visit.base.asset.channel(session.channel, session.condition)
    seconds = session.visit.seconds_a_reading
    faults = _faults(session) if found.state == FAILS else ""
    return (
        f"{state_html(found, seconds=seconds)}<p class='caution'><b>Caution.</b> {escape(CAUTION)}</p>{faults}"
        f"{tests_html(found, seconds=seconds)}{set_points_html(found.set_points, channel.input_unit)}"
        f"{last_html(found.last)}<p><button type='button' data-do='last check'>Take the last check</button></p>"
        f"{_gains(session)}"
    )


def _faults(session: Session) -> str:
    """What explains a channel that fails, and what to measure next."""
    try:
        found = explain_channel(list(session.visit.cases(session.channel, session.condition)))
        steps = next_steps(found)
    except Refused as refused:
        return f"<p>{escape(str(refused))}</p>"
    table = suggestions_table(found, steps).to_html() if steps else ""
    return f"<h3>What to measure next</h3><p><b>{escape(top_sentence(found))}</b></p>{table}"


def _gains(session: Session) -> str:
    """What further readings would add, by the power of the plan."""
    plan, left = _plan(session), session.open
    if plan is None or not left:
        return ""
    base = session.visit.base
    references = tuple(item for item in base.references if item.quantity == VIBRATION)
    instruments = Instruments(visit=base.visit, references=references, readouts=base.readouts)
    try:
        gains = gained_by(
            plan, left, usual_faults(plan.channel), instruments=instruments, rng=np.random.default_rng(SEED)
        )
    except Refused as refused:
        return f"<p>{escape(str(refused))}</p>"
    rows = []
    for item in gains:
        first = item.points[0]
        what = f"{first.level:.4g} {first.applied_unit} at {first.frequency_hz:.5g} Hz ({first.purpose})"
        many = f"the {plural(len(item.points), 'reading')} left of {spoken(first.test)}"
        rows.append((what if len(item.points) == 1 else many, item.fault.name, item.before, item.after))
    return gains_html(rows)
