"""A channel's history under a hand: visits left out, interval and probability changed, and all of it taken back."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.places import DEMO
from vibcal_nb.notebook.touch.drifting import DriftSubject
from vibcal_nb.notebook.touch.panel import TouchPanel
from vibcal_nb.records.perform.history import analyse_history, read_history
from vibcal_nb.records.quantities.result_entry import result_entry


@pytest.fixture(scope="module")
def history():
    return read_history(DEMO / "STG-1" / "2026-05-19", channel="STG-1-V22")


@pytest.fixture(scope="module")
def result(history):
    return analyse_history(history)


@pytest.fixture
def panel(history, result):
    return TouchPanel(DriftSubject(history, result))


def test_each_visit_is_a_row_and_its_observations_are_marks(panel, history):
    seen = panel.seen()
    rows = {item["row"]: item["label"] for item in seen["readings"]}
    assert sorted(rows.values()) == ["visit 2024-05-21", "visit 2025-04-29", "visit 2026-05-19"]
    marked = [row for pane in seen["figure"]["panes"] for item in pane["items"] for row in item.get("rows", [])]
    assert set(marked) == set(rows)
    assert len(marked) == len(history.observations)


def test_a_visit_that_is_left_out_takes_no_part(panel, history):
    first = min(item["row"] for item in panel.seen()["readings"])
    panel.do({"do": "leave out", "row": first, "reason": "another reference"})
    assert panel.seen()["differences"] == ["visit 2024-05-21 left out: another reference"]
    later = tuple(item for item in history.observations if item.visit != "2024-05-21")
    assert result_entry(panel.result) == result_entry(analyse_history(replace(history, observations=later)))
    panel.do({"do": "take back", "row": first})
    assert panel.outcome is panel.record


def test_a_longer_interval_asks_for_more_and_the_last_visit_stays(panel):
    panel.do({"do": "set", "name": "current_months", "value": 36.0})
    assert panel.seen()["headline"] == "what if, not the record: fail | record: pass"
    rows = [item["row"] for item in panel.seen()["readings"]]
    for row in rows:
        panel.do({"do": "leave out", "row": row, "reason": "another reference"})
    assert panel.said == "A drift needs a visit at least; take one back first."
    assert len(panel.stand.left_out) == len(rows) - 1


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("longest_months", 0.5, "give 1 at least"),
        ("conformity_level", 100.0, "give 99.9 at most"),
        ("target_reliability", 0.0, "too small"),
    ],
)
def test_what_cannot_be_used_is_told(panel, name, value, said):
    panel.do({"do": "set", "name": name, "value": value})
    assert said in panel.said
    assert panel.outcome is panel.record
