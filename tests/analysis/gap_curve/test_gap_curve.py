"""Gap curves against arithmetic that numpy does by itself.

Limits of API 670 from memory: 7.87 V/mm, increments within 5 % at 0.25 mm, 25.4 um from the best line.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.readings.cases import READOUT, SHORT, sane
from tests.support.readings.gap_curve import GAPS, INCREMENTS, PROBE, curve_of, gap_case
from vibcal_nb.analysis.gap_curve.gap_curve import analyse_gap_curve
from vibcal_nb.display.card.card import card_of, card_text
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.model.equipment import Offset
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.units import parse_gap_unit, parse_unit

# closed form: increments of 7.90 7.95 7.90 7.87 7.85 7.80 7.20 7.60 V/mm at steps of 0.25 mm, nominal 7.87
AVERAGE, WORST_PCT, LEAST_SQUARES = 7.75875, -8.513341804320203, 7.775833333333333
MINIMAX_UM, MEAN_UM = 16.359593392630202, 25.024707045037346


def analyse(increments=INCREMENTS, **told):
    return analyse_gap_curve(gap_case(curve_of(increments), **told))


@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_a_curve_of_known_increments(sign):
    probe = replace(PROBE, nominal_sensitivity=sign * 7.87, rest_voltage=None)
    result = analyse_gap_curve(gap_case(curve_of(INCREMENTS, sign=sign), probe=probe))
    assert result.verdict == "fail"
    assert result.average.value == pytest.approx(sign * AVERAGE, rel=1e-12)
    assert result.least_squares.value == pytest.approx(sign * LEAST_SQUARES, rel=1e-12)
    assert result.worst_increment.deviation_pct == pytest.approx(WORST_PCT, rel=1e-9)
    assert (result.worst_increment.low, result.worst_increment.high) == (1.75, 2.0)
    assert [item.verdict for item in result.increments] == ["pass"] * 6 + ["fail", "pass"]
    assert result.from_line["minimax"].value_um == pytest.approx(MINIMAX_UM, rel=1e-9)
    assert result.from_line["least-squares"].value_um == pytest.approx(MEAN_UM, rel=1e-9)
    assert result.linear_range == (0.25, 1.75)
    entry = sane(result)["quantities"]
    assert entry["worst_incremental_pct"] == pytest.approx(-8.51, abs=0.005)
    assert entry["average_sensitivity"] == pytest.approx(sign * 7.7587, abs=1e-4)
    assert entry["deviation_from_line_um"] == pytest.approx({"minimax": MINIMAX_UM, "least-squares": MEAN_UM}, rel=1e-7)
    assert [item["from"] for item in entry["incremental"]] == list(GAPS[:-1])


def test_each_increment_holds_the_micrometers_error_at_both_ends():
    """u = sqrt(2) 1 um of 250 um, and the readout's 0.1 % (JCGM 100:2008, 5.1.2)."""
    result = analyse(np.full(8, 7.87), decimals=None)
    expected = 100.0 * np.hypot(np.sqrt(2.0) * 1.0 / 250.0, 0.001)
    assert [item.expanded.u for item in result.increments] == pytest.approx([expected] * 8, rel=1e-9)
    over_all = 100.0 * np.hypot(np.sqrt(2.0) * 1.0 / 2000.0, 0.001)
    assert result.average.expanded.u == pytest.approx(over_all, rel=1e-9)


def test_the_uncertainties_are_those_of_simulated_readings():
    """Monte Carlo (JCGM 101:2008) of the same errors, by numpy: spread of what the analysis finds."""
    rng, found = np.random.default_rng(5), []
    result = analyse(decimals=None)
    for _ in range(1500):
        slopes = INCREMENTS
        true = GAPS + 1e-3 * rng.standard_normal(GAPS.size)
        volts = np.interp(true, np.r_[-1.0, GAPS, 4.0], np.r_[curve_of(slopes)[0] + 1.25 * 7.9, curve_of(slopes),
                                                             curve_of(slopes)[-1] - 1.75 * 7.6])  # fmt: skip
        volts *= 1.0 + 0.001 * rng.standard_normal()
        beside = volts / -7.87 - GAPS
        found.append(
            ((volts[-1] - volts[0]) / 2.0, np.polyfit(GAPS, volts, 1)[0], (volts[5] - volts[4]) / 0.25, volts[4],
             500.0 * np.ptp(beside))
        )  # fmt: skip
    *spread, of_line = np.std(found, axis=0)
    of = 7.87 / 100.0
    stated = (
        result.average.expanded.u * of,
        result.least_squares.expanded.u * of,
        result.increments[4].expanded.u * of,
        result.rest.expanded.u,
    )
    assert list(stated) == pytest.approx(spread, rel=0.08)
    # the largest of several deviations that are nearly alike scatters less than any one of them
    assert 0.7 * result.from_line["minimax"].expanded.u < of_line < 1.05 * result.from_line["minimax"].expanded.u


def test_a_micrometers_backlash_is_told_and_moves_no_increment():
    rising = curve_of(INCREMENTS)
    falling = curve_of(INCREMENTS, first=-1.9 - 7.87 * 0.004)[::-1]  # 4 um
    result = analyse_gap_curve(gap_case([rising, falling], gaps=[GAPS, GAPS[::-1]], direction=["rising", "falling"]))
    assert result.backlash.value == pytest.approx(0.004, rel=1e-9)
    assert result.backlash.significant
    assert len(result.increments) == 16
    assert result.worst_increment.deviation_pct == pytest.approx(WORST_PCT, rel=1e-9)
    assert result.least_squares.value == pytest.approx(-LEAST_SQUARES, rel=1e-12)
    assert result.from_line["minimax"].value_um == pytest.approx(MINIMAX_UM, rel=1e-9)
    assert "against rising ones" in compose_statement(result)


def test_both_ways_do_not_average_what_the_micrometer_is_off():
    both = gap_case([curve_of(INCREMENTS)] * 2, gaps=[GAPS, GAPS], direction=["rising", "falling"], decimals=None)
    alone = gap_case(curve_of(INCREMENTS), decimals=None)
    one, two = analyse_gap_curve(alone), analyse_gap_curve(both)
    assert two.average.expanded.u == pytest.approx(one.average.expanded.u, rel=1e-9)


def test_a_reversed_probe_fails_by_name():
    result = analyse_gap_curve(gap_case(curve_of(INCREMENTS, sign=1.0)))
    assert result.verdict == "fail" and result.is_reversed
    assert "the voltage moves the other way than stated" in card_text(card_of(result))
    assert "is reversed" in compose_statement(result)


def test_readings_finer_than_the_step_are_passed_over():
    fine = np.arange(0.25, 2.2501, 0.125)
    volts = np.interp(fine, GAPS, -curve_of(INCREMENTS)) * -1.0
    result = analyse_gap_curve(gap_case(volts, gaps=fine))
    assert [item.deviation_pct for item in result.increments] == pytest.approx(
        100.0 * (INCREMENTS / 7.87 - 1.0), abs=1e-9
    )


def test_a_wider_step_than_stated_is_not_judged():
    kept = np.delete(np.arange(9), 3)
    result = analyse_gap_curve(gap_case(curve_of(np.full(8, 7.87))[kept], gaps=GAPS[kept]))
    assert result.verdict == "not verified"
    assert any("without one between" in text for text in result.not_verified)


def test_a_range_that_was_not_read_is_not_verified():
    result = analyse_gap_curve(gap_case(curve_of(np.full(8, 7.87))[:7], gaps=GAPS[:7]))
    assert result.verdict == "not verified"
    assert "the readings only from 0.25 to 1.75" in result.not_verified[0]


def test_limits_hold_within_the_range_alone():
    probe = replace(PROBE, range=(0.25, 1.75))
    result = analyse(probe=probe)
    assert result.verdict == "pass"
    assert [item.verdict for item in result.increments] == ["pass"] * 6 + [None, None]
    assert result.average.value == pytest.approx(-INCREMENTS[:6].mean(), rel=1e-12)


@pytest.mark.parametrize(("gap", "word"), [(1.25, "pass"), (2.1, "fail")])
def test_the_rest_gap_is_judged(gap, word):
    result = analyse(probe=replace(PROBE, rest_gap=gap, range=(0.25, 1.75), rest_voltage=(-20.0, 0.0)))
    assert result.rest.gap_decision.verdict == word
    assert result.rest.voltage == pytest.approx(float(np.interp(gap, GAPS, curve_of(INCREMENTS))))


def test_a_rest_voltage_outside_its_limits_fails():
    result = analyse(np.full(8, 7.87), probe=replace(PROBE, rest_voltage=(-9.0, -8.0)))
    assert result.verdict == "fail"
    assert "the voltage at the rest gap is −9.77" in card_text(card_of(result))


def test_the_readouts_zero_cancels_in_differences_alone():
    plain = analyse(decimals=None)
    zero = analyse(decimals=None, readout=replace(READOUT, offset=Offset(expanded=0.1, unit=parse_unit("V dc"))))
    assert zero.average.expanded.u == pytest.approx(plain.average.expanded.u)
    assert zero.rest.expanded.u == pytest.approx(np.hypot(plain.rest.expanded.u, 0.05))


def test_another_unit_of_the_gap_is_the_same_curve():
    mil = analyse_gap_curve(gap_case(curve_of(INCREMENTS), gaps=GAPS / 0.0254, unit="mil"))
    assert mil.average.value == pytest.approx(-AVERAGE, rel=1e-12)
    probe = replace(PROBE, input_unit=parse_gap_unit("um"), nominal_sensitivity=-7.87e-3, range=(250.0, 2250.0),
                    step=250.0, rest_gap=1250.0)  # fmt: skip
    um = analyse_gap_curve(gap_case(curve_of(INCREMENTS), probe=probe))
    assert um.from_line["minimax"].value_um == pytest.approx(MINIMAX_UM, rel=1e-9)
    assert um.linear_range == pytest.approx((250.0, 1750.0))


def test_a_wide_uncertainty_is_no_pass_and_its_unit_is_told():
    case = gap_case(curve_of(np.full(8, 7.87)))
    coarse = replace(case.references[0], expanded_um=60.0)
    result = analyse_gap_curve(replace(case, references=(coarse,)))
    assert result.verdict == "not verified"
    assert [gate.gate for gate in result.gates] == ["uncertainty too large"]
    stated = replace(case.visit.decision, largest_u_share=0.05)
    share = analyse_gap_curve(replace(case, visit=replace(case.visit, decision=stated)))
    assert "%" in share.gates[0].found


def test_without_a_micrometer_nothing_is_verified():
    case = gap_case(curve_of(np.full(8, 7.87)))
    result = analyse_gap_curve(replace(case, references=()))
    assert result.verdict == "not verified"
    assert result.gates[0].found == "The visit names no reference for displacement"


def test_an_excluded_reading_that_a_pass_rests_on_is_told():
    volts = curve_of(np.full(8, 7.87))
    volts[-1] += 0.5
    result = analyse_gap_curve(gap_case(volts, exclude={10: "bumped"}, probe=replace(PROBE, range=(0.25, 2.0))))
    assert result.verdict == "pass"  # it lies outside the range
    within = analyse_gap_curve(gap_case(volts, exclude={10: "bumped"}))
    assert within.verdict == "not verified"


def test_a_channel_without_the_table_is_told_so():
    with pytest.raises(NothingToAnalyse, match="gap_curve"):
        analyse_gap_curve(gap_case(curve_of(INCREMENTS), probe=None))


def test_the_same_gap_twice_without_a_direction_is_told():
    twice = np.concatenate([GAPS, GAPS[::-1]])
    volts = np.concatenate([curve_of(INCREMENTS), curve_of(INCREMENTS)[::-1]])
    result = analyse_gap_curve(gap_case(volts, gaps=twice))
    assert result.average.value == pytest.approx(-AVERAGE)
    assert "give direction" in compose_statement(result)


@SHORT
@given(st.floats(0.2, 3.0), st.integers(0, 2**31))
def test_a_straight_probe_of_any_slope_is_found(factor, seed):
    gaps = np.sort(np.random.default_rng(seed).uniform(0.1, 3.0, 8))
    volts = -2.0 - 7.87 * factor * (gaps - gaps[0])
    probe = replace(PROBE, range=None, step=None, rest_gap=None, rest_voltage=None)
    result = analyse_gap_curve(gap_case(volts, gaps=gaps, probe=probe, decimals=None))
    assert result.average.value == pytest.approx(-7.87 * factor, rel=1e-9)
    assert result.least_squares.value == pytest.approx(-7.87 * factor, rel=1e-9)
    assert result.from_line["minimax"].value_um == pytest.approx(500.0 * abs(factor - 1.0) * np.ptp(gaps), abs=1e-6)
