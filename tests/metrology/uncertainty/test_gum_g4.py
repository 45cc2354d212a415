"""JCGM 100:2008, Annex G: Welch-Satterthwaite, Student's t, and clause 7 on rounding."""

from __future__ import annotations

import math

import pytest

from vibcal_nb.metrology.uncertainty.budget import Budget, BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import (
    PROBABILITY_OF_K_2,
    CoverageError,
    coverage_factor,
    expand,
    last_place,
    rounded,
)

# Table G.2, as printed, for coverage probabilities of 95 % and 95.45 %
T_95 = {1: 12.71, 2: 4.30, 3: 3.18, 4: 2.78, 5: 2.57, 10: 2.23, 20: 2.09, 50: 2.01, 100: 1.98}
T_95_45 = {
    1: 13.97, 2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65, 6: 2.52, 7: 2.43, 8: 2.37, 10: 2.28, 20: 2.13, 50: 2.05,
}  # fmt: skip


def g_4_1() -> Budget:
    """G.4.1, example (from memory): 0.25, 0.57 and 0.82 % from 10, 5 and 15 observations."""
    parts = ((0.25, 10), (0.57, 5), (0.82, 15))
    lines = [
        BudgetLine(name=f"X{i}", value=u, kind="independent", degrees_of_freedom=n - 1)
        for i, (u, n) in enumerate(parts, 1)
    ]
    return Budget(lines=tuple(lines))


def test_g_4_1_example() -> None:
    expanded = g_4_1().expanded(probability=0.95)
    assert round(expanded.u, 2) == 1.03
    assert round(expanded.nu, 1) == 19.0
    assert round(expanded.k, 2) == 2.09
    assert round(expanded.U, 1) == 2.2
    # recomputed to more digits
    assert (round(expanded.nu, 3), round(expanded.U, 3)) == (18.999, 2.155)
    assert (round(expanded.u, 5), round(expanded.k, 4)) == (1.02947, 2.0930)


@pytest.mark.parametrize(("nu", "t"), T_95.items())
def test_table_g_2_for_95_percent(nu: int, t: float) -> None:
    assert round(coverage_factor(nu, probability=0.95), 2) == t


@pytest.mark.parametrize(("nu", "t"), T_95_45.items())
def test_table_g_2_for_95_45_percent(nu: int, t: float) -> None:
    assert round(coverage_factor(nu, probability=PROBABILITY_OF_K_2), 2) == t


def test_table_g_2_for_95_45_percent_at_100() -> None:
    assert round(coverage_factor(100, probability=PROBABILITY_OF_K_2), 3) == 2.025


def test_infinite_degrees_of_freedom_give_the_normal_quantiles() -> None:
    assert round(coverage_factor(), 3) == 1.960  # Table G.1
    assert coverage_factor(probability=PROBABILITY_OF_K_2) == pytest.approx(2.0, rel=1e-14)
    assert coverage_factor(1e12) == pytest.approx(coverage_factor(math.inf), rel=1e-10)


def test_7_2_4_reported_result() -> None:
    """7.2.2 and 7.2.4: m_S = (100.021 47 +- 0.000 79) g with u_c = 0.35 mg, k = 2.26 for nu = 9."""
    expanded = expand(0.35e-3, 9)
    assert round(expanded.k, 2) == 2.26
    text = rounded(100.02147, expanded.U)
    assert (text.value, text.uncertainty) == ("100.02147", "0.00079")


@pytest.mark.parametrize(
    ("value", "U", "texts"),
    [
        (10.05762, 0.027, ("10.058", "0.027")),  # 7.2.6, ohm
        (28.05, 28.05, ("28", "28")),  # 7.2.6, kHz: 28.05 to 28
        # 7.2.6 would let 10.47 go up to 11; this project rounds to the nearest, which loses less than 5 %
        (10.47, 10.47, ("10", "10")),
        (0.0, 0.0996, ("0.00", "0.10")),
        (9.996, 0.0996, ("10.00", "0.10")),
        (99.95, 9.96, ("100", "10")),
        (123456.0, 1234.0, ("123500", "1200")),
        (12345.6, 9951.0, ("12000", "10000")),
        (-0.0001, 1.0, ("0.0", "1.0")),
        (-2.25, 0.85, ("-2.25", "0.85")),
        (2.5, 0.125, ("2.50", "0.13")),  # halves go away from zero
        (1.0049999999, 0.25, ("1.00", "0.25")),
        (1e20, 1e-10, ("100000000000000000000.00000000000", "0.00000000010")),
        (1.5e-12, 3.14e-13, ("0.00000000000150", "0.00000000000031")),
        (5.125, 0.0, ("5.125", "0")),
    ],
)
def test_rounding(value: float, U: float, texts: tuple[str, str]) -> None:
    text = rounded(value, U)
    assert (text.value, text.uncertainty) == texts


def test_rounding_to_other_numbers_of_digits() -> None:
    assert rounded(3.14159, 0.0012, digits=1).value == "3.142"
    assert rounded(3.14159, 0.0012, digits=3).uncertainty == "0.00120"
    assert last_place(0.0996) == last_place(0.10) == -2


@pytest.mark.parametrize(
    ("call", "found"),
    [
        (lambda: coverage_factor(probability=1.0), "coverage probability is 1.0"),
        (lambda: coverage_factor(0.0), "degrees of freedom are 0.0"),
        (lambda: coverage_factor(math.nan), "degrees of freedom are nan"),
        (lambda: expand(-1.0), "uncertainty is -1.0"),
        (lambda: expand(math.nan), "uncertainty is nan"),
        (lambda: rounded(math.nan, 1.0), "to be rounded is nan"),
        (lambda: rounded(1.0, math.inf), "uncertainty is inf"),
        (lambda: last_place(0.0), "has no 2 significant digits"),
    ],
)
def test_refusals_name_what_was_found(call, found: str) -> None:
    with pytest.raises(CoverageError, match=found):
        call()
