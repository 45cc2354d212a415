"""Drift of the demo site's channels, whose physics is known, and of made-up histories."""

from __future__ import annotations

import ast
from dataclasses import replace
from datetime import date

import nbformat
import numpy as np
import pytest

from tests.support.analyses.drift import analyse, yearly
from tests.support.places import ROOT
from tests.support.published.kcdb_v_k1 import observation
from tests.support.sites.plants import build_site, linearity_rows
from vibcal_nb.display.drift.drift_statements import word_drift
from vibcal_nb.display.drift.drift_tables import changes_table, intervals_table, trend_table
from vibcal_nb.display.results.figures import result_picture
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.inputs.earlier_visits import earlier_visits, load_history
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.notebook.drift import open_history
from vibcal_nb.problems import NothingToAnalyse, ParameterError
from vibcal_nb.records.analyses import analysis_named
from vibcal_nb.records.inputs_used.present import PresentInputs
from vibcal_nb.records.perform.differences import list_differences
from vibcal_nb.records.perform.history import USUAL, analyse_history, read_history
from vibcal_nb.records.perform.perform import perform
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.seal.record_content import MIME_TYPE as RESULT_TYPE

STG = ROOT / "data_demo" / "STG-1" / "2026-05-19"


def test_as_found_is_held_against_the_previous_as_left():
    """The gain found 7 % low in 2026 was mended: the drift is from 2025 to as found, the mending is an adjustment."""
    result = analyse_history(read_history(STG, channel="STG-1-V12"))
    (item,) = [q for q in result.quantities if q.quantity == "sensitivity at 50 Hz"]
    assert [c.significant for c in item.changes] == [False, True]
    assert [(c.before.condition, c.after.condition) for c in item.adjustments] == [("as-found", "as-left")]
    assert item.changes[-1].change_pct == pytest.approx(-7.4, abs=0.5)
    assert item.stable_pct[-1] == item.observations[2].deviation_pct
    assert item.trend.steady is False
    assert item.date is None
    assert "not follow one steady drift" in item.undetermined["conformity date"]
    assert "Eₙ = −4.77" in compose_statement(result)


def test_after_an_adjustment_the_next_visit_is_compared_with_as_left():
    rows = yearly([0.0, 4.0])
    rows.append(replace(observation(0.1, day=date(2021, 5, 1)), condition="as-left"))
    rows.append(observation(4.2, day=date(2022, 5, 1)))
    (item,) = analyse(rows).quantities
    assert [round(c.change_pct, 9) for c in item.changes] == [4.0, 4.1]
    assert item.stable_pct == pytest.approx((0.0, 4.0, 8.1))
    assert item.trend.slope == pytest.approx(4.05, abs=0.02)
    assert item.trend.stretch == (0, 0, 1, 1)


def test_a_steady_drift_has_a_date_and_a_verdict():
    soon = analyse(yearly([0.0, 1.2, 2.4, 3.6], u_own=0.2))
    assert soon.verdict == "fail"
    assert 0.3 < soon.quantities[0].date.years < 1.0
    later = analyse(yearly([0.0, 0.1, 0.2, 0.3, 0.4], u_own=0.1))
    assert later.verdict == "pass"
    assert "stays within ± 5 % with 95 % for 10 years" in word_drift(later).findings[-1]


def test_one_visit_shows_no_drift_and_says_so():
    result = analyse(yearly([0.4]))
    assert result.verdict == "not verified"
    assert "one visit shows no drift" in word_drift(result).gaps[0]
    assert [p.months for p in result.quantities[0].proposals] == [18.0, None]


def test_the_order_of_the_observations_is_free():
    rows = yearly([0.0, 0.5, 0.7, 1.2])
    one, other = analyse(rows), analyse(rows[::-1])
    assert one.quantities[0].trend.slope == other.quantities[0].trend.slope


def test_reliability_counts_like_channels_that_were_good_before():
    like = [yearly([0.0, 1.0, 6.0, 0.5]), yearly([0.0, 0.0])]
    found = analyse(yearly([0.0, 1.0]), like=like).reliability
    assert (found.out, found.years.size) == (1, 3)  # what was found out is not counted on from


@pytest.mark.parametrize("channel", ["STG-1-V11", "STG-1-V12", "STG-1-V21", "STG-1-V22"])
def test_tables_have_a_cell_for_every_heading(channel):
    result = analyse_history(read_history(STG, channel=channel))
    for table in (changes_table(result), trend_table(result), intervals_table(result)):
        assert table.rows
        assert {len(row.cells) for row in table.rows} == {len(table.headings)}


def test_the_notebook_as_it_stands_is_what_is_performed_again():
    notebook = nbformat.read(ROOT / "notebooks" / "drift_and_interval.ipynb", as_version=4)
    (cell,) = [c for c in notebook.cells if "parameters" in c.metadata.get("tags", [])]
    stated = {node.target.id: node.value.value for node in ast.parse(cell.source).body}
    steps = USUAL.steps
    assert (stated["interval_months"], stated["extend_months"]) == (steps.current_months, steps.extend_months)
    assert (stated["shorten_months"], stated["longest_months"]) == (steps.shorten_months, steps.longest_months)
    assert (stated["inner_pct"], stated["conformity_level"]) == (USUAL.inner_pct, USUAL.conformity_level)
    assert stated["target_reliability"] == USUAL.target_reliability
    (kept,) = [o.data for c in notebook.cells for o in c.get("outputs", []) if RESULT_TYPE in o.get("data", {})]
    entry = kept[RESULT_TYPE]
    again = result_entry(perform(load_visit(STG), channel=stated["channel"], analysis="drift", condition="as-found"))
    assert list_differences(entry, again) == []


def test_parameters_are_checked():
    good = {
        "visit_folder": str(STG),
        "channel": "STG-1-V11",
        "condition": "as-found",
        "interval_months": 12,
        "extend_months": 6.0,
        "shorten_months": 6.0,
        "longest_months": 36.0,
        "inner_pct": 80.0,
        "conformity_level": 0.95,
        "target_reliability": 0.9,
    }
    assert open_history(good).settings.target_reliability == 0.9
    for wrong, said in (
        ({"chanel": "x"}, "no parameter 'chanel'"),
        ({"channel": 3}, "channel is 3; give a text"),
        ({"conformity_level": 95.0}, "between 0 and 1"),
        ({"interval_months": "12"}, "give a number above 0"),
        ({"longest_months": 0.5}, "give more"),
    ):
        with pytest.raises(ParameterError, match=said):
            open_history({**good, **wrong})
    with pytest.raises(NothingToAnalyse, match="no channel 'V9'"):
        open_history({**good, "channel": "V9"})


def test_a_visit_alone_gives_no_drift_record_and_a_later_one_does(tmp_path):
    first = build_site(tmp_path, linearity_rows())
    assert analysis_named("drift").cases(load_visit(first)) == []
    second = first.with_name("2027-05-20")
    second.mkdir()
    (second / "readings.csv").write_bytes((first / "readings.csv").read_bytes())
    text = (first / "visit.toml").read_text(encoding="utf-8").replace("2026-05-19", "2027-05-20")
    (second / "visit.toml").write_text(text, encoding="utf-8")
    visit = load_visit(second)
    assert analysis_named("drift").cases(visit) == [("STG-1-V11", "as-found")]
    assert earlier_visits(visit) == [first]
    stated = PresentInputs().statement(second, channel="STG-1-V11", analysis="drift", condition="as-found")
    assert [item["name"] for item in stated["visits"]] == ["2027-05-20", "2026-05-19"]
    history = load_history(second, channel="STG-1-V11")
    assert [v.visit.date.year for v in history] == [2026, 2027]
    (item,) = analyse_history(read_history(second, channel="STG-1-V11")).quantities
    (change,) = item.changes
    assert change.E_n == 0.0
    assert change.removed == (
        "readout drift, DVM-1 of 2026-01-10",
        "readout gain, DVM-1 of 2026-01-10",
        "reference drift, REF-1 of 2026-01-10",
        "reference level, REF-1 of 2026-01-10",
    )


def test_the_last_digits_of_a_fit_change_no_pixel():
    """LAPACK's last digits depend on where an array happens to lie, and the figure is part of the record."""
    result = analyse_history(read_history(STG, channel="STG-1-V11"))
    rng = np.random.default_rng(5)

    def nearly(item):
        noise = 1.0 + rng.uniform(-1e-12, 1e-12, 4)
        found = item.date and replace(item.date, years=item.date.years and item.date.years * noise[0])
        trend = item.trend and replace(
            item.trend,
            levels=item.trend.levels * noise[1],
            slope=item.trend.slope * noise[2],
            covariance=item.trend.covariance * noise[3],
        )
        return replace(item, date=found, trend=trend)

    assert any(item.trend is not None for item in result.quantities)
    again = replace(result, quantities=tuple(nearly(item) for item in result.quantities))
    assert result_picture(again).svg == result_picture(result).svg


def test_what_rounding_leaves_of_no_drift_is_kept_as_none():
    """Each run leaves other digits of a rate that is nought, and a record that holds them cannot be performed again."""
    result = analyse(yearly([1.0, 1.0, 1.0]))
    (item,) = result.quantities
    left = replace(item, trend=replace(item.trend, slope=1.9e-17, chi_squared=4e-31))
    (kept,) = analysis_named("drift").quantities(replace(result, quantities=(left,)))["drift"]
    assert (kept["rate_pct_per_year"], kept["chi_squared"]) == (0.0, 0.0)
    assert [change["change_pct"] for change in kept["changes"]] == [0.0, 0.0]
    small = replace(item, trend=replace(item.trend, slope=1e-6 * item.trend.u_slope))
    (kept,) = analysis_named("drift").quantities(replace(result, quantities=(small,)))["drift"]
    assert kept["rate_pct_per_year"] == pytest.approx(1e-6 * item.trend.u_slope, rel=1e-7)
