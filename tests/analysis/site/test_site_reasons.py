"""Why a channel of a site is urgent, day by day and limit by limit, on results made by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.support.sites.site_order import result
from vibcal_nb.analysis.site.site_changes import histories, last_changes, occasion_levels, site_shifts
from vibcal_nb.analysis.site.site_overview import URGENCIES, overview_of
from vibcal_nb.analysis.site.site_results import Instrument, SetPointReach

VISIT = date(2026, 5, 1)


def seen(*results, on=VISIT, interval_months=12.0):
    return overview_of(results, on=on, interval_months=interval_months)


def state(*results, **how):
    (found,) = seen(*results, **how).channels
    return found


def at(margin_pct=50.0, *, verdict="pass", condition="as-found", **changes):
    return result(1, condition)._replace(margin_pct=margin_pct, worst="its line", verdict=verdict, **changes)


@pytest.mark.parametrize(("months", "days"), [(12.0, 365), (48.0, 1461), (1.0, 30)])
def test_a_channel_is_overdue_from_the_day_after_its_interval(months, days):
    """A month is a twelfth of 365.25 days."""
    due = state(at(), on=VISIT + timedelta(days=days), interval_months=months)
    assert (due.overdue_days, due.urgency, due.reasons) == (0, 8, ())
    late = state(at(), on=VISIT + timedelta(days=days + 1), interval_months=months)
    assert (late.overdue_days, late.urgency, late.reasons) == (1, 4, ("overdue by 1 day",))


@pytest.mark.parametrize(("margin_pct", "urgency"), [(0.0, 7), (19.9, 7), (20.0, 8), (-0.1, 8), (None, 8)])
def test_a_margin_of_a_fifth_is_worth_a_look(margin_pct, urgency):
    """What lies outside is said by the verdict."""
    found = state(at(margin_pct))
    assert (found.urgency, found.margin_pct) == (urgency, margin_pct)
    assert found.reasons == ((f"margin {margin_pct:.0f} %",) if urgency == 7 else ())


@pytest.mark.parametrize(
    ("verdict", "urgency", "said"),
    [
        ("fail", 1, "left failing: linearity"),
        ("not verified", 2, "not verified: linearity"),
        ("conditional fail", 3, "conditional: linearity"),
        ("conditional pass", 3, "conditional: linearity"),
    ],
)
def test_the_verdict_as_left_decides(verdict, urgency, said):
    found = state(at(verdict=verdict))
    assert (found.urgency, found.reasons, found.verdict) == (urgency, (said,), verdict)


def test_what_was_found_failing_and_mended_is_said_so():
    found = state(at(-30.0, verdict="fail"), at(60.0, condition="as-left"))
    assert (found.urgency, found.reasons) == (6, ("found failing and mended: linearity",))
    assert (found.tests, found.margin_pct, found.worst) == ({"linearity": ("fail", "pass")}, 60.0, "its line")
    worse = state(at(-3.0, verdict="conditional fail"), at(60.0, condition="as-left", verdict="fail"))
    assert worse.reasons == ("left failing: linearity",)


def test_the_least_margin_of_the_tests_counts():
    band = at(12.0, analysis="band-response")._replace(worst="its corner", observations=())
    found = state(at(50.0), band, at(None, analysis="sensor-alone")._replace(observations=()))
    assert (found.margin_pct, found.worst, found.visits) == (12.0, "its corner", 1)


def drifting(change, **last):
    """A change of so many % with U = 1.96 sqrt(2) 0.3 = 0.83 %."""
    before, after = result(1, "as-found"), result(9, "as-found", deviation=change)
    return state(before._replace(margin_pct=50.0), after._replace(margin_pct=50.0, **last))


def test_a_change_beyond_its_uncertainty_is_a_drift():
    assert drifting(0.83).urgency == 8
    assert drifting(0.84).reasons == ("changed by +0.8 % since the visit before (E_n +1.0)",)
    assert drifting(-0.84).urgency == 7
    assert drifting(-0.84, verdict="fail").reasons == ("left failing: linearity",)  # that says it
    assert drifting(0.84).drift.change_pct == pytest.approx(0.84)


def test_set_points_that_were_not_reached_are_listed_once():
    gap = SetPointReach(rotor="t", frequency_hz=50.0, set_point="trip", level=18.0, max_applied=9.0, unit="mm/s pk")
    shown = gap._replace(set_point="alert", max_applied=18.0)
    found = state(at(set_points=(gap, gap, shown)))
    assert (found.urgency, found.reasons) == (5, ("not reached: trip at 50 Hz",))
    assert found.not_reached == (gap, gap)


def whole(verdict="pass", *points, condition="as-found", **changes):
    return at(
        None,
        analysis="channel-verdict",
        verdict=verdict,
        condition=condition,
        observations=(),
        set_points=points,
        **changes,
    )


def point(status, *, set_point="trip", hz=149.0, max_applied=9.0):
    return SetPointReach(
        rotor="pinion", frequency_hz=hz, set_point=set_point, level=18.0, max_applied=max_applied, unit="mm/s pk",
        status=status,
    )  # fmt: skip


def test_the_verdict_on_the_whole_channel_leads_and_not_the_tests():
    """Its tests pass; its trip was not verified."""
    found = state(at(), whole("not verified", point("not verified"), point("demonstrated", hz=50.0)))
    assert (found.verdict, found.whole, found.tests) == (
        "not verified",
        ("not verified", None),
        {"linearity": ("pass", None)},
    )
    assert (found.urgency, found.reasons) == (5, ("not reached: trip at 149 Hz",))


def test_what_is_inferred_or_covered_is_not_sent_for_again():
    """The test alone was driven to half; the parts were tested up to it."""
    short = SetPointReach(rotor="p", frequency_hz=149.0, set_point="trip", level=18.0, max_applied=9.0, unit="mm/s pk")
    found = state(at(set_points=(short,)), whole("pass", point("inferred")))
    assert (found.urgency, found.reasons, found.not_reached) == (8, (), ())


def test_a_channel_that_does_not_act_comes_first():
    silent = point("does not act", max_applied=21.2)
    found = state(at(), whole("fail", silent))
    assert (found.urgency, found.verdict, found.silent) == (1, "fail", (silent,))
    assert found.reasons == ("does not act: trip at 149 Hz",)
    both = state(at(verdict="fail"), whole("fail", silent))
    assert both.reasons[0] == "does not act: trip at 149 Hz; left failing: linearity"


def test_gates_and_missing_tests_are_named():
    gated = state(at(verdict="not verified"), whole("not verified", gates=("no reference",), missing=("sensor-alone",)))
    assert gated.reasons == ("not verified: linearity; no reference; not tested: sensor-alone",)
    assert (gated.urgency, gated.gates, gated.missing) == (2, ("no reference",), ("sensor-alone",))
    assert state(at(), whole("not verified")).reasons == ("not verified: see its record",)


def test_what_the_verdict_leaves_out_is_counted():
    found = state(at(excluded=2), whole(excluded=3, not_read=4))
    assert (found.excluded, found.not_read) == (3, 4)
    assert (state(at(excluded=2, not_read=1)).excluded, state(at(not_read=1)).not_read) == (2, 1)


def test_a_verdict_on_the_whole_that_is_older_than_the_last_test_leads_no_more():
    old = whole("not verified")
    assert state(old, result(9, "as-found")).verdict == "pass"


def test_of_a_channel_read_as_left_alone_nothing_is_said_as_found():
    left = at(condition="as-left")
    assert state(left).tests == {"linearity": (None, "pass")}
    assert state(left, whole("pass", condition="as-left")).whole == (None, "pass")


def test_a_channel_without_any_test_is_no_channel_of_the_overview():
    with pytest.raises(ValueError, match="make records first"):
        seen(whole("pass"))


def test_reasons_come_in_the_order_of_urgency_and_channels_by_it_and_by_margin():
    both = state(at(10.0, verdict="not verified"), on=VISIT + timedelta(days=400))
    assert both.reasons == ("not verified: linearity", "overdue by 35 days", "margin 10 %")
    overview = seen(
        at(50.0, channel="V3"),
        at(None, channel="V4"),
        at(40.0, channel="V2"),
        at(-9.0, channel="V5", verdict="fail"),
        at(40.0, channel="V1"),
    )
    assert [c.channel for c in overview.channels] == ["V5", "V1", "V2", "V3", "V4"]
    assert overview.results == 5
    (action,) = overview.actions
    assert (action.urgency, action.what, action.subjects) == (1, URGENCIES[1], ("V5",))


REFERENCE = Instrument(id="REF-1", kind="reference", serial="R", calibrated=date(2026, 1, 1), due=date(2026, 5, 1))
READOUT = Instrument(id="DVM-1", kind="readout", serial="D", calibrated=date(2026, 1, 1), due=date(2027, 1, 1))


def test_equipment_is_late_from_the_day_after_its_last():
    on_its_last_day = seen(at(equipment=(REFERENCE, READOUT)))
    assert [(s.instrument.id, s.overdue_days, s.used_overdue) for s in on_its_last_day.instruments] == [
        ("REF-1", 0, ()),
        ("DVM-1", -245, ()),
    ]
    assert on_its_last_day.actions == ()
    past = replace_due(REFERENCE, -1)
    late = seen(at(equipment=(past, READOUT)))
    assert late.instruments[0].used_overdue == (f"STG-1, visit {VISIT.isoformat()} (REF-1)",)
    assert [(a.urgency, a.subjects) for a in late.actions] == [
        (2, ("REF-1, due 2026-04-30",)),
        (3, (f"STG-1, visit {VISIT.isoformat()} (REF-1)",)),
    ]


def replace_due(instrument, days):
    return instrument._replace(due=instrument.due + timedelta(days=days))


def test_an_instrument_stands_under_its_latest_certificate():
    renewed = REFERENCE._replace(id="REF-2", due=date(2027, 5, 1))
    later = result(9, "as-found")._replace(equipment=(REFERENCE,))
    for rows in ((at(equipment=(renewed,)), later), (at(equipment=(REFERENCE,)), later._replace(equipment=(renewed,)))):
        (found,) = seen(*rows).instruments
        assert (found.instrument.id, found.last_used) == ("REF-2", date(2026, 5, 9))
        assert found.overdue_days == -365


def test_without_results_there_is_nothing_to_look_at():
    with pytest.raises(ValueError, match="make records first"):
        seen(at(analysis="drift"))


def test_of_two_visits_the_second_is_held_against_the_first():
    (change,) = last_changes(histories([result(1, "as-found"), result(9, "as-found", deviation=1.0)]))
    assert (change.before.visit, change.after.visit) == ("2026-05-01", "2026-05-09")
    assert last_changes(histories([result(1, "as-found"), result(1, "as-left")])) == []
    assert last_changes(histories([result(1, "as-found")])) == []


def site(shifted, *, channels=5, asset="STG-1", shift_pct=3.0):
    """Four visits, each under a reference of its own; on one of them every channel reads 3 % high."""
    rows = []
    for number in range(channels):
        own = []
        for visit in range(4):
            row = result(1 + visit, "as-found", deviation=shift_pct if visit == shifted else 0.0)
            (seen_then,) = row.observations
            shared = {f"reference level, REF-{visit} of 2026-01-10": 0.0}
            own.append(
                row._replace(channel=f"V{number}", asset=asset, observations=(replace(seen_then, shared_pct=shared),))
            )
        rows += occasion_levels(f"{asset} V{number}", histories(own))
    return rows


def test_a_shift_is_named_by_the_reference_that_all_readings_had_and_by_the_visit():
    found = site_shifts(site(2))
    assert [shift.occasion for shift in found] == ["all readings with REF-2", "STG-1, visit 2026-05-03"]
    assert [(shift.channels, shift.alike) for shift in found] == [(5, 5)] * 2
    assert [shift.shift_pct for shift in found] == pytest.approx([3.0, 3.0])
    assert site_shifts(site(None)) == ()
    assert site_shifts(site(2, channels=4)) == ()


def test_the_shift_of_most_channels_comes_first():
    found = site_shifts([*site(2), *site(1, channels=6, asset="FDF-3")])
    assert [(shift.occasion, shift.channels) for shift in found][-2:] == [
        ("FDF-3, visit 2026-05-02", 6),
        ("STG-1, visit 2026-05-03", 5),
    ]
    assert [shift.channels for shift in found] == sorted((shift.channels for shift in found), reverse=True)


def test_a_visit_in_doubt_is_no_drift_of_its_channels():
    rows = [row for row, _ in site(3)]
    overview = seen(*rows, on=date(2026, 5, 4))
    assert {shift.occasion for shift in overview.shifts} == {"all readings with REF-3", "STG-1, visit 2026-05-04"}
    assert [c.drift for c in overview.channels] == [None] * 5
    assert overview.actions[0].urgency == 1
    assert overview.actions[0].subjects[0].endswith("(+3.0 %)")
    single = [row for row, _ in site(3, channels=1)]
    assert seen(*single, on=date(2026, 5, 4)).channels[0].drift.change_pct == pytest.approx(3.0)


def test_of_shifts_of_as_many_channels_the_most_significant_comes_first():
    rows = [*site(2), *site(1, asset="FDF-3", shift_pct=6.0), *site(3, asset="BFP-2", shift_pct=-4.0)]
    by_asset = [shift.occasion for shift in site_shifts(rows) if "visit" in shift.occasion]
    assert by_asset == ["FDF-3, visit 2026-05-02", "BFP-2, visit 2026-05-04", "STG-1, visit 2026-05-03"]


def test_each_urgency_has_its_words_and_its_action():
    assert list(URGENCIES) == list(range(1, 9))
    gap = SetPointReach(rotor="t", frequency_hz=50.0, set_point="trip", level=18.0, max_applied=9.0, unit="mm/s pk")
    rows = [
        at(50.0, channel="V1", verdict="fail"),
        at(50.0, channel="V2", verdict="not verified"),
        at(50.0, channel="V3", verdict="conditional pass"),
        at(50.0, channel="V4")._replace(date=VISIT - timedelta(days=400)),
        at(50.0, channel="V5", set_points=(gap,)),
        at(-9.0, channel="V6", verdict="fail"),
        at(50.0, channel="V6", condition="as-left"),
        at(5.0, channel="V7"),
        at(50.0, channel="V8"),
    ]
    actions = seen(*rows).actions
    assert [(a.urgency, a.what, a.subjects) for a in actions] == [
        (number, URGENCIES[number], (f"V{number}",)) for number in range(1, 8)
    ]
