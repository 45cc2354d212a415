"""The fault-finding notebook's parts: what is said, drawn and kept follows the explanations and the choices."""

from __future__ import annotations

import pytest

from tests.demo_site.truth import fault_of
from tests.support.places import DEMO
from vibcal_nb.analysis.faults.faults import explain_channel
from vibcal_nb.display.faults.fault_sentences import top_sentence
from vibcal_nb.display.faults.fault_sizes import sizes
from vibcal_nb.display.faults.fault_tables import ranking_table
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.channel_case import select_channel_case
from vibcal_nb.notebook.fault_finding import list_channels
from vibcal_nb.notebook.panels.fault_panel import FaultPanel
from vibcal_nb.notebook.touch.faults import FaultSubject
from vibcal_nb.notebook.touch.panel import TouchPanel

SITE = DEMO


def explained(visit: str, channel: str):
    folder = load_visit(SITE / channel[:5] / visit)
    return explain_channel(tuple(select_channel_case(folder, channel=channel, condition="as-found").tests.values()))


@pytest.mark.parametrize(
    ("visit", "channel", "parameter", "said"),
    [
        ("2025-04-29", "STG-1-V22", "clip", "clipping at 15 mm/s pk"),
        ("2026-05-19", "STG-1-V21", "high_hz", "upper corner 311.3 Hz (± 7 %)"),
        ("2026-05-19", "STG-1-V12", "module_factor", "module −6.9 ±"),
        ("2024-05-07", "FDF-3-V22", "bypassed", "no upper corner: filter bypassed"),
    ],
)
def test_sizes_are_those_of_the_truth(visit, channel, parameter, said):
    fault = fault_of(visit, channel)
    assert parameter in fault.changes
    found = explained(visit, channel)
    assert said in sizes(found, found.top)
    assert found.top.name in top_sentence(found)


def test_the_ranking_says_what_cannot_be_told_apart():
    found = explained("2025-06-17", "FDF-3-V12")
    first = ranking_table(found).rows[0].cells
    assert first[0] == "noise floor" and "mains pick-up" in first[4]


V22 = "STG-1 · STG-1-V22 · 2025-04-29 · as found"
V21 = "STG-1 · STG-1-V21 · 2026-05-19 · as found"


@pytest.fixture(scope="module")
def listed():
    """Channels of the site, of visits to which nothing is written."""
    return {name: (SITE / "nowhere", load) for name, (_, load) in list_channels(SITE / "STG-1" / "2025-04-29").items()}


def test_choices_are_followed(listed):
    chosen = FaultPanel(listed, first=V22)
    panel = chosen.panel
    record = panel.outcome.answer
    assert record.startswith("saturation (")
    drawn = panel.seen()["figure"]
    other = panel.result.explanations[1].name
    panel.do({"do": "set", "name": "explanation", "value": other})
    assert panel.seen()["figure"] != drawn
    assert panel.seen()["differences"] == [f"explanation drawn: the likeliest → {other}"]
    for row in [r.row for r in panel.result.readings.readings if r.applied > 14 and r.test == "linearity"]:
        panel.do({"do": "leave out", "row": row, "reason": "cable touched"})
    assert panel.said == ""
    assert "saturation" not in panel.outcome.answer
    assert panel.seen()["headline"].endswith(f"| record: {record}")
    chosen.channel.value = V21
    assert "wrong filter" in chosen.panel.outcome.answer
    assert chosen.panel.exploration.is_record


def test_the_newest_visit_of_each_channel_stands_first(listed):
    names = list(listed)
    of_v22 = [name for name in names if "STG-1-V22" in name]
    assert len(of_v22) >= 3
    assert of_v22 == sorted(of_v22, key=lambda name: name.split(" · ")[2], reverse=True)


def test_a_plain_click_on_a_reading_that_the_file_leaves_out_changes_no_diagnosis():
    """An excluded reading that is used again by mistake turned saturation into cable strain."""
    folder = load_visit(SITE / "STG-1" / "2025-04-29")
    tests = select_channel_case(folder, channel="STG-1-V22", condition="as-found").tests.values()
    row = next(r.row for case in tests if case.test == "linearity" for r in case.readings if r.applied > 14)
    panel = TouchPanel(FaultSubject(tuple(case.with_excluded({row}) for case in tests)))
    before = panel.outcome.answer
    for action in ("take back", "leave out", "take back"):
        panel.do({"do": action, "row": row})
        assert panel.outcome is panel.record
    assert panel.outcome.answer == before
    assert panel.said.startswith(f"Row {row} is left out by the file")


def test_every_reading_is_a_mark_that_is_named_and_a_row_of_the_table():
    found = explained("2025-04-29", "STG-1-V22")
    seen = TouchPanel(FaultSubject(found.readings.cases)).seen()
    rows = {r.row for case in found.readings.cases for r in case.readings}
    marked = {row for pane in seen["figure"]["panes"] for item in pane["items"] for row in item.get("rows", [])}
    assert marked == {item["row"] for item in seen["readings"]} == rows
