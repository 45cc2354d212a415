"""A visit is judged by what held on its day: exchanges, restated limits and new names change nothing of the past."""

from __future__ import annotations

import json
from datetime import date

import pytest

from tests.support.sites.plants import ASSET, linearity_rows
from tests.support.sites.site_by_date import NEW, OLD, add_visit, site
from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.inputs.asset.read_asset import read_asset
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import list_cases, select_case
from vibcal_nb.problems import InputRefused
from vibcal_nb.records.quantities.result_entry import result_entry

EXCHANGED = """
[channels.STG-1-V11.items]
sensor = [
    { serial = "S-1041", type = "charge", until = 2025-04-29 },
    { serial = "S-2207", type = "charge", since = 2025-04-29, nominal_sensitivity = 5.2 },
]
converter = { serial = "C-118" }
"""
RESTATED = """
[channels.STG-1-V11.from.2025-04-29]
tolerance_pct = 1.0
trip = 15.0
[channels.STG-1-V11.from.2025-04-29.band]
flat_pct = 2.0
"""


def entries(home, *, renamed=()):
    """Every result of a visit as it is kept, with names of today written as they were."""
    visit = load_visit(home)
    found = []
    for tag, test, condition in list_cases(visit):
        entry = result_entry(ANALYSE[test](select_case(visit, channel=tag, test=test, condition=condition)))
        for stated in entry["summary"]["sensitivities"]:
            stated["items"] = {}  # their serial numbers were stated meanwhile
        text = json.dumps(entry, sort_keys=True)
        for new, old in renamed:
            text = text.replace(new, old)
        found.append(text)
    return found


@pytest.mark.parametrize(
    ("later", "renamed"),
    [
        (ASSET + EXCHANGED, ()),
        (ASSET + RESTATED, ()),
        (
            ASSET.replace("channels.STG-1-V11", "channels.STG-1-T1").replace(
                "[channels.STG-1-T1]\n", '[channels.STG-1-T1]\nformerly = "STG-1-V11"\n'
            ),
            [("STG-1-T1", "STG-1-V11")],
        ),
        (
            ASSET.replace('tag = "STG-1"', 'tag = "TURB-1"\nformerly = "STG-1"'),
            [("TURB-1", "STG-1")],
        ),
        (ASSET.replace("[channels.STG-1-V11]\n", "[channels.STG-1-V11]\nretired = 2025-06-01\n"), ()),
        (ASSET.replace("[asset]\n", "[asset]\nretired = 2025-06-01\n"), ()),
    ],
    ids=["an exchange", "a limit change", "a channel renamed", "an asset renamed", "retired", "an asset retired"],
)
def test_what_happens_later_changes_not_one_digit_of_a_past_visit(tmp_path, later, renamed):
    home = site(tmp_path)
    before = entries(home)
    assert len(before) == 3
    (tmp_path / "STG-1" / "asset.toml").write_text(later, encoding="utf-8")
    assert entries(home, renamed=renamed) == before


def test_the_visit_after_is_judged_by_what_was_restated(tmp_path):
    site(tmp_path, asset=ASSET + RESTATED)
    new, old = (load_visit(tmp_path / "STG-1" / day.isoformat()).asset.channels["STG-1-V11"] for day in (NEW, OLD))
    assert (old.tolerance_pct, old.trip, old.band.flat_pct) == (5.0, 18.0, 5.0)
    assert (new.tolerance_pct, new.trip, new.band.flat_pct) == (1.0, 15.0, 2.0)
    assert (new.alert, new.band.reference_hz) == (old.alert, old.band.reference_hz)


@pytest.mark.parametrize(
    ("day", "found", "left"),
    [
        (date(2025, 4, 28), "S-1041", "S-1041"),
        (date(2025, 4, 29), "S-1041", "S-2207"),
        (date(2025, 4, 30), "S-2207", "S-2207"),
    ],
)
def test_on_the_day_of_an_exchange_the_old_item_is_found_and_the_new_one_left(tmp_path, day, found, left):
    site(tmp_path, asset=ASSET + EXCHANGED)
    home = add_visit(tmp_path, day, [*linearity_rows(), *linearity_rows(condition="as-left", gain=4.0)])
    visit = load_visit(home)
    for condition, serial in (("as-found", found), ("as-left", left)):
        case = select_case(visit, channel="STG-1-V11", test="linearity", condition=condition)
        assert case.channel.items[0].serial == serial
        assert case.channel.sensor.nominal_sensitivity == (5.2 if serial == "S-2207" else 5.0)


def history(tmp_path, more):
    (tmp_path / "asset.toml").write_text(ASSET + more, encoding="utf-8")
    problems = []
    return read_asset(tmp_path / "asset.toml", problems, kinds={}), [p.sentence for p in problems]


def test_limits_that_are_restated_twice_build_on_each_other(tmp_path):
    more = "[channels.STG-1-V11.from.2026-01-01]\nalert = 12.0\n[channels.STG-1-V11.from.2025-01-01]\ntrip = 17.0\n"
    found, problems = history(tmp_path, more)
    assert not problems
    states = [found.on(day).channels["STG-1-V11"] for day in (OLD, date(2025, 1, 1), date(2026, 1, 1))]
    assert [(c.alert, c.trip) for c in states] == [(11.0, 18.0), (11.0, 17.0), (12.0, 17.0)]


def test_an_item_is_removed_when_the_next_is_installed(tmp_path):
    more = (
        '[channels.STG-1-V11.items]\nmonitor = [{ serial = "B", since = 2025-01-01 }, { serial = "A" }, '
        '{ serial = "C", since = 2026-01-01 }]\n'
    )
    found, problems = history(tmp_path, more)
    assert not problems
    days = (date(1999, 1, 1), date(2025, 1, 1), date(2025, 6, 1), date(2026, 1, 1), date(2030, 1, 1))
    assert [found.on(day).channels["STG-1-V11"].items[0].serial for day in days] == ["A", "A", "B", "B", "C"]


def test_the_first_item_of_a_part_is_found_on_the_day_of_its_installation(tmp_path):
    found, _ = history(tmp_path, '[channels.STG-1-V11.items]\ncable = { type = "x", since = 2025-01-01 }\n')
    assert [len(found.on(date(2025, 1, day)).channels["STG-1-V11"].items) for day in (1, 2)] == [1, 1]
    assert [item.name for item in found.on(date(2024, 12, 31)).channels["STG-1-V11"].items] == ["not stated"]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ('[channels.STG-1-V11.items]\nsensr = { serial = "S" }\n', "did you mean 'sensor'"),
        ('[channels.STG-1-V11.items]\nsensor = { serial = "S", slot = "3" }\n', "unknown key 'slot'"),
        ('[channels.STG-1-V11.items]\nsensor = [{ serial = "A" }, { serial = "B" }]\n', "two items without a date"),
        (
            '[channels.STG-1-V11.items]\nsensor = [{ serial = "A", until = 2025-05-01 }, '
            '{ serial = "B", since = 2025-04-01 }]\n',
            "let one be removed by the day",
        ),
        (
            '[channels.STG-1-V11.items]\nsensor = { serial = "A", since = 2025-05-01, until = 2025-04-01 }\n',
            "mend one of the dates",
        ),
        (
            "[channels.STG-1-V11.items]\nconverter = { nominal_sensitivity = 1.6 }\n",
            "give the table [module], whose units it is in",
        ),
        ("[channels.STG-1-V11.from.2025-4-29]\ntrip = 17.0\n", "give the day from which it holds"),
        ("[channels.STG-1-V11.from.2025-04-29]\nformerly = 'X'\n", "the unknown key 'formerly'"),
        ("[channels.STG-1-V11.from.2025-04-29]\ntrip = 10.0\n", "an alert of 11 above the trip of 10"),
        ("[channels.STG-1-V11.from.2025-04-29]\ntrip = 'x'\n", "key channels.STG-1-V11.from.2025-04-29.trip"),
    ],
)
def test_a_wrong_history_is_refused(tmp_path, more, said):
    found, problems = history(tmp_path, more)
    assert found is None
    assert said in "\n".join(problems)


def test_an_older_tag_belongs_to_one_channel(tmp_path):
    again = ASSET[ASSET.index("[channels.STG-1-V11]") :].replace("STG-1-V11", "STG-1-V12")
    again = again.replace("[channels.STG-1-V12]\n", '[channels.STG-1-V12]\nformerly = ["STG-1-V11"]\n')
    found, problems = history(tmp_path, again)
    assert found is None
    assert "which is the tag of 'STG-1-V11', too; let each older tag belong to one channel" in "\n".join(problems)


def test_earlier_tables_name_a_channel_by_its_older_tag(tmp_path):
    asset = ASSET.replace("channels.STG-1-V11", "channels.STG-1-T1").replace(
        "[channels.STG-1-T1]\n", '[channels.STG-1-T1]\nformerly = "STG-1-V11"\n'
    )
    visit = load_visit(site(tmp_path, asset=asset))
    assert {reading.channel for reading in visit.table.readings} == {"STG-1-T1"}


def test_a_retired_channel_is_no_longer_read(tmp_path):
    site(tmp_path, asset=ASSET.replace("[channels.STG-1-V11]\n", "[channels.STG-1-V11]\nretired = 2025-06-01\n"))
    with pytest.raises(InputRefused, match="'STG-1-V11', retired since 2025-06-01; mend the tag, or the day"):
        load_visit(tmp_path / "STG-1" / NEW.isoformat())
