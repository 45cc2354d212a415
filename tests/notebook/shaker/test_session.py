"""A visit entered reading by reading: slips are asked about before the next one, and the files say what was shown."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.support.places import DEMO
from tests.support.readings.entering import HEAD, Clock, good_output, new_visit
from vibcal_nb.analysis.entry.answer import answer_reading
from vibcal_nb.analysis.entry.coming_off import FAILS, JUDGED, NOT_YET
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.names import AS_FOUND, GAP_CURVE
from vibcal_nb.notebook.shaker.session import Session
from vibcal_nb.notebook.shaker.visit import ShakerVisit
from vibcal_nb.records.perform.perform import perform

PLANTED = {3: math.sqrt(2.0), 15: 10.0, 25: 0.5, 40: 1.0 / 9.80665, 55: 25.4}


def session(folder, *channels, head=HEAD, day="2026-05-26"):
    visit = ShakerVisit(new_visit(folder, head=head, day=day), channels=channels or ("STG-1-V11",), now=Clock())
    return Session(visit)


def take(found, output=None, *, gain=1.0, seed=0):
    """Enter what a channel puts out at the next step."""
    step = found.step
    value = good_output(found.visit, step, gain=gain, seed=seed) if output is None else output
    found.do("keep", level=f"{step.level:.4g}", output=f"{value:.4g}")


@pytest.fixture(scope="module")
def entered(tmp_path_factory):
    """Two channels entered with five slips planted: which readings were asked about, and what was shown at the end."""
    found = session(tmp_path_factory.mktemp("visit"), "STG-1-V11", "STG-1-V12")
    asked, shown = {}, {}
    for number in range(200):
        if found.step is None:
            left = found.visit.open_steps(found.condition)
            if not left:
                break
            found.do("channel", tag=left[0].channel)
        step = found.step
        take(found, good_output(found.visit, step, seed=number) * PLANTED.get(number, 1.0))
        assert not found.refused
        if found.asked is not None:
            asked[number] = found.asked
            found.do("keep", level="1", output="1")
            assert found.refused.startswith("Answer the question first")
            found.do("answer", letter="M")
        shown[step.channel, step.test] = found.performed
    return found, asked, shown


def test_each_planted_slip_is_asked_about_before_the_next_reading_and_nothing_else_is(entered):
    _, asked, _ = entered
    assert set(asked) == set(PLANTED)


def test_the_first_row_stays_with_its_reason_and_what_was_meant_counts(entered):
    found, asked, _ = entered
    struck = [reading for reading in found.visit.readings if reading.exclude is not None]
    assert len(struck) == len(PLANTED)
    assert all(reading.exclude.startswith("written down wrongly: ") for reading in struck)
    for question, reading in zip(asked.values(), struck, strict=True):
        meant = next(r for r in found.visit.readings if r.row == reading.row + 1)
        assert meant.output == pytest.approx(reading.output / question.slip.factor, rel=2e-3)
        assert meant.applied == reading.applied


def test_what_was_shown_is_what_the_files_say_afterwards(entered):
    found, _, shown = entered
    again = load_visit(found.visit.path)
    assert len(shown) == 6
    for (channel, test), result in shown.items():
        fresh = perform(again, channel=channel, analysis=test, condition="as-found")
        assert result.verdict == fresh.verdict == "pass"
        assert repr(list(result.judged())) == repr(list(fresh.judged()))


def test_a_sensor_may_come_off_when_all_is_read_and_judged(entered):
    found, _, _ = entered
    assert {found.visit.coming_off(tag, "as-found").state for tag in found.visit.channels} == {JUDGED}


def test_not_yet_while_steps_are_left_and_failing_as_soon_as_a_test_fails(tmp_path):
    found = session(tmp_path)
    assert found.visit.coming_off("STG-1-V11", "as-found").state == NOT_YET
    for _ in range(4):
        take(found, gain=0.85)
        found.do("answer", letter="C") if found.asked else None
    standing = found.visit.coming_off("STG-1-V11", "as-found")
    assert standing.state == FAILS
    assert standing.failing == ("linearity",)


def test_a_faulty_channel_is_asked_about_once_and_not_at_every_reading(tmp_path):
    found = session(tmp_path)
    questions = 0
    for _ in range(6):
        take(found, gain=0.9)
        if found.asked is not None:
            questions += 1
            found.do("answer", letter="C")
    assert questions == 1
    assert "it was so read" in found.visit.readings[0].note


def test_steps_go_out_of_order_later_and_by_hand(tmp_path):
    found = session(tmp_path)
    first, second = found.open[:2]
    found.do("later")
    assert found.step == second
    found.do("take", number=4)
    chosen = found.step
    take(found)
    assert chosen not in found.open
    found.do("add", test="linearity", frequency="3600 rpm", level="2")
    assert (found.step.frequency_hz, found.step.level) == (60.0, 2.0)
    take(found, 8.0)
    assert found.visit.readings[-1].frequency_hz == 60.0
    assert first in found.open


def test_a_retake_keeps_the_first_row_with_its_reason(tmp_path):
    found = session(tmp_path)
    take(found)
    found.do("again", row=2, reason="cable touched")
    again = found.step
    take(found)
    first, second = found.visit.readings
    assert (first.exclude, second.exclude) == ("cable touched", None)
    assert again.level == pytest.approx(first.applied, rel=0.01)
    found.do("again", row=3)
    assert "Give the reason" in found.refused


def test_undo_takes_the_last_reading_back_and_put_back_lets_it_count(tmp_path):
    found = session(tmp_path)
    take(found)
    step = found.step
    take(found)
    found.do("undo")
    assert found.step == step
    assert found.visit.readings[1].exclude.startswith("taken back at ")
    found.do("put back", row=3)
    assert found.visit.readings[1].exclude is None
    for _ in range(3):
        found.do("undo")
    assert "left to take back" in found.refused


def test_what_cannot_be_read_is_said_and_given_back(tmp_path):
    found = session(tmp_path)
    for level, output, said in (("", "4", "Type the level"), ("9", "abc", "column output"), ("9", "4 mV", "detector")):
        found.do("keep", level=level, output=output)
        assert said in found.refused
        assert found.returned == {"level": level, "output": output}
    assert not found.visit.readings


def test_another_unit_and_a_decimal_comma_are_understood(tmp_path):
    found = session(tmp_path)
    found.do("keep", level="1,10 mm/s pk", output="0.0044 V pk")
    (reading,) = found.visit.readings
    assert (reading.applied, reading.output, str(reading.output_unit)) == (1.1, 0.0044, "V pk")
    assert found.answer.within


def test_hysteresis_repeats_and_a_last_check_are_added_when_wanted(tmp_path):
    found = session(tmp_path)
    for _ in range(6):
        take(found)
    lines = len([step for step in found.visit.steps("as-found") if step.test == "linearity"])
    found.do("falling")
    assert (found.visit.steps("as-found")[-1].direction, len(found.visit.added)) == ("falling", lines)
    found.do("once more", test="linearity")
    assert found.visit.steps("as-found")[-1].repeat == 2
    found.do("falling")
    assert "nothing to add" in found.refused


def test_the_visits_file_is_asked_for_once_and_refuses_readings_until_it_states_who_and_with_what(tmp_path):
    found = session(tmp_path, head="date = 2026-05-26\nequipment = []\n# kept\n")
    assert found.page == "head"
    take(found)
    assert "State first who reads" in found.refused
    found.do("head", performed_by="Technician B", equipment=["REF-26", "DVM-26"], ambient_c="22,5", permit="PTW-7")
    assert "when protection was taken out" in found.refused
    values = {"performed_by": "Technician B", "equipment": ["REF-26", "DVM-26"], "ambient_c": "22,5"}
    found.do("head", **values, permit="PTW-7", off="08:30", told="control room, shift lead")
    visit = load_visit(found.visit.path).visit
    assert (visit.performed_by, visit.ambient_c, visit.trail.inhibit.told) == (
        "Technician B",
        22.5,
        ("control room", "shift lead"),
    )
    assert "# kept" in (found.visit.path / "visit.toml").read_text(encoding="utf-8")
    take(found)
    assert len(found.visit.readings) == 1


def test_a_serial_that_is_another_one_is_asked_about_and_stands_in_the_next_remark(tmp_path):
    found = session(tmp_path)
    stated = found.visit.serial_of("STG-1-V11", "as-found")
    found.do("serial", text="S-0000")
    assert stated in found.told[0]
    take(found)
    assert found.visit.readings[0].note == "sensor S-0000"


def test_a_prepared_table_says_what_is_read_and_its_rows_are_filled(tmp_path):
    visit = new_visit(tmp_path)
    head = "channel,test,condition,frequency_hz,purpose,planned,applied,applied_unit,output,output_unit\n"
    rows = [f"STG-1-V11,linearity,as-found,50,range,{level},,mm/s pk,,mV pk\n" for level in (2, 11, 18)]
    (visit / "readings.csv").write_text(head + "".join(rows), encoding="utf-8")
    found = Session(ShakerVisit(visit, channels=("STG-1-V11",), now=Clock()))
    assert [step.level for step in found.open] == [2.0, 11.0, 18.0]
    take(found)
    assert [step.level for step in found.open] == [11.0, 18.0]
    assert (visit / "readings.csv").read_text(encoding="utf-8").count("\n") == 4


def test_a_gap_is_answered_although_nothing_vibrates():
    opened = ShakerVisit(DEMO / "AUX-4" / "2025-05-20", is_kept=False)
    opened.warm_up(AS_FOUND)
    reading = next(reading for reading in opened.readings if reading.test == GAP_CURVE and reading.exclude is None)
    cases = opened.cases(reading.channel, reading.condition)
    assert reading.frequency_hz == 0.0
    assert answer_reading(replace(reading, row=0), cases, step=None).slips == ()


def test_an_unknown_act_does_nothing(tmp_path):
    found = session(tmp_path)
    found.do("format the disk")
    assert "no act" in found.refused
