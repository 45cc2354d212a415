"""Numbers as they are written: a minus is one, a hyphen stays, zero has no sign."""

from __future__ import annotations

import pytest

from vibcal_nb.display.writing.numbers import fixed, number, percent, true_minus


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("limits -1.20 to -0.50 %", "limits −1.20 to −0.50 %"),
        ("STG-1-V12, 2026-05-19, as-found", "STG-1-V12, 2026-05-19, as-found"),
        ("(E_n -1.2) of A-0001", "(E_n −1.2) of A-0001"),
        ("-2.5e-05", "−2.5e−05"),
    ],
)
def test_the_minus_of_a_number_is_told_from_a_hyphen(text, written):
    assert true_minus(text) == written


@pytest.mark.parametrize(
    ("value", "signed", "written"),
    [
        (-1.005, True, "−1.00"),
        (0.004, True, "0.00"),
        (-0.004, False, "0.00"),
        (2.0, True, "+2.00"),
        (2.0, False, "2.00"),
    ],
)
def test_a_number_with_fixed_decimals(value, signed, written):
    assert fixed(value, signed=signed) == written
    assert percent(value, signed=signed) == f"{written} %"


def test_an_exponent_has_a_true_minus_too():
    assert number(-2.5e-5, digits=2) == "−2.5e−05"
