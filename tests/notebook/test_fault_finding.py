"""The fault-finding notebook's parts: what is said, drawn and kept follows the explanations and the choices."""

from __future__ import annotations

import json

import pytest

from tests.demo_site.truth import fault_of
from tests.support.places import DEMO
from vibcal_nb.analysis.faults.faults import explain_channel
from vibcal_nb.display.faults.fault_sentences import top_sentence
from vibcal_nb.display.faults.fault_sizes import sizes
from vibcal_nb.display.faults.fault_tables import ranking_table
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.channel_case import select_channel_case
from vibcal_nb.notebook.fault_finding import NOT_A_VERDICT, keep_finding, list_channels
from vibcal_nb.notebook.panels.fault_panel import FaultPanel

SITE = DEMO


def explained(visit: str, channel: str):
    folder = load_visit(SITE / channel[:5] / visit)
    return explain_channel(tuple(select_channel_case(folder, channel=channel, condition="as-found").tests.values()))


@pytest.mark.parametrize(
    ("visit", "channel", "parameter", "said"),
    [
        ("2025-04-29", "STG-1-V22", "clip", "clipping at 15 mm/s pk"),
        ("2026-05-19", "STG-1-V21", "high_hz", "upper corner 310"),
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


def test_choices_are_followed(tmp_path):
    channels = list_channels(SITE / "STG-1" / "2025-04-29")
    panel = FaultPanel(
        channels, first="2025-04-29 STG-1-V22 as-found", keep=lambda found, text, why: f"kept {text}, {why}"
    )
    assert "saturation" in panel.sentence.value
    picture = panel.picture.value
    panel.explanation.value = panel.found.explanations[1].name
    assert panel.picture.value != picture
    high = [r.row for r in panel.found.readings.readings if r.applied > 14 and r.test == "linearity"]
    panel.excluded.value = tuple(high)
    assert "saturation" not in panel.sentence.value
    panel.channel.value = "2026-05-19 STG-1-V21 as-found"
    assert "wrong filter" in panel.sentence.value
    panel.finding.value = "another filter"
    panel.reason.value = "cable touched"
    panel.save.click()
    assert "kept another filter, cable touched" in panel.kept.value


def test_a_finding_is_kept_beside_earlier_ones_and_says_what_it_is(tmp_path):
    found = explained("2025-04-29", "STG-1-V22")
    assert "Nothing was kept" in keep_finding(tmp_path, found, "  ")
    for text in ("clips <b>early</b>", "again"):
        assert NOT_A_VERDICT in keep_finding(tmp_path, found, text)
    kept = sorted((tmp_path / "STG-1" / "2025-04-29").iterdir())
    assert [path.name for path in kept] == [f"STG-1-V22.as-found.finding-{n}.json" for n in (1, 2)]
    first = json.loads(kept[0].read_text(encoding="utf-8"))
    assert first["finding"] == "clips <b>early</b>" and first["kind"] == NOT_A_VERDICT


def test_half_a_character_from_a_browser_is_kept_as_a_mark(tmp_path):
    found = explained("2025-04-29", "STG-1-V22")
    assert NOT_A_VERDICT in keep_finding(tmp_path, found, "clips \ud83d early \udca9", "\ud800")
    (kept,) = (tmp_path / "STG-1" / "2025-04-29").iterdir()
    said = json.loads(kept.read_text(encoding="utf-8"))["finding"]
    assert said.replace("\ufffd", "") == "clips  early " and said.startswith("clips \ufffd")


def test_readings_left_out_by_hand_need_a_reason_that_is_kept_with_the_finding(tmp_path):
    found = explained("2025-04-29", "STG-1-V22")
    row, test = found.readings.readings[0].row, found.readings.readings[0].test
    without = explain_channel([case.with_excluded({row}) for case in found.readings.cases])
    assert "why readings are left out" in keep_finding(tmp_path, without, "clips")
    assert list(tmp_path.iterdir()) == []
    assert NOT_A_VERDICT in keep_finding(tmp_path, without, "clips", "cable touched")
    (kept,) = (tmp_path / "STG-1" / "2025-04-29").iterdir()
    left_out = json.loads(kept.read_text(encoding="utf-8"))["left_out"]
    assert left_out == [{"row": row, "test": test, "reason": "cable touched"}]
