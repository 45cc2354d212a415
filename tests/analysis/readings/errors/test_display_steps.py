"""The step behind a number as written: JCGM 100:2008, F.2.2.1 takes half of it to either side.

Which step a display had is read off the digits: common practice of instruments, no source.
"""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tests.support.readings.cases import SHORT
from vibcal_nb.analysis.readings.errors.display_steps import WrittenNumber, find_steps
from vibcal_nb.model.equipment import Display
from vibcal_nb.units import parse_unit

MV = parse_unit("mV rms")


def written(*texts, unit=MV, lost=False):
    """Numbers as typed; with ``lost`` a number without decimals tells nothing, as a spreadsheet has it."""
    numbers = []
    for text in texts:
        decimals = len(text.partition(".")[2])
        known = None if lost and decimals == 0 else decimals
        numbers.append(WrittenNumber(value=float(text), unit=unit, decimals=known, frequency_hz=80.0))
    return numbers


def steps(*texts, displays=(), **how):
    return find_steps(written(*texts, **how), displays).tolist()


def test_a_three_digit_display_has_a_step_for_each_decade():
    assert steps("0.990", "1.99", "14.1", "20.2", "100") == [0.001, 0.01, 0.1, 0.1, 1.0]


def test_last_zeros_are_told_by_others_of_the_decade():
    assert steps("14.1", "14.07", "17.5") == [0.01, 0.01, 0.01]


def test_a_number_whose_zeros_were_lost_takes_the_digits_of_the_decade_below():
    assert steps("9.98", "100", lost=True) == [0.01, 1.0]
    assert steps("9.98", "14.2", "100", lost=True) == [0.01, 0.1, 1.0]
    assert steps("14.21", "3", lost=True) == [0.01, 0.01]  # never finer than where it is told
    assert steps("100", "20", lost=True) == [0.0, 0.0]


def test_zero_has_its_own_digits_or_the_finest():
    assert steps("0.00", "14.1") == [0.01, 0.1]
    assert steps("0", "14.1", "1.02", lost=True) == [0.01, 0.1, 0.01]
    assert steps("0.00", "5", lost=True) == [0.01, 0.01]


def test_a_stated_display_counts_before_the_digits_in_its_own_unit():
    volt = Display(step=0.0005, unit=parse_unit("V rms"))
    assert steps("100", "2.135", displays=[volt]) == [0.5, 0.5]
    peak = Display(step=0.1, unit=parse_unit("mV pk"))
    assert steps("100", displays=[volt, peak]) == [0.5]  # of two the coarsest
    assert steps("100", displays=[Display(step=0.1, unit=parse_unit("pC pk"))]) == [1.0]


@SHORT
@given(value=st.integers(100, 999), power=st.integers(-6, 6))
def test_as_many_digits_in_every_decade(value, power):
    number = WrittenNumber(value=value * 10.0**power, unit=MV, decimals=-power, frequency_hz=80.0)
    (step,) = find_steps([number], [])
    assert abs(step / 10.0**power - 1.0) < 1e-12
