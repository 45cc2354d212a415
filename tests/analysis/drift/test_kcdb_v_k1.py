"""E_n on real vibration data: BIPM KCDB, key comparison CCAUV.V-K1 (and V-K1.1), charge sensitivity at 40 Hz.

D_i and U_i (k = 2) in 1e-4 pC/(m/s2); U_i already belongs to the difference. The E_n are D_i/U_i, worked out by
hand to the digits that stand here.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.published.kcdb_v_k1 import observation
from vibcal_nb.analysis.drift.normalized_error import compare, normalized_error

D_U = {
    "PTB": (0.6, 0.8),
    "BNM-CESTA": (1.2, 6.3),
    "CSIRO-NML": (1.2, 5.0),
    "CMI": (-0.9, 5.7),
    "CSIR-NML": (9.2, 11.4),
    "CENAM": (-1.7, 6.2),
    "NRC": (-1.1, 3.7),
    "KRISS": (-1.1, 4.5),
    "NMIJ": (-2.9, 5.2),
    "VNIIM": (-5.4, 5.0),
    "NIST": (1.2, 3.7),
    "NMi-VSL": (-0.9, 3.1),
    "NIM": (0.3, 6.5),
    "NPLI": (1.2, 9.0),
    "INMETRO": (0.0, 3.3),
}
E_N = {
    "PTB": "0.75",
    "BNM-CESTA": "0.1905",
    "CSIRO-NML": "0.24",
    "CMI": "-0.1579",
    "CSIR-NML": "0.8070",
    "CENAM": "-0.2742",
    "NRC": "-0.2973",
    "KRISS": "-0.2444",
    "NMIJ": "-0.5577",
    "VNIIM": "-1.08",
    "NIST": "0.3243",
    "NMi-VSL": "-0.2903",
    "NIM": "0.0462",
    "NPLI": "0.1333",
    "INMETRO": "0.0",
}


@pytest.mark.parametrize("laboratory", D_U)
def test_each_printed_digit(laboratory):
    printed = E_N[laboratory]
    decimals = len(printed.partition(".")[2])
    assert f"{normalized_error(*D_U[laboratory]):.{decimals}f}" == printed


def test_exactly_one_laboratory_lies_outside():
    assert [name for name, pair in D_U.items() if abs(normalized_error(*pair)) > 1.0] == ["VNIIM"]


def test_of_two_results_without_anything_shared_it_is_the_formula_of_iso_13528():
    before, after = observation(0.4, u_own=0.3, a=0.5), observation(2.1, u_own=0.2, b=0.7)
    U1, U2 = 1.959963984540054 * before.u_pct, 1.959963984540054 * after.u_pct
    assert compare(before, after).E_n == pytest.approx((2.1 - 0.4) / (U1**2 + U2**2) ** 0.5, rel=1e-12)


@given(shared=st.floats(0.01, 50.0), change=st.floats(-5.0, 5.0))
def test_what_both_share_in_equal_size_does_not_count(shared, change):
    alone = compare(observation(0.0), observation(change))
    together = compare(observation(0.0, reference=shared), observation(change, reference=shared))
    assert together.E_n == pytest.approx(alone.E_n, rel=1e-9, abs=1e-12)
    assert together.removed == ("reference",)


def test_of_a_shared_source_that_grew_the_difference_counts():
    change = compare(observation(0.0, u_own=0.3, drift=0.1), observation(1.0, u_own=0.4, drift=0.35))
    assert change.expanded.u == pytest.approx((0.3**2 + 0.4**2 + 0.25**2) ** 0.5, rel=1e-12)


def test_a_difference_without_uncertainty_is_refused():
    with pytest.raises(ValueError, match="uncertainty above zero"):
        normalized_error(1.0, 0.0)
