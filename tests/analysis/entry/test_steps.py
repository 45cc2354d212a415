"""Steps and the readings that were taken for them, whatever their order."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.readings.entering import new_visit, table_of
from vibcal_nb.analysis.entry.more_steps import falling_steps, last_checks, repeated_steps
from vibcal_nb.analysis.entry.pace import USUAL_SECONDS, seconds_a_reading
from vibcal_nb.analysis.entry.steps import Step, open_steps
from vibcal_nb.model.names import AS_FOUND, FALLING, LINEARITY
from vibcal_nb.model.readings import Reading
from vibcal_nb.units import parse_unit

LEVELS = (1.98, 4.95, 9.9, 11.0, 14.9, 18.0, 19.8)
STEPS = tuple(
    Step(
        channel="T",
        test=LINEARITY,
        condition=AS_FOUND,
        frequency_hz=hz,
        level=level,
        applied_unit=parse_unit("mm/s pk"),
        output_unit=parse_unit("mV pk"),
    )
    for hz in (50.0, 149.0)
    for level in LEVELS
)


def read(step, *, share=1.0, row=2, **changes):
    reading = Reading(
        row=row,
        channel=step.channel,
        test=step.test,
        condition=step.condition,
        frequency_hz=step.frequency_hz * 1.004,
        applied=step.level * share,
        applied_unit=step.applied_unit,
        output=4.0 * step.level,
        output_unit=step.output_unit,
        direction=step.direction,
        repeat=step.repeat,
    )
    return replace(reading, **changes)


@given(
    order=st.permutations(range(len(STEPS))),
    count=st.integers(0, len(STEPS)),
    shares=st.lists(st.floats(0.965, 1.035), min_size=len(STEPS), max_size=len(STEPS)),
)
@settings(deadline=None, max_examples=50)
def test_steps_taken_in_any_order_at_about_their_level_are_done_and_no_others(order, count, shares):
    taken = order[:count]
    readings = [read(STEPS[place], share=shares[place], row=2 + n) for n, place in enumerate(taken)]
    assert set(open_steps(STEPS, readings)) == {step for i, step in enumerate(STEPS) if i not in taken}


@pytest.mark.parametrize(
    "changes",
    [
        {"exclude": "cable touched"},
        {"channel": "U"},
        {"condition": "as-left"},
        {"direction": FALLING},
        {"repeat": 2},
        {"frequency_hz": 60.0},
        {"applied": 7.0},
        {"applied_unit": parse_unit("um pkpk")},
    ],
)
def test_a_reading_of_something_else_leaves_the_step_open(changes):
    assert STEPS[0] in open_steps(STEPS, [read(STEPS[0], **changes)])


def test_a_level_in_another_unit_counts_as_what_it_is():
    inches = read(STEPS[0], applied=1.98 / 25.4, applied_unit=parse_unit("in/s pk"))
    assert STEPS[0] not in open_steps(STEPS, [inches])


def test_falling_levels_go_from_the_top_down_at_each_frequency():
    steps = falling_steps(STEPS, channel="T")
    assert [step.level for step in steps] == [*reversed(LEVELS), *reversed(LEVELS)]
    assert {step.direction for step in steps} == {FALLING}
    assert open_steps((*STEPS, *steps), [read(step) for step in STEPS]) == steps


def test_a_run_once_more_has_the_next_number_and_is_not_done_by_the_first():
    again = repeated_steps(STEPS, channel="T", test=LINEARITY)
    third = repeated_steps((*STEPS, *again), channel="T", test=LINEARITY)
    assert ({step.repeat for step in again}, {step.repeat for step in third}) == ({2}, {3})
    assert open_steps((*STEPS, *again), [read(step) for step in STEPS]) == again


def test_the_pace_is_that_of_the_work_and_not_of_the_breaks():
    times = [datetime(2026, 5, 26, 8, 0, tzinfo=UTC)]
    for gap in (30, 40, 3600, 35, 30, 45, 36):
        times.append(times[-1] + timedelta(seconds=gap))
    assert seconds_a_reading(times) == 35.5
    assert seconds_a_reading(times[:3]) == USUAL_SECONDS


def test_no_reading_at_a_reference_frequency_is_no_last_check(tmp_path):
    channel = table_of(new_visit(tmp_path)).asset.channels["STG-1-V11"]
    assert list(last_checks(channel, [read(STEPS[0], channel="STG-1-V11")])) == []
    first = read(STEPS[0], channel="STG-1-V11", test="band-response", frequency_hz=80.0, applied=2.0, output=8.0)
    (once,) = last_checks(channel, [first])
    assert (once.moved_pct, once.step.repeat) == (None, 2)
    (twice,) = last_checks(channel, [first, replace(first, row=9, repeat=2, applied=2.1, output=8.484)])
    assert twice.moved_pct == pytest.approx(1.0)
