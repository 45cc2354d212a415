"""Rows of set points, votes and electrical health are read as typed; what cannot be used is refused in a sentence."""

from __future__ import annotations

import pytest

from tests.support.sites.plants import ASSET, VISIT, build_site
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.relay.electrical import parse_electrical_unit
from vibcal_nb.problems import InputRefused

MORE = """
[channels.STG-1-V11.indication]
unit = "mm/s rms"
full_scale = 25
display_step = 0.1
tolerance = { span_pct = 1.0 }
[channels.STG-1-V11.set_points.trip]
delay_s = [0.8, 1.2]
latching = true
[channels.STG-1-V11.set_points.low]
level = 0.5
direction = "falling"
[channels.STG-1-V11.electrical.bias]
unit = "V"
min = 8
max = 12
[channels.T2]
input_unit = "mm/s pk"
output_unit = "mV pk"
nominal_sensitivity = 4.0
tolerance_pct = 5.0
trip = 18.0
[groups.bearing-1]
logic = "1oo2"
channels = ["STG-1-V11", "T2"]
set_point = "trip"
"""
TRAIL = """
[inhibit]
permit = "PTW-1"
channels = ["STG-1-V11"]
off = "8:30"
on = 11:05:00
by = "Technician A"
told = ["control room", "shift leader"]
[return_to_service]
by = "Technician A"
at = "11:20"
checks = ["Trip path proved."]
"""
HEADINGS = (
    "channel,test,condition,frequency_hz,applied,applied_unit,set_point,acted,delay_s,in_trip,item,value,unit,note"
)
ROWS = (
    "STG-1-V11,set-point,as-found,50,17.9,mm/s pk,trip,no,,,,,,",
    "STG-1-V11,set_point,as-found,50,18.2,mm/s pk,Trip,YES,1.02,,,,,",
    "bearing-1,voting,as-found,,,,,no,,,,,,",
    "bearing-1,voting,as-found,,,,,yes,,T2 STG-1-V11,,,,",
    "STG-1-V11,electrical,as-found,,,,,,,,bias,10.20,V dc,",
    "STG-1-V11,electrical,as-found,,,,,,,,insulation,,Mohm,",
)


def load(folder, rows=ROWS, *, more=MORE, visit=VISIT, headings=HEADINGS):
    return load_visit(build_site(folder, rows, asset=ASSET + more, visit=visit, headings=headings))


def test_rows_are_read_as_typed_and_need_no_column_of_an_output(tmp_path):
    table = load(tmp_path).table
    below, above, none, both, bias = table.checks
    assert (below.applied, below.acted, below.delay_s) == (17.9, False, None)
    assert (above.set_point, above.acted, above.delay_s, above.delay_decimals) == ("trip", True, 1.02, 2)
    assert (none.in_trip, both.in_trip) == ((), ("STG-1-V11", "T2"))
    assert (bias.item, bias.value, bias.value_decimals, bias.unit) == ("bias", 10.2, 2, "V")
    assert [row.row for row in table.open] == [7]
    assert not table.readings


def test_what_follows_the_output_is_stated(tmp_path):
    asset = load(tmp_path).asset
    channel = asset.channels["STG-1-V11"]
    assert channel.set_points == (("alert", 11.0), ("trip", 18.0), ("low", 0.5))
    trip, low = channel.relay_of("trip"), channel.relay_of("low")
    assert (trip.level, trip.delay_s, trip.latching, trip.direction) == (18.0, (0.8, 1.2), True, "rising")
    assert (low.level, low.direction) == (0.5, "falling")
    assert channel.relay_of("alert").tolerance is None
    assert (channel.indication.full_scale, channel.indication.tolerance.span_pct) == (25.0, 1.0)
    group = asset.channel("bearing-1").group
    assert (group.needed, group.channels) == (1, ("STG-1-V11", "T2"))


def test_a_level_in_the_table_of_a_set_point_is_the_short_form(tmp_path):
    asset = ASSET.replace("trip = 18.0\n", "") + "[channels.STG-1-V11.set_points.trip]\nlevel = 17\n"
    home = build_site(tmp_path, ROWS[:1], asset=asset, headings=HEADINGS)
    assert load_visit(home).asset.channels["STG-1-V11"].trip == 17.0


def test_inhibit_and_return_are_kept(tmp_path):
    trail = load(tmp_path, visit=VISIT + TRAIL).visit.trail
    assert (trail.inhibit.off, trail.inhibit.on, trail.returned.at) == ("08:30", "11:05", "11:20")
    assert trail.inhibit.told == ("control room", "shift leader")
    assert trail.open_since is None
    half = load(tmp_path, visit=VISIT + TRAIL.split("[return")[0]).visit.trail
    assert half.open_since == "08:30"


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("STG-1-V11,set-point,as-found,50,18,mm/s pk,danger,yes,,,,,,", "column set_point"),
        ("STG-1-V11,set-point,as-found,50,18,mm/s pk,trip,maybe,,,,,,", "give yes or no"),
        ("STG-1-V11,set-point,as-found,50,18,mm/s,trip,yes,,,,,,", "column applied_unit"),
        ("STG-1-V11,set-point,as-found,50,18,mm/s pk,trip,no,1.0,,,,,", "column delay_s"),
        ("STG-1-V11,set-point,as-found,50,18,mm/s pk,trip,yes,,T2,,,,", "column in_trip"),
        ("STG-1-V11,voting,as-found,,,,,yes,,T2,,,,", "no group that votes"),
        ("bearing-1,voting,as-found,,,,,yes,,T3,,,,", "column in_trip"),
        ("bearing-1,voting,as-found,,18,,,yes,,T2,,,,", "column applied"),
        ("STG-1-V11,electrical,as-found,,,,,,,,bias,10,Mohm,", "units of voltage"),
        ("STG-1-V11,electrical,as-found,,,,,,,,bias,10,bar,", "column unit"),
        ("STG-1-V11,electrical,as-found,,,,,,,,,10,V,", "column item"),
        ("STG-1-V11,linearity,as-found,50,18,mm/s pk,trip,,,,,,,", "no such column"),
    ],
)
def test_a_row_that_cannot_be_used_is_refused_in_a_sentence(tmp_path, row, said):
    with pytest.raises(InputRefused, match=said):
        load(tmp_path, (*ROWS, row))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('logic = "1oo2"', 'logic = "3oo2"', "groups.bearing-1.logic"),
        ('logic = "1oo2"', 'logic = "two of three"', "such as 2oo3"),
        ('"T2"]', '"T9"]', "groups.bearing-1.channels"),
        ('set_point = "trip"', 'set_point = "alert"', "which T2 does not state"),
        ('unit = "mm/s rms"', 'unit = "um pkpk"', "same quantity"),
        ("display_step = 0.1", "display_step = 30", "display_step"),
        ("min = 8", "min = 18", "swap them"),
        ('unit = "V"', 'unit = "W"', "electrical.bias.unit"),
        ("level = 0.5\n", "", "set_points.low.level"),
        ("delay_s = [0.8, 1.2]", "delay_s = [0.8, 1.2]\nlevel = 19", "give the level once"),
        ("[groups.bearing-1]", "[groups.T2]", "which a channel has"),
    ],
)
def test_what_asset_toml_cannot_mean_is_refused(tmp_path, old, new, said):
    assert old in MORE
    with pytest.raises(InputRefused, match=said):
        load(tmp_path, more=MORE.replace(old, new))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"8:30"', '"half past eight"', "a time of day such as 08:30"),
        ('["STG-1-V11"]', '["STG-9"]', "inhibit.channels"),
        ('checks = ["Trip path proved."]', "checks = []", "state what was checked"),
        ('permit = "PTW-1"\n', "", "inhibit.permit"),
    ],
)
def test_what_visit_toml_cannot_mean_is_refused(tmp_path, old, new, said):
    with pytest.raises(InputRefused, match=said):
        load(tmp_path, visit=VISIT + TRAIL.replace(old, new))


def test_a_return_without_an_inhibit_is_asked_about(tmp_path):
    with pytest.raises(InputRefused, match=r"state .inhibit."):
        load(tmp_path, visit=VISIT + "[return_to_service]" + TRAIL.split("[return_to_service]")[1])


def test_electrical_units_are_told_by_case():
    found = {text: parse_electrical_unit(text) for text in ("MΩ", "mohm", "GOhm", "pF", "V dc", "V pk", "m")}
    assert [None if unit is None else unit.text for unit in found.values()] == [
        "Mohm",
        "mohm",
        "Gohm",
        "pF",
        "V",
        None,
        None,
    ]
    assert found["MΩ"].si_factor == 1e6
    assert found["mohm"].si_factor == 1e-3
