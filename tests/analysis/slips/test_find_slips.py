"""Slips of writing, planted by hand in tables whose numbers are known, and what is no slip."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.readings.cases import CHANNEL, SHORT, butterworth, make_case
from vibcal_nb.analysis.slips.find_slips import find_slips, question_reading
from vibcal_nb.units import parse_unit

LEVELS = np.array([1.0, 2.01, 5.02, 9.03, 13.97, 18.02, 20.04])
SWEEP_HZ = np.array([10.0, 12.5, 16.0, 20.0, 31.5, 40.0, 63.0, 80.0, 125.0, 200.0, 315.0, 400.0, 500.0, 650.0])
WOBBLE = np.array([3.0, -2.0, 4.0, -1.0, 2.0, -4.0, 1.0]) / 1000.0


def a_line(*, channel=CHANNEL, gain=1.0):
    output = np.round(4.0 * gain * LEVELS * (1.0 + WOBBLE), 2)
    return make_case("linearity", np.full(7, 50.0), output, applied=LEVELS, channel=channel, decimals=2)


def a_sweep(*, gain=1.0, low=20.0, high=400.0):
    shape = butterworth(SWEEP_HZ, low=(low, 2), high=(high, 2))
    return make_case("band-response", SWEEP_HZ, np.round(gain * 40.0 * shape, 2), decimals=2)


def changed(case, row, **fields):
    return replace(case, readings=tuple(replace(r, **fields) if r.row == row else r for r in case.readings))


def times(case, row, factor, field="output"):
    reading = next(r for r in case.readings if r.row == row)
    return changed(case, row, **{field: getattr(reading, field) * factor})


def only(slips):
    assert len(slips) == 1, [slip.question for slip in slips]
    return slips[0]


def test_good_tables_raise_no_question():
    assert find_slips([a_line(), a_sweep()]) == ()
    assert find_slips([a_line(gain=0.96), a_sweep(gain=0.96)]) == ()
    assert find_slips([]) == ()


@pytest.mark.parametrize("factor", [10.0, 100.0, math.sqrt(2.0), math.sqrt(8.0), 2.0, 25.4])
@pytest.mark.parametrize("upward", [True, False])
@pytest.mark.parametrize("case", [a_line(), a_sweep()], ids=["line", "sweep"])
def test_a_factor_on_one_row_is_asked_about_with_the_number_that_was_meant(case, factor, upward):
    by = factor if upward else 1.0 / factor
    field = "applied" if factor == 25.4 else "output"
    slip = only(find_slips([times(case, 6, by, field)]))
    assert (slip.kind, slip.rows, slip.field) == ("factor", (6,), field)
    assert slip.factor == pytest.approx(by, rel=1e-12)
    undone = slip.undone(times(case, 6, by, field))
    assert [r.output for r in undone.readings] == pytest.approx([r.output for r in case.readings])
    assert [r.applied for r in undone.readings] == pytest.approx([r.applied for r in case.readings])


def test_the_question_says_where_what_and_what_was_meant_and_changes_nothing():
    case = times(a_line(), 5, 10.0)
    slip = only(find_slips([case]))
    assert slip.question == (
        "STG-1-V11, linearity as-found, row 5: the output 360.80 mV pk is 10 times what the other readings lead one to "
        "expect. Was 36.08 mV pk meant (the decimal mark is off)?"
    )
    assert case.readings[3].output == pytest.approx(360.8)


def test_a_run_of_rows_that_differs_from_the_rest_is_one_question():
    case = a_line()
    for row in (5, 6, 7, 8):  # the larger part of the table
        case = times(case, row, math.sqrt(2.0))
    slip = only(find_slips([case]))
    assert (slip.kind, slip.rows) == ("factor", (5, 6, 7, 8))
    assert slip.factor == pytest.approx(math.sqrt(2.0))


def test_a_whole_channel_that_is_off_alike_is_a_question_about_the_nominal_and_about_no_row():
    tables = [a_line(gain=math.sqrt(2.0)), a_sweep(gain=math.sqrt(2.0))]
    slip = only(find_slips(tables))
    assert slip.kind == "nominal"
    assert "fault of the channel" in slip.question
    assert all(slip.undone(case).nominal_sensitivity == pytest.approx(4.0 * math.sqrt(2.0)) for case in tables)


def test_one_test_that_is_off_where_the_other_is_right_is_a_question_about_its_rows():
    slip = only(find_slips([a_line(), a_sweep(gain=math.sqrt(0.5))]))
    assert (slip.kind, slip.tests, len(slip.rows)) == ("factor", ("band-response",), 14)


def test_two_rows_exchanged_are_one_question():
    case = a_line()
    first, second = case.readings[2], case.readings[3]
    case = changed(changed(case, 4, output=second.output), 5, output=first.output)
    slip = only(find_slips([case]))
    assert (slip.kind, slip.rows) == ("swapped", (4, 5))
    assert slip.undone(case).readings[2].output == first.output


def test_the_same_value_twice_where_it_should_move_is_asked_about_and_left_out_when_undone():
    case = a_line()
    case = changed(case, 6, output=case.readings[3].output)
    slip = only(find_slips([case]))
    assert (slip.kind, slip.rows) == ("stuck", (6,))
    assert "also stands in row 5" in slip.question
    assert slip.undone(case).readings[4].exclude


def test_values_one_row_too_low_are_one_question_about_the_row_before():
    case = a_line()
    outputs = [r.output for r in case.readings]
    shifted = [*outputs[:2], *outputs[1:6]]  # the second is written twice
    moved = replace(case, readings=tuple(replace(r, output=y) for r, y in zip(case.readings, shifted, strict=True)))
    slip = only(find_slips([moved]))
    assert (slip.kind, slip.rows) == ("row before", (4, 5, 6, 7, 8))
    undone = slip.undone(moved)
    assert [r.output for r in undone.readings[:6]] == outputs[:6]
    assert undone.readings[6].exclude


@pytest.mark.parametrize(("written", "meant"), [(500.0, 50.0), (5.0, 50.0), (3000.0, 50.0)])
def test_a_frequency_of_a_line_that_is_no_rotors_is_asked_about(written, meant):
    slip = only(find_slips([changed(a_line(), 5, frequency_hz=written)]))
    assert (slip.kind, slip.rows, slip.meant[0].frequency_hz) == ("frequency", (5,), pytest.approx(meant))


def test_a_frequency_of_a_sweep_that_is_out_of_order_is_asked_about():
    for row, hz in ((6, 315.0), (8, 36.0), (11, 2000.0)):
        slip = only(find_slips([changed(a_sweep(), row, frequency_hz=hz)]))
        assert (slip.kind, slip.rows) == ("frequency", (row,))
        assert slip.meant[0].frequency_hz == SWEEP_HZ[row - 2]


def test_a_unit_that_differs_from_the_rest_is_asked_about():
    slip = only(find_slips([changed(a_line(), 5, applied_unit=parse_unit("mm/s rms"))]))
    assert (slip.kind, slip.rows, slip.field) == ("unit", (5,), "applied_unit")
    assert slip.meant[0].applied_unit == parse_unit("mm/s pk")


def test_two_digits_exchanged_are_asked_about():
    slip = only(find_slips([changed(a_line(), 6, output=68.88)]))
    assert slip.kind == "outside"
    assert "about 55.9 mV pk" in slip.question
    slip = only(find_slips([changed(a_line(), 7, output=27.79)]))
    assert (slip.kind, slip.meant[0].output) == ("digits", 72.79)


def test_excluded_rows_and_rows_at_no_level_take_no_part():
    case = changed(times(a_line(), 5, 10.0), 5, exclude="crane passing")
    assert find_slips([case]) == ()
    assert find_slips([changed(a_line(), 2, applied=0.0, output=0.02)]) == ()


@pytest.mark.parametrize(
    "bend",
    [
        lambda x: np.hypot(x, 1.0) / x,  # a noise floor
        lambda x: np.where(x > 9.0, 9.0 / x * 1.15, 1.0),  # saturation
        lambda x: 1.0 + 0.3 * x / 20.0,  # a loose joint
    ],
)
def test_what_physics_bends_is_no_slip(bend):
    output = np.round(4.0 * LEVELS * bend(LEVELS) * (1.0 + WOBBLE), 2)
    case = make_case("linearity", np.full(7, 50.0), output, applied=LEVELS, decimals=2)
    assert not [slip for slip in find_slips([case]) if slip.kind != "outside"]


def test_a_wrong_filter_is_no_slip_but_is_outside_the_planned_limits():
    for sweep, rows in ((a_sweep(high=250.0), (11, 13)), (a_sweep(low=35.0), (5, 7))):
        slip = only(find_slips([a_line(), sweep]))
        assert (slip.kind, slip.rows) == ("outside", rows)
        assert slip.limits is not None
        assert slip.undone(sweep) == sweep


def test_a_channel_that_is_off_is_one_question_a_test_about_the_planned_limits():
    slips = find_slips([a_line(gain=0.8), a_sweep(gain=0.8)])
    assert [(slip.kind, len(slip.tests)) for slip in slips] == [("outside", 1), ("outside", 1)]
    assert slips[0].limits == pytest.approx((3.8, 4.2))
    assert "row 2 reads 3.21 mV pk at 1.00 mm/s pk, where 3.8 to 4.2 is planned" in slips[0].question


def test_a_new_reading_is_held_against_the_rows_so_far():
    case = a_line()
    shorter = replace(case, readings=case.readings[:4])
    right = case.readings[4]
    assert question_reading(right, [shorter, a_sweep()]) == ()
    slip = only(question_reading(replace(right, output=right.output / 2.0), [shorter, a_sweep()]))
    assert (slip.kind, slip.rows) == ("factor", (right.row,))


def test_the_first_reading_of_all_is_held_against_the_nominal():
    case = a_line()
    empty = replace(case, readings=())
    assert question_reading(case.readings[3], [empty]) == ()
    slip = only(question_reading(replace(case.readings[3], output=3.61), [empty]))
    assert (slip.kind, slip.factor) == ("factor", pytest.approx(0.1))


@SHORT
@given(st.integers(0, 6), st.sampled_from([10.0, 2.0, 2.0**0.5]), st.floats(0.97, 1.03))
def test_a_slip_undone_leaves_nothing_to_ask(place, factor, gain):
    case = times(a_line(gain=gain), place + 2, factor)
    for slip in find_slips([case]):
        case = slip.undone(case)
    assert find_slips([case]) == ()
