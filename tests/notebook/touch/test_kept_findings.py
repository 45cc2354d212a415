"""Findings: kept in the visit's folder with words, differences and picture, never over an earlier one, opened again."""

from __future__ import annotations

import json
from random import Random

import pytest

from tests.notebook.touch.panels import linearity_panel, random_action
from vibcal_nb.records.findings.finding import NOT_A_VERDICT, findings_of, read_finding

PICTURE = "<svg xmlns='http://www.w3.org/2000/svg'><text>what if</text></svg>"
WORDS = {"do": "keep", "text": "clips <b>early</b>", "by": "A. Fitter", "picture": PICTURE}


@pytest.fixture
def visit(tmp_path):
    folder = tmp_path / "STG-1" / "2026-05-19"
    folder.mkdir(parents=True)
    return folder


def test_a_finding_is_kept_beside_earlier_ones_and_says_what_it_is(visit):
    panel = linearity_panel(visit)
    panel.do({"do": "set", "name": "tolerance_pct", "value": 0.7})
    panel.do({"do": "leave out", "row": 8, "reason": "cable moved"})
    for _ in range(2):
        panel.do(WORDS)
        assert (panel.said, panel.kept.endswith(NOT_A_VERDICT)) == ("", True)
    names = [f"STG-1-V11.linearity.as-found.{n}.{end}" for n in (1, 2) for end in ("json", "svg")]
    assert sorted(path.name for path in (visit / "findings").iterdir()) == names
    first = json.loads((visit / "findings" / names[0]).read_text(encoding="utf-8"))
    assert (first["finding"], first["by"], first["kind"]) == ("clips <b>early</b>", "A. Fitter", NOT_A_VERDICT)
    assert first["headline"] == "what if, not the record: fail | record: pass"
    assert first["differences"] == ["tolerance, ± %: 5 → 0.7", "row 8 left out: cable moved"]
    assert (visit / "findings" / names[1]).read_text(encoding="utf-8") == PICTURE
    assert [item.number for item in findings_of(visit)] == [1, 2]


def test_a_finding_is_opened_again_where_it_stood(visit):
    panel = linearity_panel(visit)
    panel.do({"do": "set", "name": "tolerance_pct", "value": 0.7})
    panel.do({"do": "leave out", "row": 8, "reason": "cable moved"})
    panel.do(WORDS)
    figure = panel.seen()["figure"]
    later = linearity_panel(visit)
    assert [item["number"] for item in later.seen()["findings"]] == [1]
    later.do({"do": "open", "finding": 1})
    assert (later.said, later.stand, later.seen()["figure"]) == ("", panel.stand, figure)
    later.do({"do": "undo"})
    assert later.outcome is later.record


def test_any_walk_is_opened_again_where_it_stood(visit):
    random = Random(7)
    for number in range(1, 6):
        panel = linearity_panel(visit)
        for _ in range(10):
            panel.do({**random_action(panel, random), "reason": "cable moved"})
        panel.do(WORDS)
        later = linearity_panel(visit)
        later.do({"do": "open", "finding": number})
        assert later.stand == panel.stand


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"text": " "}, "write down what you found"),
        ({"by": ""}, "write down who found it"),
        ({"picture": ""}, "picture is no SVG"),
        ({"picture": "<html/>"}, "picture is no SVG"),
        ({"picture": "<!DOCTYPE svg [<!ENTITY a 'b'>]>" + PICTURE}, "picture is no SVG"),
        ({"picture": PICTURE.replace("what if", "x" * 2_000_001)}, "larger than any"),
        ({"text": "x" * 20_001}, "20000 characters"),
    ],
)
def test_what_is_missing_or_not_of_this_software_is_told_and_nothing_is_kept(visit, change, said):
    panel = linearity_panel(visit)
    panel.do(WORDS | change)
    assert said in panel.said
    assert list(visit.iterdir()) == []


def test_readings_left_out_need_a_reason_before_a_finding_is_kept(visit):
    panel = linearity_panel(visit)
    panel.do({"do": "leave out", "row": 8, "reason": ""})
    panel.do(WORDS)
    assert "why row 8 is left out" in panel.said
    assert list(visit.iterdir()) == []


def test_half_a_character_from_a_browser_is_kept_as_a_mark(visit):
    panel = linearity_panel(visit)
    panel.do(WORDS | {"text": "clips \ud83d early"})
    (kept,) = findings_of(visit)
    assert kept.text.replace("\ufffd", "") == "clips  early" and kept.text.startswith("clips \ufffd")


def test_without_a_folder_nothing_is_kept():
    panel = linearity_panel(None)
    assert panel.fixed()["keeps"] is False
    panel.do(WORDS)
    assert "kept of a visit's readings alone" in panel.said


def test_a_folder_that_cannot_be_written_is_told(visit):
    (visit / "findings").write_text("a file", encoding="utf-8")
    panel = linearity_panel(visit)
    panel.do(WORDS)
    assert panel.said.startswith("Nothing was kept: ")
    panel.do({"do": "set", "name": "tolerance_pct", "value": 2.0})
    assert panel.said == ""


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("stand", "values"), {}),
        (("stand", "values", "tolerance_pct"), "wide"),
        (("stand", "values", "rule"), "kind"),
        (("stand", "left_out"), {"999": "cable moved"}),
        (("stand", "left_out"), ["8"]),
        (("stand", "taken_back"), None),
        (("stand",), {}),
    ],
)
def test_a_finding_that_was_edited_into_something_else_is_not_opened(visit, path, value):
    linearity_panel(visit).do(WORDS)
    (file,) = (visit / "findings").glob("*.json")
    data = json.loads(file.read_text(encoding="utf-8"))
    inner = data
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    file.write_text(json.dumps(data), encoding="utf-8")
    panel = linearity_panel(visit)
    panel.do({"do": "open", "finding": 1})
    assert panel.said
    assert panel.outcome is panel.record


@pytest.mark.parametrize("text", ["", "{", "[]", '{"schema": 2}', "\x00", "[" * 100_000])
def test_a_file_that_is_no_finding_is_passed_over(visit, text):
    linearity_panel(visit).do(WORDS)
    path = visit / "findings" / "STG-1-V11.linearity.as-found.2.json"
    path.write_text(text, encoding="utf-8")
    assert read_finding(path) is None
    assert [item["number"] for item in linearity_panel(visit).seen()["findings"]] == [1]
    linearity_panel(visit).do(WORDS)
    assert path.with_name("STG-1-V11.linearity.as-found.3.json").exists()
    assert path.read_text(encoding="utf-8") == text
