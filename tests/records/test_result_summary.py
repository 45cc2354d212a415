"""The summary that a record carries says the same as the result it stands in."""

from __future__ import annotations

import json

import pytest

from tests.support.places import DEMO
from tests.support.sites.examples import example_of
from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.analysis.drift.observations import covariance, observe
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.site.margins import worst_margin
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import list_cases, select_case
from vibcal_nb.records.perform.perform import perform
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.quantities.summary_check import is_entry, is_summary


def results(visit):
    folder = load_visit(DEMO / visit)
    for channel, test, condition in list_cases(folder):
        if test in ANALYSE:
            yield ANALYSE[test](select_case(folder, channel=channel, test=test, condition=condition))


@pytest.mark.parametrize("visit", ["STG-1/2026-05-19", "FDF-3/2026-05-05", "BFP-2/2026-04-21"])
def test_margin_and_verdict_agree(visit):
    """Simple acceptance: outside is a negative margin and a fail; guarded: a pass needs a margin above zero."""
    for result in results(visit):
        margin = worst_margin(result)
        assert (margin.margin_pct < 0.0) == (result.verdict in ("fail", "conditional fail")), result.case.channel.tag
        assert margin.margin_pct <= 100.0


def test_own_and_shared_uncertainty_make_up_the_whole():
    for result in results("STG-1/2026-05-19"):
        if result.case.test == "linearity":
            for item, observed in zip(result.frequencies, observe(result), strict=True):
                assert observed.u_pct == pytest.approx(item.line.deviation_expanded.u, rel=1e-12)
                assert sorted(observed.shared_pct) == [
                    "readout drift, DVM-26 of 2025-07-01",
                    "readout gain, DVM-26 of 2025-07-01",
                    "reference drift, REF-26 of 2025-07-01",
                    "reference level, REF-26 of 2025-07-01",
                    "temperature, STG-1 2026-05-19",
                ]


def test_what_two_tests_of_a_visit_share_is_their_covariance():
    found = [observe(result)[0] for result in results("STG-1/2026-05-19")][:2]
    matrix = covariance(found)
    shared = sum(found[0].shared_pct[name] * found[1].shared_pct[name] for name in found[0].shared_pct)
    assert matrix[0, 1] == matrix[1, 0] == pytest.approx(shared, rel=1e-12)
    assert matrix[0, 0] == pytest.approx(found[0].u_pct ** 2, rel=1e-12)


def test_the_summary_of_a_failing_channel():
    folder = load_visit(DEMO / "STG-1/2026-05-19")
    case = select_case(folder, channel="STG-1-V12", test="linearity", condition="as-found")
    summary = json.loads(json.dumps(result_entry(analyse_linearity(case)), allow_nan=False))["summary"]
    assert (summary["asset"], summary["visit"], summary["date"]) == ("STG-1", "2026-05-19", "2026-05-19")
    assert summary["worst"]["margin_pct"] < 0.0
    assert [item["id"] for item in summary["equipment"]] == ["REF-26", "DVM-26"]
    (sensitivity,) = summary["sensitivities"]
    assert sensitivity["name"] == "sensitivity at 50 Hz"
    assert [(s["rotor"], s["set_point"], s["level"]) for s in summary["set_points"]] == [
        ("turbine", "alert", 11.0),
        ("turbine", "trip", 18.0),
    ]
    assert all(s["max_applied"] > s["level"] for s in summary["set_points"])


@pytest.mark.parametrize("analysis", [*ANALYSE, "channel-verdict", "drift"])
def test_every_kind_of_result_is_in_the_form_that_the_register_takes(analysis):
    folder, channel = example_of(analysis, "STG-1-V11")
    entry = result_entry(perform(folder, channel=channel, analysis=analysis, condition="as-found"))
    assert is_entry(entry)
    assert is_summary(json.loads(json.dumps(entry["summary"])))
