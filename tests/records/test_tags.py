"""Renamed and retired assets and channels: register, overview and drift follow, and stand there once."""

from __future__ import annotations

import json
from datetime import date

import pytest

from tests.support.sites.plants import ASSET
from tests.support.sites.site_by_date import NEW, OLD, ROWS, add_visit, site
from vibcal_nb.analysis.drift.channel_observations import observe_channel
from vibcal_nb.analysis.site.site_overview import overview_of
from vibcal_nb.display.site.site_tables import site_sentence
from vibcal_nb.inputs.earlier_visits import load_history
from vibcal_nb.records.register.read_site import read_site
from vibcal_nb.records.register.tags import TAGS_FILE, read_tags
from vibcal_nb.running.commands.cli import main

ON = date(2026, 6, 1)
RENAMED = (
    ASSET.replace('tag = "STG-1"', 'tag = "TURB-1"\nformerly = "STG-1"')
    .replace("channels.STG-1-V11", "channels.TURB-1-V11")
    .replace("[channels.TURB-1-V11]\n", '[channels.TURB-1-V11]\nformerly = "STG-1-V11"\n')
)
RETIRED = ASSET.replace("[channels.STG-1-V11]\n", "[channels.STG-1-V11]\nretired = 2026-05-25\n")


def restate(folder, text):
    (folder / "STG-1" / "asset.toml").write_text(text, encoding="utf-8")


@pytest.fixture
def made(tmp_path):
    """Two visits with their records, as they were before anything was renamed."""
    home = tmp_path / "site"
    site(home)
    add_visit(home, NEW)
    assert main(["run", str(home), "--out", str(tmp_path / "records"), "--no-pdf", "--analysis", "linearity"]) in (0, 1)
    return home, tmp_path / "records"


def look(folder):
    return overview_of(read_site(folder), on=ON, interval_months=13.0)


def test_a_renamed_asset_stands_in_the_overview_once_under_its_tag_of_today(made, capsys):
    home, records = made
    before = look(records)
    assert [(state.asset, state.channel, state.visits) for state in before.channels] == [("STG-1", "STG-1-V11", 2)]
    restate(home, RENAMED)
    assert main(["run", str(home), "--out", str(records), "--no-pdf", "--latest", "--analysis", "linearity"]) in (0, 1)
    assert {path.name for path in records.iterdir() if path.is_dir()} >= {"STG-1", "TURB-1"}
    after = look(records)
    assert [(state.asset, state.channel, state.visits) for state in after.channels] == [("TURB-1", "TURB-1-V11", 2)]
    assert after.results == before.results
    assert [state.verdict for state in after.channels] == [state.verdict for state in before.channels]


def test_a_site_folder_and_its_records_give_one_answer(made):
    home, records = made
    restate(home, RENAMED)
    main(["run", str(home), "--out", str(records), "--no-pdf", "--latest", "--analysis", "linearity"])
    of_folder = [(s.asset, s.channel, s.visits) for s in look(home).channels]
    assert of_folder == [(s.asset, s.channel, s.visits) for s in look(records).channels]


def test_drift_runs_through_a_new_name(tmp_path):
    home = site(tmp_path)
    new = add_visit(tmp_path, NEW)
    before = observe_channel(load_history(new, channel="STG-1-V11"), "STG-1-V11")
    restate(tmp_path, RENAMED)
    after = observe_channel(load_history(new, channel="TURB-1-V11"), "TURB-1-V11")
    assert {item.date for item in after} == {OLD, NEW}
    assert [item.deviation_pct for item in after] == [item.deviation_pct for item in before]
    assert home.name == OLD.isoformat()


def test_a_retired_channel_is_no_longer_overdue_nor_to_be_mended(made):
    home, records = made
    text = (home / "STG-1" / "asset.toml").read_text(encoding="utf-8")
    second = text[text.index("[channels.STG-1-V11]") :].replace("STG-1-V11", "STG-1-V12")
    restate(home, RETIRED + second)
    visit = add_visit(home, date(2026, 5, 20), [row.replace("V11", "V12") for row in ROWS])
    main(["run", str(visit), "--out", str(records), "--no-pdf", "--analysis", "linearity"])
    late = overview_of(read_site(records), on=date(2030, 1, 1), interval_months=13.0)
    assert [state.channel for state in late.channels] == ["STG-1-V12"]
    assert late.retired == ("STG-1-V11",)
    assert site_sentence(late).endswith("; 1 retired")
    assert not any("STG-1-V11" in subject for action in late.actions for subject in action.subjects)
    earlier = overview_of(read_site(records), on=date(2026, 5, 24), interval_months=13.0)
    assert {state.channel for state in earlier.channels} == {"STG-1-V11", "STG-1-V12"}


def test_records_are_in_order_with_the_tags_beside_them(made, capsys):
    home, records = made
    restate(home, RENAMED)
    main(["run", str(home), "--out", str(records), "--no-pdf", "--analysis", "linearity"])
    capsys.readouterr()
    main(["verify", str(records / "TURB-1")])
    said = capsys.readouterr()
    assert TAGS_FILE not in said.out + said.err


@pytest.mark.parametrize(
    "content",
    [
        *("", "{", "[]", '{"schema": 1}', "[" * 5000),
        '{"schema": 1, "asset": 5, "formerly": [], "retired": null, "channels": {}}',
        '{"schema": 1, "asset": "A", "formerly": ["B"], "retired": "soon", "channels": {}}',
    ],
)
def test_a_file_of_tags_of_another_form_is_passed_over(tmp_path, content):
    (tmp_path / "A").mkdir()
    (tmp_path / "A" / TAGS_FILE).write_text(content, encoding="utf-8")
    assert read_tags(tmp_path).assets == {}


def test_nothing_is_written_where_nothing_was_renamed_or_retired(made):
    home, records = made
    assert not (records / "STG-1" / TAGS_FILE).exists()
    restate(home, RETIRED)
    main(["run", str(home / "STG-1" / OLD.isoformat()), "--out", str(records), "--no-pdf", "--analysis", "linearity"])
    stated = json.loads((records / "STG-1" / TAGS_FILE).read_text(encoding="utf-8"))
    assert stated["channels"] == {"STG-1-V11": {"formerly": [], "retired": "2026-05-25"}}
    restate(home, ASSET)
    main(["run", str(home / "STG-1" / OLD.isoformat()), "--out", str(records), "--no-pdf", "--analysis", "linearity"])
    assert json.loads((records / "STG-1" / TAGS_FILE).read_text(encoding="utf-8"))["channels"] == {}
