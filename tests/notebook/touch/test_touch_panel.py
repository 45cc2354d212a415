"""The panel behind a touchable figure: each action changes what it should, on a copy; the verdict follows."""

from __future__ import annotations

import json
import math
from random import Random

import pytest

from tests.notebook.touch.panels import random_action
from tests.support.running.panels import VISIT
from tests.support.sites.examples import example_of
from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.analysis.relay.set_points import analyse_set_points
from vibcal_nb.display.results.tables import summary_table
from vibcal_nb.display.results.verdict_html import verdict_reasons_html
from vibcal_nb.model.case import EXPLORATION, select_case
from vibcal_nb.model.names import GAP_CURVE, SET_POINT, SET_POINTS
from vibcal_nb.notebook.frame.interactive import is_interactive
from vibcal_nb.notebook.panels.what_if import applied_limits
from vibcal_nb.notebook.touch.explored import ResultSubject, explored
from vibcal_nb.notebook.touch.panel import TouchPanel
from vibcal_nb.records.quantities.result_entry import result_entry

OVER_FREQUENCY = [test for test in ANALYSE if test != GAP_CURVE]


def result_of(test: str):
    visit, channel = example_of(test, "STG-1-V11")
    return ANALYSE[test](select_case(visit, channel=channel, test=test, condition="as-found"))


@pytest.fixture(scope="module")
def results():
    return {test: result_of(test) for test in ANALYSE}


@pytest.fixture
def panel(request, results):
    return TouchPanel(ResultSubject(results[getattr(request, "param", "linearity")]))


def put(panel: TouchPanel, name: str, value: object) -> None:
    panel.do({"do": "set", "name": name, "value": value})
    assert panel.said == ""


def control(panel: TouchPanel, name: str):
    return next(item for item in panel.subject.controls if item.name == name)


def first_point(panel: TouchPanel):
    result = panel.result
    return result.points[0] if result.case.test != "linearity" else result.frequencies[0].points[0]


@pytest.mark.parametrize("panel", ANALYSE, indirect=True)
def test_a_panel_begins_where_the_record_stands(panel):
    seen = panel.seen()
    assert seen["is_record"]
    assert seen["headline"] == f"as in the record: {panel.record.answer}"
    assert seen["differences"] == []
    assert "<table>" in seen["summary"]
    assert [item["row"] for item in seen["readings"]] == [r.row for r in panel.record.result.case.readings]
    json.dumps([seen, panel.fixed()], allow_nan=False)


@pytest.mark.parametrize(
    ("panel", "name", "value"),
    [
        ("linearity", "tolerance_pct", 0.5),
        ("linearity", "nonlinearity_pct", 0.1),
        ("linearity", "detector", "rms"),
        ("band-response", "flat_pct", 1.0),
        ("band-response", "corner_db", [-2.5, -2.0]),
        ("band-response", "reference_hz", 20.0),
        ("band-response", "detector", "pkpk"),
        ("sensor-alone", "detector", "rms"),
        ("sensor-alone", "flat_pct", 0.1),
    ],
    indirect=["panel"],
)
def test_the_verdict_follows_a_control_and_comes_back(panel, name, value):
    before, shown = panel.stand.values[name], panel.reasons() + panel.seen()["summary"]
    if name == "reference_hz":
        value = min((hz for _, hz in control(panel, name).options), key=lambda hz: abs(hz - value))
    put(panel, name, value)
    assert panel.reasons() + panel.seen()["summary"] != shown
    # the detector cancels in a response re the reference frequency
    expected = "pass" if (panel.result.case.test, name) == ("band-response", "detector") else "fail"
    assert panel.result.verdict == expected
    assert panel.seen()["headline"] == f"what if, not the record: {expected} | record: pass"
    put(panel, name, before)
    assert panel.seen()["headline"] == "as in the record: pass"
    assert panel.outcome is panel.record


def test_leaving_out_readings_until_nothing_can_be_verified(panel):
    rows = [reading.row for reading in panel.record.result.case.readings]
    for row in rows:
        panel.do({"do": "leave out", "row": row, "reason": "cable moved"})
    assert panel.result.verdict == "not verified"
    assert all(reading.exclude is None for reading in VISIT.table.readings if reading.row in rows[:3])
    assert panel.seen()["differences"][0].endswith("left out: cable moved")


def test_differences_are_said_in_words(panel):
    put(panel, "tolerance_pct", 0.7)
    for row in (8, 9):
        panel.do({"do": "leave out", "row": row, "reason": ""})
    assert panel.seen()["differences"] == ["tolerance, ± %: 5 → 0.7", f"rows 8 and 9 left out: {EXPLORATION}"]


def test_a_reading_that_the_file_leaves_out_is_used_with_a_reason_alone(results):
    case = results["linearity"].case.with_excluded([8])
    panel = TouchPanel(ResultSubject(ANALYSE["linearity"](case)))
    for action in ("take back", "take back", "leave out"):
        panel.do({"do": action, "row": 8, "reason": ""})
        assert panel.outcome is panel.record
    panel.do({"do": "take back", "row": 8})
    assert panel.said.startswith("Row 8 is left out by the file")
    panel.do({"do": "take back", "row": 8, "reason": "the entry was right"})
    assert panel.seen()["differences"] == [
        f"row 8 used, which the file leaves out ({EXPLORATION}): the entry was right"
    ]
    assert panel.result.case.readings[6].exclude is None


def test_a_guard_band_makes_a_close_reading_conditional(panel):
    put(panel, "tolerance_pct", 1.6)
    assert panel.result.verdict == "pass"
    put(panel, "rule", "guarded")
    assert panel.result.verdict == "conditional pass"


@pytest.mark.parametrize("panel", OVER_FREQUENCY, indirect=True)
def test_a_larger_coverage_factor_widens_every_uncertainty(panel):
    point, shown = first_point(panel), panel.seen()["summary"]
    options = control(panel, "coverage_probability").options
    assert [label for label, _ in options][1:3] == ["k = 1.96 (95 %)", "k = 2.00 (95.45 %)"]
    put(panel, "coverage_probability", max(value for _, value in options))
    wider = first_point(panel)
    widened = wider.expanded.U / point.expanded.U
    assert widened == pytest.approx(3.0 / 1.96, rel=1e-3)
    assert wider.expanded.u == point.expanded.u
    assert "k = 3.00" in panel.reasons() + panel.seen()["summary"]
    put(panel, "coverage_probability", 0.95)
    assert panel.seen()["summary"] == shown


def test_the_guard_band_widens_with_the_coverage_factor(panel):
    worst = panel.result.frequencies[0].worst_point
    put(panel, "tolerance_pct", abs(worst.value_pct) + 1.25 * worst.expanded.U)
    put(panel, "rule", "guarded")
    assert panel.result.verdict == "pass"
    put(panel, "coverage_probability", 0.9973)
    assert panel.result.verdict == "conditional pass"


@pytest.mark.parametrize("test", OVER_FREQUENCY)
def test_the_limits_are_said_in_one_line(results, test):
    assert "%" in applied_limits(results[test])
    assert "simple acceptance" in applied_limits(results[test])


@pytest.fixture
def relay_panel():
    """The demo's truth: this trip comes 7 % late."""
    visit, channel = example_of(SET_POINTS)
    case = select_case(visit, channel=channel, test=SET_POINT, condition="as-found")
    return TouchPanel(ResultSubject(analyse_set_points(case)))


def test_the_panel_of_set_points_widens_a_tolerance_until_a_late_relay_passes(relay_panel):
    before = relay_panel.result
    trip = next(item for item in before.found if item.set_point.name == "trip")
    assert before.verdict == "fail"
    put(relay_panel, "tolerance of trip", trip.allowed_pct + 0.1)
    assert relay_panel.result.verdict == "fail"
    put(relay_panel, "tolerance of trip", round(abs(trip.deviation_pct) + 0.1, 1))
    assert relay_panel.result.verdict == "pass"
    put(relay_panel, "rule", "guarded")
    assert relay_panel.result.verdict == "conditional pass"
    assert "detector" not in relay_panel.stand.values
    assert before.case.channel.relay_of("trip").tolerance is None  # the record's own channel states none still


def test_rows_of_a_relay_are_left_out_and_the_last_of_all_is_not(relay_panel):
    rows = relay_panel.seen()["readings"]
    for item in sorted(rows, key=lambda item: "trip" not in item["name"]):
        relay_panel.do({"do": "leave out", "row": item["row"], "reason": "wrong contact"})
        if relay_panel.said:
            break
        assert [now["out"] for now in relay_panel.seen()["readings"]].count(True) == relay_panel.exploration.at
    assert "holds no relay row" in relay_panel.said
    assert "trip" in relay_panel.result.untried
    for _ in rows:
        relay_panel.do({"do": "undo"})
    assert relay_panel.outcome is relay_panel.record


@pytest.mark.parametrize("panel", ANALYSE, indirect=True)
def test_what_is_shown_is_what_is_computed_and_undo_returns_to_it(panel):
    random, shown = Random(20), {}
    for _ in range(12):
        panel.do(random_action(panel, random))
        alone = explored(panel.record.result.case, panel.stand)
        assert result_entry(panel.result) == result_entry(alone)
        assert panel.seen()["summary"] == summary_table(alone).to_html()
        assert panel.reasons() == verdict_reasons_html(alone)
        shown[panel.exploration.at] = json.dumps(panel.seen()["figure"])
    newest = panel.exploration.at
    while panel.exploration.can_undo:
        panel.do({"do": "undo"})
    assert panel.outcome is panel.record
    for _ in range(newest):
        panel.do({"do": "redo"})
    assert json.dumps(panel.seen()["figure"]) == shown[newest]


@pytest.mark.parametrize(
    "action",
    [
        {},
        {"do": "erase"},
        {"do": "set", "name": "colour", "value": 1},
        {"do": "set", "name": "tolerance_pct", "value": None},
        {"do": "set", "name": "tolerance_pct", "value": math.nan},
        {"do": "set", "name": "tolerance_pct", "value": 0},
        {"do": "set", "name": "tolerance_pct", "value": True},
        {"do": "set", "name": "tolerance_pct", "value": "5"},
        {"do": "set", "name": "rule", "value": "kind"},
        {"do": "set", "name": ["rule"], "value": "kind"},
        {"do": "leave out", "row": 999},
        {"do": "leave out", "row": "8"},
        {"do": "leave out", "row": [8]},
    ],
)
def test_what_cannot_be_done_changes_nothing_and_is_told(panel, action):
    panel.do(action)
    assert panel.said
    assert panel.seen()["said"] == panel.said
    assert panel.outcome is panel.record
    put(panel, "tolerance_pct", 4.0)


@pytest.mark.parametrize("panel", ANALYSE, indirect=True)
def test_every_grip_stands_where_its_value_is_drawn(panel):
    """The value of a control, put to the figure's axes, is that of a line or an edge of a shade drawn there."""
    for grip in panel.seen()["grips"]:
        if grip["control"] in ("corner_db", "reference_hz"):  # which the record's figure does not draw
            continue
        value = panel.stand.values[grip["control"]]
        at = grip["base"] + grip["per"] * (value if grip["part"] is None else value[grip["part"]])
        pane = panel.seen()["figure"]["panes"][grip["pane"]]
        upright = grip["along"] == "y"
        kinds = ("level", "across") if upright else ("upright", "down")
        drawn = [
            edge for item in pane["items"] if item["kind"] in kinds for edge in item.get("bounds", [item.get("at")])
        ]
        if upright:
            drawn += [y for item in pane["items"] if item["kind"] == "line" for y in item["y"] if y is not None]
        assert any(math.isclose(at, edge, rel_tol=1e-5) for edge in drawn), grip


def test_no_person_is_at_a_test():
    assert not is_interactive()


def test_the_widget_answers_each_message_and_gives_reasons_when_nothing_waits(panel):
    from vibcal_nb.notebook.touch.widget import touch_widget

    widget = touch_widget(panel)
    assert widget.fixed["controls"][0]["name"] == "tolerance_pct"
    reasons = widget.reasons
    for number, last in ((1, False), (2, True)):
        message = {"do": "set", "name": "tolerance_pct", "value": 0.6 + number / 10, "number": number, "last": last}
        widget._handle_custom_msg(message, [])
        assert widget.seen["answers"] == number
        assert widget.seen["headline"] == "what if, not the record: fail | record: pass"
        assert (widget.reasons != reasons) is last
    widget._handle_custom_msg("nonsense", [])
    assert widget.seen["answers"] == 2
