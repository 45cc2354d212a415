"""From equipment, visit and readings to the uncertainty that a verdict states, and what it says of the equipment."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from tests.support.places import DEMO
from tests.support.sites.plants import EQUIPMENT, VISIT, build_site, linearity_rows
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.display.results.budget import budget_table
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.display.results.tables import summary_table
from vibcal_nb.display.results.verdict_html import verdict_reasons_html
from vibcal_nb.display.writing.numbers import freedom
from vibcal_nb.inputs.load_visits import find_visits, load_visit
from vibcal_nb.metrology.conformity.decision import PASSING
from vibcal_nb.model.case import list_cases, select_case
from vibcal_nb.model.names import GAP_CURVE
from vibcal_nb.problems import InputRefused

SITE = DEMO
OVER_FREQUENCY = [test for test in ANALYSE if test != GAP_CURVE]  # nothing vibrates in that one


def rows_of(test):
    if test == "linearity":
        return linearity_rows()
    nominal, units = (5.0, ("m/s2 pk", "pC pk")) if test == "sensor-alone" else (4.0, ("mm/s pk", "mV pk"))
    return [
        f"STG-1-V11,{test},as-found,{hz},10.00,{units[0]},{10 * nominal:.2f},{units[1]},,,,"
        for hz in (20, 40, 80, 120, 200)
    ]


def analyse(tmp_path, test="linearity", *, rows=None, **files):
    folder = build_site(tmp_path, rows_of(test) if rows is None else rows, **files)
    return ANALYSE[test](select_case(load_visit(folder), channel="STG-1-V11", test=test, condition="as-found"))


# --- equipment ---


@pytest.mark.parametrize("test", OVER_FREQUENCY)
@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("due = 2027-01-10", "due = 2026-05-18"), "The certificate of REF-1 had run out on 2026-05-18, 1 day before"),
        (("from_hz = 5", "from_hz = 60"), " Hz lie outside the certificate of REF-1, which covers 60 to 10000 Hz"),
        (("calibrated = 2026-01-10", "calibrated = 2026-05-20"), "REF-1 was calibrated on 2026-05-20, after the visit"),
    ],
)
def test_the_verdict_says_what_is_wrong_with_the_equipment(tmp_path, test, change, said):
    result = analyse(tmp_path, test, equipment=EQUIPMENT.replace(*change))
    assert said in compose_statement(result)
    assert said in verdict_reasons_html(result)
    assert result.verdict not in PASSING


@pytest.mark.parametrize("test", OVER_FREQUENCY)
def test_equipment_due_on_the_day_of_the_visit_is_not_overdue(tmp_path, test):
    result = analyse(tmp_path, test, equipment=EQUIPMENT.replace("due = 2027-01-10", "due = 2026-05-19"))
    assert result.gates == ()
    assert "run out" not in compose_statement(result)


# --- common and independent ---


def levels(count):
    return [f"{x:.6f}" for x in np.geomspace(2.0, 20.0, count)]


def test_ten_times_the_readings_bring_the_uncertainty_only_to_the_common_floor(tmp_path):
    few, many = (
        analyse(tmp_path / str(count), rows=linearity_rows([float(x) for x in levels(count)])).frequencies[0].line
        for count in (5, 50)
    )
    floor = few.budget.common_uncertainty
    assert many.budget.common_uncertainty == pytest.approx(floor, rel=1e-4)  # outputs are typed to three decimals
    # the independent part falls as 1/sqrt(10); levels that are closer together spread a little less
    ratio = few.budget.independent_uncertainty / many.budget.independent_uncertainty
    assert ratio == pytest.approx(math.sqrt(10.0), rel=0.15)
    assert floor < many.deviation_expanded.u < few.deviation_expanded.u
    assert many.deviation_expanded.u == pytest.approx(floor, rel=0.005)
    assert many.deviation_expanded.U > 0.9 * few.deviation_expanded.U


# --- what a visit states ---


@pytest.mark.parametrize(
    ("stated", "divisor"),
    [
        ('distribution = "rectangular"', math.sqrt(3.0)),  # JCGM 100:2008, 4.3.7
        ('distribution = "triangular"', math.sqrt(6.0)),  # 4.3.9
        ('distribution = "arcsine"', math.sqrt(2.0)),  # H.1.3.4
        ('distribution = "trapezoidal"\ndivisor = 2.19', 2.19),  # 4.3.9, beta = 1/2: sqrt(6/(1 + 1/4)) = 2.19
        ('distribution = "normal"\ndivisor = 2', 2.0),
        ('distribution = "normal"', 1.0),
    ],
)
def test_a_visit_states_a_contribution_of_any_distribution(tmp_path, stated, divisor):
    visit = f'{VISIT}[contributions.mounting]\nvalue_pct = 0.6\nsource = "trial"\n{stated}\n'
    budget = analyse(tmp_path, visit=visit).frequencies[0].line.budget
    mounting = next(line for line in budget.lines if line.name == "mounting")
    assert mounting.standard_uncertainty == pytest.approx(0.6 / divisor, rel=1e-3)
    assert mounting.source == "trial"


@pytest.mark.parametrize(
    ("stated", "remedy"),
    [
        ('distribution = "trapezoidal"', "from 1.732 (a rectangle) to 2.449 (a triangle)"),
        ('distribution = "trapezoidal"\ndivisor = 3.0', "from 1.732 (a rectangle) to 2.449 (a triangle)"),
        ('distribution = "rectangular"\ndivisor = 2.0', "1.732"),
        ('distribution = "parabolic"', "arcsine"),
    ],
)
def test_a_contribution_that_cannot_be_is_refused_with_the_file(tmp_path, stated, remedy):
    folder = build_site(
        tmp_path, rows_of("linearity"), visit=f"{VISIT}[contributions.mounting]\nvalue_pct = 0.6\n{stated}\n"
    )
    with pytest.raises(InputRefused) as refusal:
        load_visit(folder)
    assert len(refusal.value.problems) == 1
    assert "visit.toml" in str(refusal.value)
    assert remedy in str(refusal.value)


def test_a_visit_states_the_coverage_probability(tmp_path):
    plain = analyse(tmp_path / "plain").frequencies[0].line
    wider = analyse(tmp_path / "wide", visit=f"{VISIT}[decision]\ncoverage_probability = 0.9545\n")
    line = wider.frequencies[0].line
    assert line.expanded.k == pytest.approx(2.0, abs=1e-3)  # JCGM 100:2008, Table G.1
    assert pytest.approx(2.0 / 1.96, rel=1e-3) == line.expanded.U / plain.expanded.U
    assert all(p.expanded.k == line.expanded.k for p in wider.frequencies[0].points)
    assert "(k = 2.00," in compose_statement(wider)


def test_a_rectangle_that_dominates_gives_k_and_the_record_says_so(tmp_path):
    """EA-4/02 M:2022, S9: k near 1.65 of the rectangle, 1.96 of a normal distribution."""
    visit = f'{VISIT}[contributions.adapter]\nvalue_pct = 6.0\ndistribution = "rectangular"\n'
    result = analyse(tmp_path, visit=visit)
    line = result.frequencies[0].line
    assert line.expanded.dominated_by == "adapter"
    assert 1.64 < line.expanded.k == line.deviation_expanded.k < 1.73
    assert line.expanded.k * line.expanded.u == line.expanded.U
    assert "(k = 1.70 of a rectangular distribution, adapter)" in compose_statement(result)
    table = budget_table(line.budget, caption="budget").to_text()
    assert "k = 1.70 of a rectangular distribution: adapter dominates (EA-4/02 M:2022, S9)" in table


# --- digits ---


def test_every_uncertainty_has_two_digits_and_every_value_ends_with_it():
    """JCGM 100:2008, 7.2.6, in every statement and summary of the demo site."""
    found = 0
    for path in find_visits(SITE):
        visit = load_visit(path)
        for channel, test, condition in list_cases(visit):
            if test not in ANALYSE:
                continue
            result = ANALYSE[test](select_case(visit, channel=channel, test=test, condition=condition))
            shown = compose_statement(result) + summary_table(result).to_text()
            for value, uncertainty in re.findall(r"([\d.]+) ± ([\d.]+)(?= )", shown.replace("limit ± ", "")):
                digits = uncertainty.replace(".", "").lstrip("0")
                assert len(digits) == 2 or (len(digits) > 2 and "." not in uncertainty), (value, uncertainty)
                assert len(value.partition(".")[2]) == len(uncertainty.partition(".")[2]), (value, uncertainty)
                found += 1
    assert found > 500


def test_corners_and_flatness_carry_k_and_degrees_of_freedom():
    visit = load_visit(SITE / "STG-1" / "2026-05-19")
    case = select_case(visit, channel="STG-1-V11", test="band-response", condition="as-found")
    result = analyse_band_response(case)
    for side in ("low", "high"):
        expanded, interval = result.fit.corners[side].expanded, result.fit.corners[side].interval_hz
        corner = result.fit.corners[side].hz
        assert expanded.nu == math.inf and result.fit.fitness.degrees_of_freedom == len(case.readings) - 3
        assert expanded.k * expanded.u == expanded.U
        assert interval == pytest.approx((corner * math.exp(-expanded.U), corner * math.exp(expanded.U)), rel=1e-12)
        wider = analyse_band_response(
            replace(case, visit=replace(visit.visit, decision=replace(visit.visit.decision, coverage_probability=0.99)))
        )
        assert wider.fit.corners[side].expanded.k > expanded.k
    table = summary_table(result).to_text()
    assert re.search(r"lower corner, fitted .* U = [\d.]+ % \(k = 1\.96, ∞ degrees of freedom\)", table)
    assert re.search(r"worst in the flat part .* ± .* \(k = 1\.96, ∞ degrees of freedom\)", table)


@pytest.mark.parametrize(("nu", "text"), [(math.inf, "∞"), (2.84e6, "> 1000"), (22.0, "22"), (7.46, "7.46")])
def test_degrees_of_freedom_are_written_as_far_as_they_matter(nu, text):
    assert freedom(nu) == text
