"""Linearity from reading table to verdict: published non-linearities, facts of the trade, and laws."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.support.sites.plants import ASSET, build_site, linearity_rows
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.units import parse_unit


def case_of(rows, *, asset=ASSET):
    with tempfile.TemporaryDirectory() as folder:
        visit = load_visit(build_site(Path(folder), rows, asset=asset))
    return select_case(visit, channel="STG-1-V11", test="linearity", condition="as-found")


def analyse(rows, **how):
    return analyse_linearity(case_of(rows, **how))


def test_kinds_of_nonlinearity_on_the_square():
    """y = x^2 on 0, 1/4, ..., 1: 12.5, 25, 16.67 and 12.5 % (classical Chebyshev results; kinds of ISA-51.1).

    A direct output, of which the reading at no level belongs to the line.
    """
    rows = [f"STG-1-V11,linearity,as-found,50,{x},mm/s pk,{x * x},mV dc,,,," for x in (0, 0.25, 0.5, 0.75, 1.0)]
    line = analyse(rows, asset=ASSET.replace('"mV pk"', '"mV dc"', 1)).frequencies[0].line
    expected = {"independent": 12.5, "terminal-based": 25.0, "zero-based": 100 / 6, "least-squares": 12.5}
    assert line.nonlinearity_pct == pytest.approx(expected, abs=1e-9)


def test_three_percent_high_passes_five_percent():
    """A channel reading 103 mV/(in/s) against 100 +- 5 % passes, 3 % high (common practice, no source)."""
    asset = ASSET.replace('"mm/s pk"', '"in/s pk"', 1).replace("nominal_sensitivity = 4.0", "nominal_sensitivity = 100")
    rows = [row.replace("mm/s", "in/s") for row in linearity_rows((0.201, 0.502, 1.003, 2.001), gain=103.0)]
    result = analyse(rows, asset=asset)
    assert result.verdict == "pass"
    assert result.frequencies[0].line.deviation_pct == pytest.approx(3.0, abs=1e-3)


def test_six_percent_low_fails_and_says_so():
    entry = result_entry(analyse(linearity_rows(gain=3.76)))
    assert entry["verdict"] == "fail"
    assert "−6.0 ± 1.5 % from nominal" in entry["statement"]  # 0.94 of U = 1.6 %


@pytest.mark.parametrize("levels", [(2.0,), (2.0, 10.0), (2.0, 10.0, 10.1)])
def test_fewer_than_three_levels_are_not_verified(levels):
    entry = result_entry(analyse(linearity_rows(levels)))
    assert entry["verdict"] == "not verified"
    assert entry["quantities"][0]["sensitivity"] is None
    assert "3 are needed" in entry["quantities"][0]["undetermined"]["sensitivity"]


def test_slope_agrees_with_statsmodels():
    rows = linearity_rows((1.0, 3.0, 7.0, 12.0, 20.0))
    line = analyse(rows).frequencies[0].line
    # no x uncertainty in this reference: the resolution of x is far below that of the settling
    other = sm.WLS(line.fit.y, sm.add_constant(line.fit.x), weights=1 / line.fit.u_y**2).fit()
    assert line.sensitivity == pytest.approx(other.params[1], rel=1e-6)
    assert line.intercept == pytest.approx(other.params[0], abs=1e-4)


def test_the_uncertainty_falls_only_to_the_common_floor():
    few = analyse(linearity_rows((2, 5, 10, 15, 20))).frequencies[0].line
    rows = [row[:-2] + f"{n},," for n in range(1, 11) for row in [r[:-1] for r in linearity_rows((2, 5, 10, 15, 20))]]
    rows = [
        f"STG-1-V11,linearity,as-found,50,{x},mm/s pk,{4.05 * x * (1 + 0.002 * ((-1) ** n)):.3f},mV pk,,{n},,"
        for n in range(1, 11)
        for x in (2, 5, 10, 15, 20)
    ]
    many = analyse(rows).frequencies[0].line
    common = few.budget.common_uncertainty
    assert many.budget.independent_uncertainty < 0.5 * few.budget.independent_uncertainty
    assert common <= many.budget.combined_standard_uncertainty < few.budget.combined_standard_uncertainty
    assert many.budget.common_uncertainty == pytest.approx(common, rel=1e-3)


def test_pick_up_and_saturation_are_remarked():
    levels = np.array([1.0, 2.0, 5.0, 10.0, 15.0, 20.0])
    rows = [f"STG-1-V11,linearity,as-found,50,{x},mm/s pk,{4 * x + 0.6:.3f},mV pk,,,," for x in levels]
    assert "something adds to the signal" in result_entry(analyse(rows))["statement"]
    rows = [f"STG-1-V11,linearity,as-found,50,{x},mm/s pk,{4 * x - 0.006 * x * x:.4f},mV pk,,,," for x in levels]
    assert "sags towards the top" in result_entry(analyse(rows))["statement"]


def test_hysteresis_compares_rising_with_falling():
    rows = [
        f"STG-1-V11,linearity,as-found,50,{x},mm/s pk,{4 * x + shift},mV pk,{way},,,"
        for way, shift in (("rising", 0.0), ("falling", 0.4))
        for x in (5, 10, 15, 20)
    ]
    line = analyse(rows).frequencies[0].line
    assert line.hysteresis_pct == pytest.approx(100 * 0.4 / line.span, rel=1e-9)


def test_a_dead_channel_fails_without_a_traceback():
    rows = [f"STG-1-V11,linearity,as-found,50,{x},mm/s pk,0.0,mV pk,,,," for x in (5, 10, 20)]
    assert result_entry(analyse(rows))["verdict"] == "fail"


SLOW = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
OUTPUTS = st.lists(st.floats(0.97, 1.03), min_size=5, max_size=5)


def rows_with(errors):
    levels = (2.0, 5.0, 10.0, 15.0, 20.0)
    return [
        f"STG-1-V11,linearity,as-found,50,{x},mm/s pk,{4 * x * e:.4f},mV pk,,,,"
        for x, e in zip(levels, errors, strict=True)
    ]


@SLOW
@given(OUTPUTS, st.permutations(range(5)))
def test_row_order_changes_nothing(errors, order):
    rows = rows_with(errors)
    first, second = analyse(rows), analyse([rows[i] for i in order])
    assert second.frequencies[0].line.sensitivity == pytest.approx(first.frequencies[0].line.sensitivity, rel=1e-9)
    assert second.verdict == first.verdict


@SLOW
@given(OUTPUTS)
def test_an_excluded_reading_changes_nothing(errors):
    case = case_of(rows_with(errors))
    wild = replace(case.readings[0], row=99, output=1e4, exclude="knocked")
    first, second = analyse_linearity(case), analyse_linearity(replace(case, readings=(*case.readings, wild)))
    assert second.frequencies[0].line.sensitivity == first.frequencies[0].line.sensitivity
    assert second.verdict == first.verdict
    assert len(second.frequencies[0].points) == 6


@SLOW
@given(OUTPUTS)
def test_units_change_nothing(errors):
    case = case_of(rows_with(errors))
    inch = parse_unit("in/s rms")
    factor = 25.4 * np.sqrt(2)
    other = replace(
        case,
        readings=tuple(
            replace(r, applied=r.applied / factor, applied_unit=inch, applied_decimals=None) for r in case.readings
        ),
    )
    bare = replace(case, readings=tuple(replace(r, applied_decimals=None) for r in case.readings))
    first, second = analyse_linearity(bare).frequencies[0].line, analyse_linearity(other).frequencies[0].line
    assert second.sensitivity == pytest.approx(first.sensitivity, rel=1e-9)
    assert pytest.approx(first.expanded.U, rel=1e-6) == second.expanded.U


def test_a_clipped_top_does_not_blur_the_nonlinearity_it_causes():
    rows = linearity_rows((2.0, 5.0, 9.0, 14.0, 18.0), gain=4.0)
    straight = analyse([*rows, *linearity_rows((20.0,), gain=4.0)]).frequencies[0].line
    clipped = analyse([*rows, *linearity_rows((20.0,), gain=3.4)]).frequencies[0].line
    assert clipped.widened
    assert clipped.nonlinearity_pct["independent"] > 2.0
    assert clipped.nonlinearity_expanded.U < 2.0 * straight.nonlinearity_expanded.U
