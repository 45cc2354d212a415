"""A shift that all channels share is told from the faults and drift of single channels; simulated sites, no source."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.simulated_levels import simulate_site
from vibcal_nb.analysis.site.common_shift import OccasionLevel, find_common_shifts


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


def levels(shifts, *, u_own=0.1, shared=None):
    """One channel a row of ``shifts`` on the last of four occasions, nothing on the first three."""
    return [
        OccasionLevel(
            channel=f"c{number}",
            occasion=name,
            level_pct=value,
            u_own_pct=u_own,
            shared_pct=(shared or {}).get(name, {}),
        )
        for number, shift in enumerate(shifts)
        for name, value in zip("abcd", (0.0, 0.0, 0.0, shift), strict=True)
    ]


def test_u_of_a_shift_in_closed_form():
    """Own: sqrt(1 + 1/3) of 0.1; the median of six is known to sqrt(pi/2)/sqrt(6) of it; each occasion's certificate
    with its weight: 1 for the odd one, 1/3 for each of the three others."""
    shared = {name: {f"reference {name}": 0.3} for name in "abcd"}
    (found,) = find_common_shifts(levels([2.0] * 6, shared=shared))
    own = 0.1 * math.sqrt(4.0 / 3.0)
    u = math.hypot(math.sqrt(math.pi / 2.0) * own / math.sqrt(6.0), 0.3 * math.sqrt(4.0 / 3.0))
    assert (found.occasion, found.channels, found.alike) == ("d", 6, 6)
    assert found.shift_pct == pytest.approx(2.0)
    assert found.expanded.u == pytest.approx(u, rel=1e-9)
    assert found.E_n == pytest.approx(2.0 / found.expanded.U, rel=1e-9)


def test_what_all_occasions_share_cancels():
    same = {name: {"reference": 0.3} for name in "abcd"}
    (found,) = find_common_shifts(levels([2.0] * 6, shared=same))
    assert found.expanded.u == pytest.approx(find_common_shifts(levels([2.0] * 6))[0].expanded.u, rel=1e-9)


def test_five_channels_and_three_occasions_are_enough_and_less_is_not():
    assert len(find_common_shifts(levels([2.0] * 5))) == 1
    assert find_common_shifts(levels([2.0] * 4)) == ()
    three = [item for item in levels([2.0] * 5) if item.occasion != "a"]
    assert len(find_common_shifts(three)) == 1
    assert find_common_shifts([item for item in three if item.occasion != "b"]) == ()


def test_two_thirds_of_the_channels_must_have_moved_alike():
    """Four of six are two thirds; the two others stayed, half the median and more away."""
    (found,) = find_common_shifts(levels([2.0, 2.0, 2.0, 2.0, 0.0, 0.0]))
    assert (found.alike, found.channels) == (4, 6)
    assert find_common_shifts(levels([2.0, 2.0, 2.0, 2.0, 0.0, 0.0, 0.0])) == ()


def test_a_shift_within_its_uncertainty_is_none():
    """U of the median of six: 1.96 sqrt(pi/2) 0.1155/sqrt(6) = 0.116."""
    assert find_common_shifts(levels([0.11] * 6)) == ()
    assert len(find_common_shifts(levels([0.12] * 6))) == 1


def test_the_shift_is_the_median_of_an_even_number_and_of_an_odd_one():
    assert find_common_shifts(levels([1.9, 2.0, 2.0, 2.2, 2.3, 2.4]))[0].shift_pct == pytest.approx(2.1)
    assert find_common_shifts(levels([1.9, 2.0, 2.0, 2.2, 2.4]))[0].shift_pct == pytest.approx(2.0)


def test_a_channel_moved_alike_within_twice_its_own_uncertainty_or_half_the_shift():
    """Own: sqrt(4/3) of 1 is 1.1547, twice that 2.309; half of a shift of 2 is 1, of a shift of 6 it is 3."""
    for shift, u_own, near, far in ((4.0, 1.0, 2.30, 2.32), (6.0, 0.1, 2.99, 3.01)):
        for off, alike in ((near, 6), (-near, 6), (far, 5), (-far, 5)):
            (found,) = find_common_shifts(levels([shift] * 5 + [shift + off], u_own=u_own))
            assert (found.shift_pct, found.channels, found.alike) == (shift, 6, alike)
