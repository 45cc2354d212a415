"""What the screen shows: every text is escaped, every act has its button, and a message does what it says."""

from __future__ import annotations

import re

import pytest

from tests.support.readings.entering import HEAD, Clock, good_output, new_visit, row, table_of
from vibcal_nb.notebook.shaker.pages import page_html
from vibcal_nb.notebook.shaker.regions import ACTS, view_of_session
from vibcal_nb.notebook.shaker.screen import Screen
from vibcal_nb.notebook.shaker.session import Session
from vibcal_nb.notebook.shaker.visit import ShakerVisit


@pytest.fixture
def session(tmp_path):
    return Session(ShakerVisit(new_visit(tmp_path), channels=("STG-1-V11", "STG-1-V12"), now=Clock()))


def take(session, gain=1.0):
    step = session.step
    session.do("keep", level=f"{step.level:.4g}", output=f"{good_output(session.visit, step, gain=gain):.4g}")


def text_of(html):
    return " ".join(re.sub(r"<[^>]+>", " ", html).replace("\u00a0", " ").replace("&nbsp;", " ").split())


def test_a_message_from_the_screen_is_an_act_and_the_view_follows(session):
    screen = Screen(session)
    assert "Set 1.98 mm/s pk at 50 Hz" in text_of(screen.widget.view["regions"]["step"])
    screen._receive(screen, {"act": "keep", "level": "1.98", "output": "7.95"}, [])
    regions = screen.widget.view["regions"]
    assert "within" in text_of(regions["answer"])
    assert "kept in row 2" in text_of(regions["answer"])
    assert "linearity now: ? not verified" in text_of(regions["answer"])
    assert regions["sketch"].startswith("<svg")
    for odd in (None, {}, {"act": 3}, {"act": "no such act"}):
        screen._receive(screen, odd, [])
    assert len(session.visit.readings) == 1


def test_every_button_is_an_act_and_every_page_opens(session):
    take(session)
    for act, name, _, _ in ACTS:
        if act == "page":
            session.do("page", name=name)
            assert not session.refused
            assert page_html(session).startswith("<div class='page'>")
    session.do("page", name="")
    assert page_html(session) == ""


def test_outside_says_how_far_and_what_is_planned(session):
    session.do("keep", level="9.9", output="45.0")
    assert re.search(r"✗ outside, \+13\.6\d % from expected Between 37\.62 and 41\.58 mV pk", answer(session))


def test_a_level_far_from_the_planned_one_is_told_of(session):
    session.do("keep", level="2.1", output="8.4")
    assert "The level is +6.1 % off the planned one." in answer(session)


def answer(session):
    return text_of(view_of_session(session)["regions"]["answer"])


def test_may_it_come_off_says_not_yet_what_is_missing_how_long_and_what_it_would_add(session):
    for _ in range(7):
        take(session)
    session.do("page", name="coming off")
    said = text_of(page_html(session))
    assert "may it come off? Close" not in said
    assert "… not yet" in said
    assert "29 readings left" in said
    assert re.search(r"trip turbine, 50 Hz 18\.00 mm/s pk 19\.80 mm/s pk ✓ driven to", said)
    assert "upper corner 20 % low" in said
    assert "read it again before packing up" not in said


def test_failing_names_what_to_measure_next_while_the_sensor_is_on(session):
    for _ in range(7):
        take(session, gain=0.85)
        if session.asked:
            session.do("answer", letter="C")
    session.do("page", name="coming off")
    said = text_of(page_html(session))
    assert "✗ failing: find out now" in said
    assert "What to measure next" in said
    assert "put on a sensor known to be good" in said or "put in a module known to be good" in said


def test_the_hand_over_names_who_the_inhibit_what_was_struck_and_what_is_next(tmp_path):
    head = HEAD + (
        '[inhibit]\npermit = "PTW-7"\nchannels = ["STG-1-V11"]\noff = "08:30"\n'
        'by = "Technician A"\ntold = "control room"\n'
    )
    found = Session(ShakerVisit(new_visit(tmp_path, head=head), channels=("STG-1-V11",), now=Clock()))
    take(found)
    found.do("remark", row=2, text="joint <tight>")
    found.do("again", row=2, reason="cable touched")
    found.do("page", name="hand-over")
    html = page_html(found)
    said = text_of(html)
    assert "STG-1-V11 inhibited since 08:30 under permit PTW-7 by Technician A; told: control room" in said
    assert "these channels do not protect" in said
    assert "row 2, STG-1-V11: cable touched" in said
    assert "joint &lt;tight&gt;" in html
    assert "linearity, 1.98 mm/s pk at 50 Hz" in said


def test_what_a_person_typed_is_shown_as_text_and_nothing_else(session):
    take(session)
    session.do("remark", row=2, text="<script>alert(1)</script>")
    session.do("serial", text="<img src=x onerror=alert(1)>")
    session.do("page", name="hand-over")
    everything = "".join(view_of_session(session, others=("<b>x</b>",))["regions"].values())
    assert "<script" not in everything
    assert "<img" not in everything
    assert "<b>x</b>" not in everything


def test_another_program_and_an_open_spreadsheet_are_told_of(session):
    take(session)
    other = table_of(session.visit.path)
    other.enter(row("3", "12"))
    path = session.visit.table.path
    path.with_name(f".~lock.{path.name}#").write_text(",technician,bench-2,now,f;", encoding="utf-8")
    screen = Screen(session)
    screen._receive(screen, {"act": "look"}, [])
    said = text_of(screen.widget.view["regions"]["said"])
    assert "another window of this machine (Technician A) is entering into this visit, too" in said
    assert "readings.csv is open in a spreadsheet (bench-2)" in said
    assert "1 new row from elsewhere" in said


def test_help_has_its_drawings_and_cautions(session):
    session.do("page", name="help")
    html = page_html(session)
    assert html.count("<svg") == 6
    assert html.count("aria-label=") == 6
    assert html.count("Caution") >= 5
    assert "carries 4.8 kg" in text_of(html)


def test_looking_at_a_visit_writes_nothing(session):
    screen = Screen(session)
    for name in ("steps", "coming off", "hand-over", "help"):
        screen._receive(screen, {"act": "page", "name": name}, [])
    screen._receive(screen, {"act": "look"}, [])
    assert sorted(path.name for path in session.visit.path.iterdir()) == ["visit.toml"]
