"""A shift that all channels share is told from the faults and drift of single channels; simulated sites, no source."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.simulated_levels import simulate_site
from vibcal_nb.analysis.common_shift import find_common_shifts


@pytest.mark.parametrize("visits", [3, 4, 6])
def test_a_reference_2_percent_off_is_named(visits):
    rng, named = np.random.default_rng(visits), 0
    for number in range(100):
        shifted = number % visits
        sign = 1.0 if number % 2 else -1.0
        found = find_common_shifts(simulate_site(rng, visits=visits, shifted=shifted, shift_pct=2.0 * sign))
        named += [item.occasion for item in found] == [f"visit {shifted}"]
    assert named >= 95


@pytest.mark.parametrize("visits", [3, 4, 6])
def test_without_it_none_is_named(visits):
    rng = np.random.default_rng(20 + visits)
    silent = sum(not find_common_shifts(simulate_site(rng, visits=visits)) for _ in range(100))
    assert silent >= 98


def test_the_shift_itself_is_right():
    rng = np.random.default_rng(9)
    for _ in range(20):
        (found,) = find_common_shifts(simulate_site(rng, visits=4, shifted=2, shift_pct=3.0))
        assert abs(found.shift_pct - 3.0) < found.expanded.U
        assert found.channels == 20


def test_half_the_channels_moving_apart_is_not_a_common_shift():
    """Ten channels up by 4 %, ten down by 4 %: no reference does that."""
    rows = simulate_site(np.random.default_rng(1), faults=0)
    apart = [
        replace(r, level_pct=r.level_pct + (4.0 if int(r.channel[1:]) % 2 else -4.0)) if r.occasion == "visit 1" else r
        for r in rows
    ]
    assert find_common_shifts(apart) == ()


def test_too_little_to_tell_names_nothing():
    rng = np.random.default_rng(2)
    assert find_common_shifts([]) == ()
    assert find_common_shifts(simulate_site(rng, visits=2, shifted=1, shift_pct=9.0)) == ()
    assert find_common_shifts(simulate_site(rng, channels=4, shifted=1, shift_pct=9.0, faults=0)) == ()


def test_the_order_of_the_rows_is_free():
    rows = simulate_site(np.random.default_rng(3), shifted=1)
    mixed = [rows[i] for i in np.random.default_rng(4).permutation(len(rows))]
    (one,), (other,) = find_common_shifts(rows), find_common_shifts(mixed)
    assert (one.occasion, one.alike) == (other.occasion, other.alike)
    assert one.shift_pct == pytest.approx(other.shift_pct, rel=1e-12)
