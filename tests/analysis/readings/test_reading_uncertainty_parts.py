"""Each part of a reading's uncertainty in closed form: certificates, drift, repeats, resolution, live zero."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL, make_case
from vibcal_nb.analysis.readings.errors.repeat_scatter import pool_repeats
from vibcal_nb.analysis.readings.reading_uncertainty import assess_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.metrology.uncertainty.coverage import root_sum_squares
from vibcal_nb.model.equipment import ReferenceBand
from vibcal_nb.model.visit import Contribution

HZ = np.array([40.0, 80.0, 160.0])


def pooled_scatter_pct(scaled):
    found = pool_repeats(scaled)
    return found.pooled_pct, found.degrees_of_freedom


def case_of(hz=HZ, output=40.0, **how):
    return make_case("band-response", hz, np.broadcast_to(output, np.shape(hz)), **how)


def assess(case):
    return assess_readings(case, scale_readings(case))


def lines_of(case, hz=80.0):
    return {line.name: line for line in assess(case).common(hz)}


def test_the_lines_come_in_the_order_reference_drift_readout():
    names = [line.name for line in assess(case_of()).common(80.0)]
    assert names == ["reference level", "reference drift", "readout gain", "readout drift", "temperature"]
    assert [line.name for line in assess(replace(case_of(), references=())).common(80.0)] == names[2:]
    assert [line.name for line in assess(replace(case_of(), readouts=())).common(80.0)] == [
        names[0],
        *names[1:2],
        names[4],
    ]


def test_the_common_part_is_the_root_of_the_sum_of_squares():
    """1 % (k = 2), 0.2 % (k = 2), 0.2 %/sqrt(3) of temperature, and a drift of 0.2 % a year over 129 days."""
    drift = 0.2 * 129.0 / 365.25
    expected = math.sqrt(0.5**2 + 0.1**2 + 0.2**2 / 3.0 + drift**2 / 3.0)
    assert assess(case_of()).u_common_pct(80.0) == pytest.approx(expected, rel=1e-12)
    by_frequency = math.sqrt((0.2**2 + 0.3**2 + 0.1**2) / 3.0)  # mounting, transverse motion, distortion
    assert assess(case_of()).u_frequency_pct(80.0) == pytest.approx(by_frequency, rel=1e-12)
    assert root_sum_squares([3.0, 4.0, 12.0]) == 13.0


def test_drift_counts_from_the_calibration_and_never_backwards():
    case = case_of()
    (reference,) = case.references
    day = case.visit.date
    stated = replace(reference, calibrated=day - timedelta(days=487), drift_pct_per_year=0.3)
    line = lines_of(replace(case, references=(stated,)))["reference drift"]
    assert line.value == pytest.approx(0.3 * 487 / 365.25, rel=1e-12)
    assert line.source == "0.3 % a year, equipment.toml; 1.3 years since calibration"
    ahead = replace(reference, calibrated=day + timedelta(days=30))
    assert lines_of(replace(case, references=(ahead,)))["reference drift"].value == 0.0
    assert lines_of(case)["reference drift"].source.startswith("0.2 % a year: judgement, no source")


def test_of_several_readouts_the_widest_counts():
    case = case_of()
    (readout,) = case.readouts
    coarse = replace(readout, id="COARSE", expanded_pct=0.3, k=3.0)
    assert "DVM-1" in lines_of(replace(case, readouts=(readout, replace(coarse, k=3.1))))["readout gain"].source
    assert "COARSE" in lines_of(replace(case, readouts=(readout, replace(coarse, k=2.9))))["readout gain"].source


def test_the_certificates_range_that_holds_the_frequency_counts_and_outside_the_nearest():
    """At the edge that two ranges share, 50 Hz, the larger figure."""
    case = case_of()
    bands = tuple(
        ReferenceBand(from_hz=low, to_hz=high, expanded_pct=pct, k=2.0)
        for low, high, pct in ((10.0, 50.0, 2.0), (50.0, 200.0, 1.0), (400.0, 800.0, 3.0))
    )
    case = replace(case, references=(replace(case.references[0], uncertainty=bands),))
    found = [
        lines_of(case, hz)["reference level"].value for hz in (5.0, 30.0, 50.0, 100.0, 220.0, 350.0, 500.0, 2000.0)
    ]
    assert found == [2.0, 2.0, 2.0, 1.0, 1.0, 3.0, 3.0, 3.0]
    uncertainty = assess(case)
    assert uncertainty.u_common_ratio_pct(30.0, 500.0) == pytest.approx(
        0.5, rel=1e-12
    )  # 1.5 - 1.0: one error, two sizes
    assert uncertainty.u_common_ratio_pct(100.0, 60.0) == 0.0


def test_the_errors_of_two_references_do_not_cancel_in_a_ratio():
    """Below 60 Hz one reference, above it another, each of 1 % (k = 2) and with a drift of its own."""
    case = case_of()
    (reference,) = case.references
    low, high = (
        replace(reference, id=name, uncertainty=(replace(reference.uncertainty[0], from_hz=start, to_hz=end),))
        for name, start, end in (("LOW", 1.0, 60.0), ("HIGH", 60.0, 1000.0))
    )
    two = assess(replace(case, references=(low, high)))
    drift = 0.2 * 129.0 / 365.25 / math.sqrt(3.0)
    assert two.u_common_ratio_pct(40.0, 80.0) == pytest.approx(math.sqrt(2.0) * math.hypot(0.5, drift), rel=1e-12)
    assert two.u_common_ratio_pct(80.0, 160.0) == 0.0
    assert "LOW" in {line.name: line for line in two.common(40.0)}["reference level"].source


def test_resolution_is_a_rectangle_of_the_finest_digit_written():
    """Half a digit to either side: a step over sqrt(12)."""
    case = case_of(decimals=1)
    rest = assess(case_of())
    found = assess(case)
    assert found.u_x == pytest.approx([0.1 / math.sqrt(12.0)] * 3)
    assert found.u_y == pytest.approx(np.hypot(rest.u_y, 0.1 / math.sqrt(12.0)))
    mixed = replace(case, readings=(replace(case.readings[0], output_decimals=3), *case.readings[1:]))
    assert assess(mixed).u_y == pytest.approx(np.hypot(rest.u_y, 0.001 / math.sqrt(12.0)))


def test_settling_is_replaced_by_the_scatter_of_four_degrees_of_freedom():
    """Five repeats with -1, -1, 0, 1, 1 %: s = 1 % on 4; cable strain, which moved them too, does not count twice."""
    pattern = np.array([0.99, 0.99, 1.0, 1.01, 1.01])
    case = case_of(np.full(5, 80.0), 40.0 * pattern)
    assert pooled_scatter_pct(scale_readings(case)) == (pytest.approx(1.0), 4)
    (line,) = assess(case).independent
    assert (line.name, line.value, line.degrees_of_freedom) == ("settling and reading", pytest.approx(1.0), 4)
    assert line.source == "pooled scatter of the repeat readings, 4 degrees of freedom (type A)"
    assert assess(case).degrees_of_freedom == 4.0
    few = case_of(np.full(4, 80.0), 40.0 * pattern[1:])
    assert {item.name for item in assess(few).independent} == {"settling and reading", "cable strain"}
    assert assess(few).degrees_of_freedom == math.inf
    exact = case_of(np.full(5, 80.0))
    assert {item.name for item in assess(exact).independent} == {"settling and reading", "cable strain"}


def test_repeats_are_of_one_frequency_level_and_direction():
    hz = np.array([80.0, 80.7, 81.0, 160.0])
    assert pooled_scatter_pct(scale_readings(case_of(hz)))[1] == 1  # 80 and 80.7 Hz are within 1 %
    levels = case_of(
        np.full(4, 80.0), 4.0 * np.array([10.0, 10.2, 10.4, 20.0]), applied=np.array([10.0, 10.2, 10.4, 20.0])
    )
    assert pooled_scatter_pct(scale_readings(levels))[1] == 1  # 10 and 10.2 are within 3 %
    two_ways = case_of(np.full(4, 80.0))
    ways = ("rising", "falling", "rising", "falling")
    turned = replace(
        two_ways, readings=tuple(replace(r, direction=way) for r, way in zip(two_ways.readings, ways, strict=True))
    )
    assert pooled_scatter_pct(scale_readings(turned))[1] == 2
    assert pooled_scatter_pct(scale_readings(case_of(np.full(4, 80.0), exclude={0: "knocked"})))[1] == 2
    assert pooled_scatter_pct(scale_readings(case_of(HZ))) == (0.0, 0)


def test_several_groups_of_repeats_are_pooled():
    """Two pairs, 1 -+ 1 % and 1 -+ 2 %: each has one degree of freedom, variances 2 x 1 and 2 x 4, so sqrt(5)."""
    case = case_of(np.array([80.0, 80.0, 160.0, 160.0]), 40.0 * np.array([0.99, 1.01, 0.98, 1.02]))
    assert pooled_scatter_pct(scale_readings(case)) == (pytest.approx(math.sqrt(5.0)), 2)


def test_a_readings_own_uncertainty_replaces_settling():
    case = case_of()
    own = replace(case, readings=(replace(case.readings[0], u_pct=1.2), *case.readings[1:]))
    strain, settling = 0.1 / math.sqrt(3.0), 0.2
    assert assess(own).u_y == pytest.approx(
        0.4 * np.array([math.hypot(1.2, strain), *[math.hypot(settling, strain)] * 2]), rel=1e-6
    )


def test_the_degrees_of_freedom_of_what_is_independent():
    """Welch-Satterthwaite of 0.3 on 5 and 0.4 on infinitely many: (0.5/0.3)^4 x 5 (JCGM 100:2008, G.4.1)."""
    case = case_of()
    stated = (
        Contribution(name="settling", value_pct=0.3, distribution="normal", kind="independent", degrees_of_freedom=5.0),
        Contribution(name="cable strain", value_pct=0.4, distribution="normal", kind="independent"),
    )
    found = assess(replace(case, visit=replace(case.visit, contributions=stated)))
    assert found.degrees_of_freedom == pytest.approx(5.0 * (0.5 / 0.3) ** 4)
    nothing = tuple(replace(item, value_pct=0.0) for item in stated)
    assert assess(replace(case, visit=replace(case.visit, contributions=nothing))).degrees_of_freedom == math.inf


def test_an_output_of_nothing_has_the_smallest_uncertainty_that_the_others_leave():
    case = case_of(HZ, np.array([0.0, 20.0, 40.0]))
    found = assess(case)
    relative = math.hypot(0.2, 0.1 / math.sqrt(3.0)) / 100.0
    assert found.u_y == pytest.approx(relative * np.array([20.0, 20.0, 40.0]), rel=1e-6)
    assert (assess(case_of(HZ, 0.0)).u_y > 0.0).all()


def test_a_live_zero_is_read_with_the_gain():
    """4 of 12 mA stand for no vibration: a gain error weighs 12/8 in what counts."""
    live = replace(CHANNEL, output_zero=4.0)
    found = assess(case_of(HZ, np.array([12.0, 8.0, 4.0]), channel=live))
    assert found.zero_leverage == pytest.approx([1.5, 2.0, 1.0])
    assert assess(case_of()).zero_leverage == pytest.approx([1.0] * 3)


def test_a_visits_own_contribution_comes_after_the_instruments_and_the_temperature():
    case = case_of()
    own = Contribution(name="adapter", value_pct=0.4, distribution="normal", kind="common")
    stated = replace(case, visit=replace(case.visit, contributions=(own,)))
    names = [line.name for line in assess(stated).common(80.0)]
    assert names == ["reference level", "reference drift", "readout gain", "readout drift", "temperature", "adapter"]
    without = replace(stated, references=())
    assert [line.name for line in assess(without).common(80.0)] == names[2:]


def test_repeats_of_a_small_level_scatter_as_much_as_those_of_a_large_one():
    pattern = np.array([0.99, 0.99, 1.0, 1.01, 1.01])
    for level in (0.01, 1.0, 100.0):
        case = case_of(np.full(5, 80.0), 4.0 * level * pattern, applied=level)
        assert pooled_scatter_pct(scale_readings(case)) == (pytest.approx(1.0), 4)
    nothing = case_of(np.full(5, 80.0), 40.0 * pattern, applied=0.0)
    assert pooled_scatter_pct(scale_readings(nothing)) == (0.0, 0)
