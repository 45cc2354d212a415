"""What a shaker reaches: published kinematics, the trade's force-limited example, laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vibcal_nb.analysis.planning.shaker import ShakerError, find_reach, force_for
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.units import G_N, convert, parse_unit

SHAKER = Shaker(
    id="SHK-1",
    force_n=45.0,
    armature_kg=0.2,
    stroke_mm_pkpk=2.5,
    velocity_mm_s_pk=380.0,
    from_hz=7.0,
    to_hz=10_000.0,
    payload_kg=4.8,
)
IN_S = parse_unit("in/s pk")


def test_one_payload_on_one_force_limited_shaker():
    """2.75 in/s pk at 60 Hz, just under 1 in/s pk at 170 Hz, about 2.7 g pk both (common practice, no source)."""
    mass = 45.0 / (2.75 * 0.0254 * 2 * np.pi * 60.0) - 0.2  # the payload with which 60 Hz reaches 2.75 in/s
    reach = find_reach(SHAKER, frequency_hz=[60.0, 170.0], moving_mass_kg=mass)
    at_60, at_170 = reach.level(IN_S)
    assert at_60 == pytest.approx(2.75, rel=1e-12)
    assert 0.95 < at_170 < 1.0
    assert reach.acceleration / G_N == pytest.approx([2.7, 2.7], abs=0.05)
    assert reach.limited_by == ("force", "force")


def test_each_limit_in_its_place():
    """Kinematics with g_n = 9.80665 m/s2 and 1 in = 25.4 mm: a = w v = w^2 d."""
    reach = find_reach(SHAKER, frequency_hz=[5.0, 10.0, 60.0, 1000.0, 20_000.0], moving_mass_kg=0.0)
    assert reach.limited_by == ("frequency range", "stroke", "velocity", "force", "frequency range")
    assert reach.level(parse_unit("mm pkpk"))[1] == pytest.approx(2.5)
    assert reach.level(parse_unit("mm/s pk"))[2] == pytest.approx(380.0)
    assert reach.acceleration[3] == pytest.approx(225.0)
    assert reach.acceleration[[0, 4]] == pytest.approx([0.0, 0.0])


@pytest.mark.parametrize(
    ("unit", "value"),
    [
        ("mm/s pk", 15.607768226721353),
        ("mm/s rms", 11.036358752302604),
        ("in/s pk", 0.6144790640441478),
        ("um pkpk", 49.68106927830658),
        ("mil pkpk", 1.9559476093821488),
    ],
)
def test_one_g_at_one_hundred_hertz(unit, value):
    """1 g pk at 100 Hz in the other quantities, recomputed from g_n and the inch at full precision."""
    shaker = Shaker(id="S", force_n=G_N, armature_kg=1.0)
    reach = find_reach(shaker, frequency_hz=100.0, moving_mass_kg=0.0)
    assert reach.level(parse_unit(unit))[0] == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("hz", "inch_per_s"), [(60.0, 61.45 / 60), (80.0, 61.45 / 80), (159.15494309, 61.45 / 159.15)])
def test_printed_velocity_factor(hz, inch_per_s):
    """Handbook cards print V = 61.4 to 61.48 g/f in in/s: within one in a thousand."""
    reach = find_reach(Shaker(id="S", force_n=G_N, armature_kg=1.0), frequency_hz=hz, moving_mass_kg=0.0)
    assert reach.level(IN_S)[0] == pytest.approx(inch_per_s, rel=1e-3)


@given(st.floats(7.0, 10_000.0), st.floats(0.0, 4.0), st.floats(0.0, 4.0))
def test_more_mass_never_reaches_further(f, mass, more):
    less, far = (find_reach(SHAKER, frequency_hz=f, moving_mass_kg=m).acceleration[0] for m in (mass + more, mass))
    assert less <= far


@given(st.floats(7.0, 5000.0), st.floats(1.1, 4.7))
def test_the_force_of_the_reach_is_the_shakers_own(f, mass):
    reach = find_reach(SHAKER, frequency_hz=f, moving_mass_kg=mass)
    unit = parse_unit("mm/s rms")
    needed = force_for(float(reach.level(unit)[0]), unit, frequency_hz=f, shaker=SHAKER, moving_mass_kg=mass)
    assert needed <= 45.0 * (1 + 1e-12)
    assert (needed == pytest.approx(45.0)) == (reach.limited_by == ("force",))


def test_a_single_limit_is_enough_and_none_is_refused():
    only = find_reach(Shaker(id="S", velocity_mm_s_pk=100.0), frequency_hz=[1.0, 1e4], moving_mass_kg=3.0)
    assert only.level(parse_unit("mm/s pk")) == pytest.approx([100.0, 100.0])
    with pytest.raises(ShakerError, match="states no limit"):
        find_reach(Shaker(id="S"), frequency_hz=10.0, moving_mass_kg=0.0)
    with pytest.raises(ShakerError, match="give armature_kg"):
        find_reach(Shaker(id="S", force_n=10.0), frequency_hz=10.0, moving_mass_kg=0.0)
    with pytest.raises(ShakerError, match="give 0 or more"):
        find_reach(SHAKER, frequency_hz=10.0, moving_mass_kg=-1.0)
    with pytest.raises(ShakerError, match="above 0 Hz"):
        find_reach(SHAKER, frequency_hz=[0.0], moving_mass_kg=1.0)


def test_cautions_on_payload_and_overhang():
    def said(mass, **how):
        return " ".join(find_reach(SHAKER, frequency_hz=80.0, moving_mass_kg=mass, **how).cautions)

    assert said(0.1) == ""
    assert "do not mount it" in said(5.0)
    assert "5.0 times as heavy as the armature" in said(1.0)
    assert "tilts the table with 0.02 N m" in said(1.0, overhang_mm=20.0)


def test_levels_come_back_through_the_units():
    reach = find_reach(SHAKER, frequency_hz=[33.0], moving_mass_kg=0.5)
    back = convert(reach.level(IN_S), IN_S, parse_unit("m/s2 pk"), frequency_hz=reach.frequency_hz)
    assert back == pytest.approx(reach.acceleration)
