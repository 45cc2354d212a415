"""The what-if panels: each control changes what it should, on a copy, and the verdict follows and comes back."""

from __future__ import annotations

from random import Random

import pytest

from tests.support.running.panels import VISIT
from tests.support.sites.examples import example_of
from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.analysis.relay.set_points import analyse_set_points
from vibcal_nb.display.results.tables import summary_table
from vibcal_nb.display.results.verdict_html import verdict_html
from vibcal_nb.model.case import select_case
from vibcal_nb.model.names import GAP_CURVE, SET_POINT, SET_POINTS
from vibcal_nb.notebook.frame.interactive import is_interactive
from vibcal_nb.notebook.panels.what_if import applied_limits, build_panel, changed_case
from vibcal_nb.records.quantities.result_entry import result_entry

OVER_FREQUENCY = [test for test in ANALYSE if test != GAP_CURVE]


def test_the_panel_of_a_gap_curve_begins_where_its_record_stands():
    visit, channel = example_of(GAP_CURVE)
    result = ANALYSE[GAP_CURVE](select_case(visit, channel=channel, test=GAP_CURVE, condition="as-found"))
    assert build_panel(result).result.verdict == result.verdict


@pytest.fixture
def panel(request):
    visit, channel = example_of(request.param, "STG-1-V11")
    case = select_case(visit, channel=channel, test=request.param, condition="as-found")
    return build_panel(ANALYSE[request.param](case))


@pytest.mark.parametrize("panel", OVER_FREQUENCY, indirect=True)
def test_a_panel_begins_where_the_record_stands(panel):
    assert panel.result.verdict == "pass"
    assert bytes(panel.picture.value).startswith(b"\x89PNG")
    assert "pass" in panel.verdict.value
    assert "<table>" in panel.table.value


@pytest.mark.parametrize(
    ("panel", "control", "value"),
    [
        ("linearity", "tolerance_pct", 0.5),
        ("linearity", "nonlinearity_pct", 0.1),
        ("linearity", "detector", "rms"),
        ("band-response", "flat_pct", 1.0),
        ("band-response", "corner_db", (-2.5, -2.0)),
        ("band-response", "reference_hz", 20.0),
        ("band-response", "detector", "pkpk"),
        ("sensor-alone", "detector", "rms"),
        ("sensor-alone", "flat_pct", 0.1),
    ],
    indirect=["panel"],
)
def test_the_verdict_follows_a_control_and_comes_back(panel, control, value):
    before, shown = panel.controls[control].value, panel.reasons.value + panel.table.value
    options = getattr(panel.controls[control], "options", None)
    if control == "reference_hz":
        value = min((hz for _, hz in options), key=lambda hz: abs(hz - value))
    panel.controls[control].value = value
    assert panel.reasons.value + panel.table.value != shown
    changed = panel.result
    if (panel.result.case.test, control) != ("band-response", "detector"):
        assert changed.verdict == "fail"
    else:  # the detector cancels in a response re the reference frequency
        assert changed.verdict == "pass"
    panel.controls[control].value = before
    assert panel.result.verdict == "pass"


@pytest.mark.parametrize("panel", ["linearity"], indirect=True)
def test_leaving_out_readings_until_nothing_can_be_verified(panel):
    rows = [row for _, row in panel.controls["excluded"].options]
    panel.controls["excluded"].value = tuple(rows)
    assert panel.result.verdict == "not verified"
    assert all(reading.exclude is None for reading in VISIT.table.readings if reading.row in rows[:3])


@pytest.mark.parametrize("panel", ["linearity"], indirect=True)
def test_a_guard_band_makes_a_close_reading_conditional(panel):
    panel.controls["tolerance_pct"].value = 1.6
    assert panel.result.verdict == "pass"
    panel.controls["rule"].value = "guarded"
    assert panel.result.verdict == "conditional pass"


@pytest.mark.parametrize("panel", OVER_FREQUENCY, indirect=True)
def test_a_larger_coverage_factor_widens_every_uncertainty(panel):
    point = panel.result.points[0] if panel.result.case.test != "linearity" else panel.result.frequencies[0].points[0]
    control, shown = panel.controls["coverage_probability"], panel.table.value
    assert [label for label, _ in control.options][1:3] == ["k = 1.96 (95 %)", "k = 2.00 (95.45 %)"]
    control.value = max(value for _, value in control.options)
    wider = panel.result.points[0] if panel.result.case.test != "linearity" else panel.result.frequencies[0].points[0]
    widened = wider.expanded.U / point.expanded.U
    assert widened == pytest.approx(3.0 / 1.96, rel=1e-3)
    assert wider.expanded.u == point.expanded.u
    assert "k = 3.00" in panel.reasons.value + panel.table.value
    control.value = 0.95
    assert panel.table.value == shown


@pytest.mark.parametrize("panel", ["linearity"], indirect=True)
def test_the_guard_band_widens_with_the_coverage_factor(panel):
    worst = panel.result.frequencies[0].worst_point
    panel.controls["tolerance_pct"].value = abs(worst.value_pct) + 1.25 * worst.expanded.U
    panel.controls["rule"].value = "guarded"
    assert panel.result.verdict == "pass"
    panel.controls["coverage_probability"].value = 0.9973
    assert panel.result.verdict == "conditional pass"


@pytest.mark.parametrize("panel", OVER_FREQUENCY, indirect=True)
def test_the_limits_are_said_in_one_line(panel):
    assert "%" in applied_limits(panel.result)
    assert "simple acceptance" in applied_limits(panel.result)


def move_at_random(panel, random):
    """Put every slider and choice somewhere, but for the readings left out: two of them at most."""
    for name, control in panel.controls.items():
        if name == "excluded":
            rows = [row for _, row in control.options]
            control.value = tuple(sorted(random.sample(rows, random.randrange(3))))
        elif name == "corner_db":
            control.value = tuple(sorted(round(random.uniform(control.min, control.max), 1) for _ in range(2)))
        elif hasattr(control, "options"):
            control.value = random.choice([o[1] if isinstance(o, tuple) else o for o in control.options])
        else:
            control.value = round(random.uniform(control.min, control.max), 1)


@pytest.mark.parametrize("panel", OVER_FREQUENCY, indirect=True)
def test_wherever_the_controls_come_from_the_panel_shows_a_whole_analysis_of_where_they_stand(panel):
    random = Random(20)
    for _ in range(6):
        move_at_random(panel, random)
        values = {name: control.value for name, control in panel.controls.items()}
        case = select_case(VISIT, channel="STG-1-V11", test=panel.result.case.test, condition="as-found")
        alone = ANALYSE[case.test](changed_case(case, values))
        assert result_entry(panel.result) == result_entry(alone)
        assert panel.verdict.value + panel.reasons.value == verdict_html(alone)
        assert panel.table.value == summary_table(alone).to_html()
    beside = build_panel(ANALYSE[case.test](case))
    for name, value in values.items():
        beside.controls[name].value = value
    assert beside.picture.value == panel.picture.value


@pytest.fixture
def relay_panel():
    """The demo's truth: this trip comes 7 % late."""
    visit, channel = example_of(SET_POINTS)
    case = select_case(visit, channel=channel, test=SET_POINT, condition="as-found")
    return build_panel(analyse_set_points(case))


def test_the_panel_of_set_points_widens_a_tolerance_until_a_late_relay_passes(relay_panel):
    before = relay_panel.result
    trip = next(item for item in before.found if item.set_point.name == "trip")
    assert (before.verdict, bytes(relay_panel.picture.value[:4])) == ("fail", b"\x89PNG")
    control = relay_panel.controls["tolerance of trip"]
    control.value = trip.allowed_pct + 0.1
    assert relay_panel.result.verdict == "fail"
    control.value = round(abs(trip.deviation_pct) + 0.1, 1)
    assert relay_panel.result.verdict == "pass"
    relay_panel.controls["rule"].value = "guarded"
    assert relay_panel.result.verdict == "conditional pass"
    assert "detector" not in relay_panel.controls
    assert trip.allowed_pct == before.case.channel.relay_of("trip").tolerance.reading_pct


def test_rows_of_a_relay_are_left_out_and_a_panel_without_any_says_so(relay_panel):
    excluded = relay_panel.controls["excluded"]
    rows = [row for _, row in excluded.options]
    trip = [row for text, row in excluded.options if "trip" in text]
    excluded.value = tuple(trip)
    assert "trip" in relay_panel.result.untried
    excluded.value = tuple(rows)
    assert "holds no relay row" in relay_panel.verdict.value and relay_panel.picture.value == b""
    excluded.value = ()
    assert relay_panel.result.verdict == "fail" and relay_panel.picture.value != b""


def test_no_person_is_at_a_test():
    assert not is_interactive()
